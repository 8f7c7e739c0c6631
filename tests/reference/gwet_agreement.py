"""K. L. Gwet, Handbook of Inter-Rater Reliability: the table of 100 cases that the
documentation of his own package irrCAC prints with its coefficients (kappa and AC1)."""

TABLE = ((13, 0, 0), (0, 20, 7), (0, 4, 56))
KAPPA, AC1 = 0.7964094, 0.8493305
