"""Draws without replacement that meet at least one bad coin with 95 % chance.

Worked out separately with whole numbers and with scipy's hypergeometric distribution; no
published table. In the lot of 200 with one bad coin, a draw of 190 misses it with a chance
of exactly 0.05.
"""

RISK = 0.05
SHARES = (0.005, 0.01, 0.02, 0.05, 0.10)
DRAWS = {
    200: (190, 155, 105, 51, 27),
    1000: (450, 258, 138, 57, 29),
    2000: (517, 277, 143, 58, 29),
    4000: (556, 288, 146, 58, 29),
    10000: (581, 294, 148, 59, 29),
}
