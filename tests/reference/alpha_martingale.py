"""The bet with a fixed alternative on a small population without replacement.

The martingale is that of Stark, "ALPHA: audit that learns from previously hand-audited
ballots", Annals of Applied Statistics 17 (2023), section 2: N = 20, null mean 1/2,
alternative 3/4. The values were worked out separately in whole fractions, by the recursion
and by the closed form (15)_k (5)_(j-k) / [(10)_k (10)_(j-k)], falling factorials; they
are in no printed table. A one is a coin that agrees, a nought one that is set aside.
"""

from fractions import Fraction

COINS, BAD_COINS, ALTERNATIVE = 20, 10, 5
AGREES = (1, 1, 0, 1, 1, 1, 0, 1)
FORTUNE = (
    Fraction(3, 2),
    Fraction(7, 3),
    Fraction(7, 6),
    Fraction(91, 48),
    Fraction(13, 4),
    Fraction(143, 24),
    Fraction(143, 54),
    Fraction(143, 27),
)

ALL_AGREE = (
    Fraction(1, 2),
    Fraction(9, 38),
    Fraction(2, 19),
    Fraction(14, 323),
    Fraction(21, 1292),
)
"""Chance that all of the first 1, 2, ... coins agree although 10 of the 20 do not."""

EVER_ABOVE = {20: Fraction(15, 572), 10: Fraction(12, 143)}
"""Chance that the fortune ever reaches so much, all 20 drawn, while the null is true; by a
dynamic programme, the fortune held at nought once it would be negative."""

SMALL_COINS, SMALL_BAD, SMALL_AGREES = 7, 4, (1, 0, 1, 1, 0, 0, 1)
"""All of a small population is drawn and holds more ones (four) than the null mean 3/7: the
null is ruled out for certain. Open-source tests of the paper's code (test_NonnegMean),
without a page."""

LONG, LONG_GOAL_AT = (1000, 500, 250), 8
"""The same tests: null mean 1/2, alternative 3/4, 1,000 items, risk 5 %: eight ones reach
the goal (1.5 to the eighth is 25.6)."""
