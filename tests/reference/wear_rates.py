"""Published rates of wear, share of the weight a year.

Jevons, Money and the Mechanism of Exchange (1875), ch. X and XIII: sovereign 350, half
sovereign 1 120 millionths; twenty-, ten- and five-franc gold 200, 430, 620 millionths
(Feer-Herzog); half crown, shilling, sixpence 0.125, 0.200, 0.375 % (Mint inquiry of 1833).
Letter of a Mint coiner, 28 November 1879: years in which American gold loses half of one per
cent.
"""

SHARE_A_YEAR = {
    "uk-sovereign-1817": 350e-6,
    "uk-half-sovereign-1817": 1120e-6,
    "lu-20f-gold-1865": 200e-6,
    "lu-10f-gold-1865": 430e-6,
    "lu-5f-gold-1865": 620e-6,
    "uk-half-crown-1816": 0.00125,
    "uk-shilling-1816": 0.002,
    "uk-sixpence-1816": 0.00375,
}
YEARS_TO_HALF_PERCENT = {
    "us-double-eagle-1850": 50,
    "us-eagle-1838": 35,
    "us-half-eagle-1837": 20,
    "us-3-dollars-1854": 15,
    "us-quarter-eagle-1837": 15,
}
