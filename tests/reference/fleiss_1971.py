"""J. L. Fleiss, Measuring nominal scale agreement among many raters, Psychological Bulletin 76,
1971: 30 persons, six raters, five diagnoses, with the kappa of the paper, .430 (more digits as
worked out by statsmodels' own test). The second table, ten subjects and fourteen raters, and
its .210 stand in the same test, which names no paper for it.
"""

DIAGNOSES = (
    "444444", "222555", "233335", "555555", "222444", "113333", "333355", "113334", "114444",
    "555555", "144444", "124444", "222333", "144444", "224445", "333335", "111455", "111112",
    "224444", "133555", "555555", "244444", "224555", "114444", "144445", "222224", "111155",
    "224444", "133333", "555555",
)  # fmt: skip
"""A person each: the diagnosis of every rater, sorted."""

COLUMN_SUMS = (26, 26, 30, 55, 43)
KAPPA = 0.4302445

FOURTEEN_RATERS = (
    (0, 0, 0, 0, 14), (0, 2, 6, 4, 2), (0, 0, 3, 5, 6), (0, 3, 9, 2, 0), (2, 2, 8, 1, 1),
    (7, 7, 0, 0, 0), (3, 2, 6, 3, 0), (2, 5, 3, 2, 2), (6, 5, 2, 1, 0), (0, 2, 2, 3, 7),
)  # fmt: skip
KAPPA_OF_FOURTEEN = 0.2099307
