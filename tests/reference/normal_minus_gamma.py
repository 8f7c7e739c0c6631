"""Weight of a worn coin as a normal less a gamma: X = N(6.25, 0.028) - gamma(3, 0.0625/3), g.

Computed values: quadrature with 30 digits, inversion of the characteristic function and the
closed form agree to 14 digits. For shape 1 it is an exponentially modified normal (Grushka,
Analytical Chemistry 44, 1972, cited from memory), which ``scipy.stats.exponnorm`` has.
"""

from __future__ import annotations

MEAN_G, SD_G, LOST_G = 6.25, 0.028, 0.0625
SHAPE = 3.0
READING_G = (6.00, 6.05, 6.10, 6.15, 6.1875, 6.20, 6.25, 6.30)
DENSITY = (
    0.038464816773, 0.250862236456, 1.366033674961, 5.245383992022,
    9.014711092239, 9.328726949967, 3.614452128958, 0.146299348621,
)  # fmt: skip
BELOW = (
    0.00097104938040, 0.00669584440273, 0.04023700798279, 0.19041242022395,
    0.46403433178250, 0.57951992192115, 0.93346528060055, 0.99854017326773,
)  # fmt: skip
READS_6_20 = 0.093050534163
"""P(reading 6.20 g) where readings are rounded to 0.01 g."""
EXPONENTIAL_BELOW = {
    6.0: 0.02024903785, 6.1: 0.10029413745, 6.2: 0.48887869121, 6.25: 0.86160280622,
    6.3: 0.99430052566,
}  # fmt: skip
"""P(X <= reading) for a gamma of shape 1 and the same mean."""
