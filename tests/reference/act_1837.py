"""United States, Act of 18 January 1837, 5 Stat. 136, remedies p. 140.

Weights in grains as a manual of the law recites them; deviations of one piece in grains.
"""

SILVER_GRAINS = {
    "dollar": (412.5, 1.5),
    "half dollar": (206.25, 1.5),
    "quarter dollar": (103.125, 1.0),
    "dime": (41.25, 0.5),
    "half dime": (20.625, 0.5),
}
GOLD_DEVIATION_GRAINS = 0.25
