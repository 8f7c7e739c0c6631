"""Latin Monetary Union, Convention of 23 December 1865 as given in Willis, A History of the
Latin Monetary Union (1901), appendix, and the text of 1885.

Per mille allowed in weight; wear allowed below that tolerance: gold 1/2 %, five-franc silver
1 %. One print of Willis gives the fifty-franc piece 2 per mille; the text of 1885 gives 1.
"""

# key: (grams, weight tolerance per mille, fineness, diameter in mm or None)
PIECES: dict[str, tuple[float, float, float, float | None]] = {
    "lu-100f-gold-1865": (32.25806, 1.0, 0.9, 35.0),
    "lu-50f-gold-1865": (16.12903, 1.0, 0.9, 28.0),
    "lu-20f-gold-1865": (6.45161, 2.0, 0.9, 21.0),
    "lu-10f-gold-1865": (3.2258, 2.0, 0.9, 19.0),
    "lu-5f-gold-1865": (1.6129, 3.0, 0.9, 17.0),
    "lu-5f-silver-1865": (25.0, 3.0, 0.9, None),
    "lu-2f-silver-1865": (10.0, 5.0, 0.835, None),
    "lu-1f-silver-1865": (5.0, 5.0, 0.835, None),
    "lu-50c-silver-1865": (2.5, 7.0, 0.835, None),
    "lu-20c-silver-1865": (1.0, 10.0, 0.835, None),
}
# 6.45161 (1 - 0.002 - 0.005) and 25 (1 - 0.003 - 0.01)
LEAST_G = {"lu-20f-gold-1865": 6.40645, "lu-5f-silver-1865": 24.675}
