"""Run lengths of two-sided EWMA schemes, asymptotic limits, normal, zero state.

PUBLISHED: Lucas and Saccucci, Technometrics 32 (1990), table 3; Crowder, Technometrics 29
(1987), (.5, 2); a procedure guide of a statistics package, (.25, 3) at shift 1; all quoted
in the documentation of a package for run lengths (Crowder's 3.95 at 1.25 is a misprint and
is left out). COMPUTED: worked out separately by integral equation and by Markov chain,
which agree to 6 digits or more.
"""

PUBLISHED = {
    (0.5, 3.071): {0: 500, 0.25: 255, 0.5: 88.8, 0.75: 35.9, 1: 17.5, 1.5: 6.53, 2: 3.63},
    (0.03, 2.437): {0: 500, 0.25: 76.7, 0.5: 29.3, 0.75: 17.6, 1: 12.6},
    (0.5, 2.0): {0: 26.45, 0.5: 11.89, 1: 4.91},
    (0.25, 3.0): {1: 11.154267016},
}
COMPUTED = {
    (0.5, 3.071): {0: 499.906, 0.25: 254.785, 0.5: 88.795, 1: 17.477, 2: 3.628},
    (0.03, 2.437): {0: 499.859, 0.25: 76.726, 0.5: 29.321, 0.75: 17.634, 1: 12.598},
    (0.1, 2.7): {0: 368.99, 1: 9.7300},
    (0.1, 2.814): {0: 499.58, 1: 10.3307},
}
LIMITS = {500.0: 2.81431, 370.4: 2.7015}
"""Run length in control, and the limit of a scheme of weight 0.1 that has it."""
