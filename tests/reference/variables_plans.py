"""Variables plans (k method), one limit.

TWO_POINTS: shares .01 and .06 with risks .05 and .10. The plan with known sd follows from
the closed form; the exact plan with the sample's sd was worked out separately by two routes
(noncentral t; quadrature over the sample's sd) that agree to 12 digits. The example is that
of Montgomery, Introduction to Statistical Quality Control (n = 40, k = 1.9 by nomograph,
from memory; its exact chances are .948375 and .104595).
K_OF_414: MIL-STD-414, sd unknown, standard-deviation method, limit 1.0, as printed in a
package of sampling plans that cites Montgomery; CHANCE is the exact chance to accept at
the limit itself, worked out by the same two routes.
"""

GOOD, RISK_REFUSE, BAD, RISK_ACCEPT = 0.01, 0.05, 0.06, 0.10
K_KNOWN, COINS_KNOWN = 1.8926667299, 15
COINS_UNKNOWN, LEAST_K, MOST_K = 42, 1.8975623, 1.9052851
CHANCES = {
    (40, 1.9, False): (0.948375, 0.104595),
    (42, 1.9, False): (0.952283, 0.098519),
    (15, 1.9, True): (0.950655, 0.090602),
}

K_OF_414 = {10: 1.72, 25: 1.85, 50: 1.93}
CHANCE_OF_414 = {10: 0.897809, 25: 0.929939, 50: 0.952843}
