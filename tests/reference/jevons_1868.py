"""W. S. Jevons, 274 sovereigns weighed at Manchester (1868), by age class in decades.

As tabulated in S. Weisberg, Applied Linear Regression (data set "jevons"): class, number,
mean weight g, standard deviation g, least and greatest weight g. That class 1 means 0 to
10 years is an assumption. The shares light and deficient are from the report of his paper
in The Economist, 12 December 1868.
"""

CLASSES = (
    (1, 123, 7.9725, 0.01409, 7.900, 7.999),
    (2, 78, 7.9503, 0.02272, 7.892, 7.993),
    (3, 32, 7.9276, 0.03426, 7.848, 7.984),
    (4, 17, 7.8962, 0.04057, 7.827, 7.965),
    (5, 24, 7.8730, 0.05353, 7.757, 7.961),
)
YEAR = 1868
STANDARD_G = 7.98805
LEAST_CURRENT_G = 7.93787
# Slopes of straight lines through the class means, g a year, smallest and greatest of the
# weightings (by number, by precision, forced through the standard): calculated.
LOSS_G_PER_YEAR = (0.00238, 0.002553)
JEVONS_G_PER_YEAR = 0.00276
"""Jevons's own round figure, Money and the Mechanism of Exchange (1875), ch. X."""
DEFICIENCY_PERCENT = (0.508, 0.53)
"""Mean deficiency: calculated from the classes, and as the report of 1868 prints it."""
SHARE_LIGHT = (0.289, 1 / 3)
"""Below least current weight: normal by class, and "almost a third part" (1868)."""
