"""United Kingdom, Coinage Act 1870, First Schedule, as reprinted in Encyclopaedia Britannica,
ninth edition, vol. 16 (1883), p. 483.

The statute's own grams are rounded unevenly (the five-pound piece by 0.00002 g); they are
typed as printed. The print's half sovereign of "3-39402" g is a slip for 3.99402.
Half-sovereign remedy of 0.15 grains: Coinage Act 1891. Remedy of the sovereign of 1848:
12 grains a pound troy, 123 x 12 / 5760 = 0.25625 grains, Stigler, Statistics on the Table
(1999), table 21.1.
"""

# key: (grains, grams, least current grains or None, grams or None, remedy grains, grams)
SCHEDULE: dict[str, tuple[float, float, float | None, float | None, float, float]] = {
    "uk-5-pounds-1820": (616.37239, 39.94028, 612.5, 39.68935, 1.0, 0.06479),
    "uk-2-pounds-1820": (246.54895, 15.97611, 245.0, 15.87574, 0.4, 0.02592),
    "uk-sovereign-1817": (123.27447, 7.98805, 122.5, 7.93787, 0.2, 0.01296),
    "uk-half-sovereign-1817": (61.63723, 3.99402, 61.125, 3.96083, 0.1, 0.00648),
    "uk-crown-1818": (436.36363, 28.2759, None, None, 1.81818, 0.11781),
    "uk-half-crown-1816": (218.18181, 14.13795, None, None, 0.90909, 0.0589),
    "uk-florin-1849": (174.54545, 11.31036, None, None, 0.72727, 0.04712),
    "uk-shilling-1816": (87.27272, 5.65518, None, None, 0.36363, 0.02356),
    "uk-sixpence-1816": (43.63636, 2.82759, None, None, 0.18181, 0.01178),
    "uk-penny-1860": (145.83333, 9.44984, None, None, 2.91666, 0.18899),
    "uk-halfpenny-1860": (87.5, 5.6699, None, None, 1.75, 0.11339),
    "uk-farthing-1860": (43.75, 2.83495, None, None, 0.875, 0.05669),
}
# the small silver: key: (grains, grams, remedy grains)
SMALL_SILVER = {
    "uk-groat-1816": (29.0909, 1.88506, 0.12121),
    "uk-threepence-1817": (21.81818, 1.41379, 0.0909),
    "uk-twopence-1817": (14.54545, 0.94253, 0.0606),
    "uk-penny-silver-1817": (7.27272, 0.47126, 0.0303),
}
GOLD_FINENESS = (0.91666, 0.002)
SILVER_FINENESS = (0.925, 0.004)
HALF_SOVEREIGN_REMEDY_1891_G = 0.00972
SOVEREIGN_REMEDY_1848_GRAINS = 0.25625
# 934 1/2 sovereigns from 20 pounds troy of 5 760 grains
SOVEREIGNS_FROM_20_POUNDS = 934.5
GRAIN_G = 0.06479891
