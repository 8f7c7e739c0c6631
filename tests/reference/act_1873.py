"""United States, Act of 12 February 1873, 17 Stat. 424-436.

Weights: s. 14 (gold), s. 15 (silver; "twelve grams and one-half of a gram"), s. 16 (minor
coins). Deviations of one piece: s. 36 (gold and silver), s. 37 (minor coins). Abrasion: s. 14,
not more than half of one per cent after twenty years, ratably for less. Fineness: s. 13.
The gold dollar's 25.55 grains: letter of a Mint coiner, 28 November 1879.
"""

# unit: (standard in grains, deviation of one piece in grains)
GOLD_GRAINS = {
    "double eagle": (516.0, 0.5),
    "eagle": (258.0, 0.5),
    "half eagle": (129.0, 0.25),
    "3 dollars": (77.4, 0.25),
    "quarter eagle": (64.5, 0.25),
    "gold dollar": (25.8, 0.25),
}
# least weight after twenty years in grains; the dollar's is the remedy's, not the abrasion's
LEAST_AFTER_20_YEARS_GRAINS = {
    "double eagle": 513.42,
    "eagle": 256.71,
    "half eagle": 128.355,
    "3 dollars": 77.013,
    "quarter eagle": 64.1775,
    "gold dollar": 25.55,
}
GOLD_DOLLAR_ABRASION_LIMIT_GRAINS = 25.671
# loss of a double eagle by abrasion in grains after so many years; 2.58 as printed in 1884
DOUBLE_EAGLE_LOSS_GRAINS = {20: 2.58, 10: 1.29, 1: 0.129}

# unit: (standard in grams, deviation of one piece in grains)
SILVER_GRAMS = {
    "half dollar": (12.5, 1.5),
    "quarter dollar": (6.25, 1.5),
    "dime": (2.5, 1.5),
}
TRADE_DOLLAR_GRAINS = (420.0, 1.5)
# unit: (standard in grains, deviation of one piece in grains)
MINOR_GRAINS = {"5 cents": (77.16, 3.0), "3 cents": (30.0, 2.0), "cent": (48.0, 2.0)}
FINENESS = 0.9
GRAIN_G = 0.06479891
