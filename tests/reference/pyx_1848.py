"""Trial of 10 000 sovereigns in ten bags, 1848 (S. M. Stigler, Statistics on the Table,
1999, table 21.1; data set Pyx of the package HistData).

Classes of the deviation from the standard in grains; remedy R = 123 x 12 / 5760 gr.
"""

REMEDY_GRAINS = 123 * 12 / 5760
BOUNDS_GRAINS = {
    "Below -R": (float("-inf"), -REMEDY_GRAINS),
    "(-R to -.2)": (-REMEDY_GRAINS, -0.2),
    "(-.2 to -.l)": (-0.2, -0.1),
    "(-.1 to 0)": (-0.1, 0.0),
    "(0 to .l)": (0.0, 0.1),
    "(.1 to .2)": (0.1, 0.2),
    "(.2 to R)": (0.2, REMEDY_GRAINS),
    "Above R": (REMEDY_GRAINS, float("inf")),
}
COUNTS = (209, 362, 1261, 3023, 2631, 1733, 536, 245)
OUTSIDE_REMEDY = 454
# Grouped normal maximum likelihood on the eight counts, grains: calculated.
MEAN_GRAINS, SD_GRAINS = 0.010380, 0.129817
STANDARD_GRAINS = 123.27447
