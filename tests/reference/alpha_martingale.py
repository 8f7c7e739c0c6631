"""The bet with a fixed alternative on a small population without replacement.

The martingale is that of Stark, "ALPHA: audit that learns from previously hand-audited
ballots", Annals of Applied Statistics 17 (2023), section 2: N = 20, null mean 1/2,
alternative 3/4. The values were worked out separately in whole fractions, by the recursion
and by the closed form (15)_k (5)_(j-k) / [(10)_k (10)_(j-k)], falling factorials; they
are in no printed table. A one is a coin that agrees, a nought one that is set aside.
"""

from fractions import Fraction as F

COINS, BAD_COINS, ALTERNATIVE = 20, 10, 5
AGREES = (1, 1, 0, 1, 1, 1, 0, 1)
FORTUNE = (F(3, 2), F(7, 3), F(7, 6), F(91, 48), F(13, 4), F(143, 24), F(143, 54), F(143, 27))

ALL_AGREE = (F(1, 2), F(9, 38), F(2, 19), F(14, 323), F(21, 1292))
"""Chance that all of the first 1, 2, ... coins agree although 10 of the 20 do not."""

EVER_ABOVE = {20: F(15, 572), 10: F(12, 143)}
"""Chance that the fortune ever reaches so much, all 20 drawn, while the null is true; by a
dynamic programme, the fortune held at nought once it would be negative."""
