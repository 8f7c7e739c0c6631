"""Mean run lengths of a CUSUM of normal residuals that starts at zero.

PUBLISHED: two-sided, reference 0.5, limit 4: Lucas, J. M. and Crosier, R. B.,
Technometrics 24 (1982), table 1, as the manual of the R package spc quotes it. Limit 5:
Montgomery, Introduction to Statistical Quality Control, from memory, unconfirmed.
BROOK_EVANS: one-sided, limit 3, from Biometrika 59 (1972), by the same manual; their chain
of 15 states gives 3.75 and 117.59. SAS: a figure printed in that program's documentation
for reference 0.25, limit 8, shift 2.5. COMPUTED: Gauss-Legendre integral equation and
Markov chain written separately, in agreement to the digits given.
"""

# (limit, shift): mean run length of both sums together, digits after the point
PUBLISHED = {
    (4.0, 0.0): (168.0, 0),
    (4.0, 0.25): (74.2, 1),
    (4.0, 0.5): (26.6, 1),
    (4.0, 1.0): (8.38, 2),
    (4.0, 2.0): (3.34, 2),
}
FROM_MEMORY = {(5.0, 0.0): (465.0, 0), (5.0, 1.0): (10.4, 1)}

# (limit, shift): both sums together, upward sum alone
COMPUTED = {
    (4.0, 0.0): (167.68379, 335.36758),
    (4.0, 0.25): (74.22403, 77.07852),
    (4.0, 0.5): (26.63020, 26.67916),
    (4.0, 1.0): (8.38313, 8.38320),
    (4.0, 2.0): (3.34277, 3.34277),
    (5.0, 0.0): (465.44351, 930.88701),
    (5.0, 1.0): (10.37597, 10.37598),
}

BROOK_EVANS = {0.0: (117.59, 2), 1.5: (3.75, 2)}
BROOK_EVANS_COMPUTED = {0.0: 117.5957, 1.5: 3.74911}

SAS_REFERENCE, SAS_LIMIT, SAS_SHIFT = 0.25, 8.0, 2.5
SAS_ONE_SIDED = 4.1500836225
SAS_SIX_DIGITS = 1e-6

# Waldmann (1986), reference 0.5, limit 3, upward sum: shift, mean run length, digits
WALDMANN = {-0.5: (1963.0, 0), 0.0: (117.4, 1), 0.5: (17.35, 2)}
WALDMANN_COMPUTED = {-0.5: 1962.79, 0.0: 117.596, 0.5: 17.3505}
