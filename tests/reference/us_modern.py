"""United States, 31 U.S.C. 5112(a): diameters in inches and weights in grams, and 31 U.S.C.
5113(a): variations allowed. The cent of 2.5 g, its thickness and the others: the published
specification of the Mint (a catalogue figure, not law)."""

# key: (inches, grams)
COINS = {
    "us-half-1971": (1.205, 11.34),
    "us-quarter-1965": (0.955, 5.67),
    "us-dime-1965": (0.705, 2.268),
    "us-5c-1946": (0.835, 5.0),
    "us-cent-1944": (0.75, 3.11),
}
DOLLAR_INCHES = 1.043
# key: (mm, grams), 31 U.S.C. 5112(a)(7) to (10)
BULLION = {
    "us-bullion-50-1986": (32.7, 33.931),
    "us-bullion-25-1986": (27.0, 16.966),
    "us-bullion-10-1986": (22.0, 8.483),
    "us-bullion-5-1986": (16.5, 3.393),
}
FIVE_CENTS_VARIATION_G = 0.194
CENT_VARIATION_G = 0.13
# key: (grams, mm, mm thick), published specification
SPECIFICATION = {
    "us-cent-1982": (2.5, 19.05, 1.52),
    "us-5c-1946": (5.0, 21.21, 1.95),
    "us-dime-1965": (2.268, 17.91, 1.35),
    "us-quarter-1965": (5.67, 24.26, 1.75),
    "us-half-1971": (11.34, 30.61, 2.15),
    "us-dollar-2000": (8.1, 26.49, 2.0),
}
