"""Shares with intervals that hold at small counts.

An interval for one trainee's share of hits includes the luck of the pieces: each piece is
met once, so that its answer is one draw from trainee and piece together, and the count is
binomial whatever the spread between pieces. A piece met again brings no second draw; its
answers are averaged before they are counted (see ``marking.grid``).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy import stats

from lotscreen.records import Floats

LEVEL = 0.95


def beta_interval(count: Any, of: Any, level: float = LEVEL) -> tuple[Floats, Floats]:
    """Low and high of a share by Jeffreys' Beta interval, 0 or 1 at the ends.

    ``count`` may be broken (answers averaged over a piece met twice). NaN where ``of`` is 0.
    Brown, Cai, DasGupta, Interval estimation for a binomial proportion, Statistical Science
    16 (2001): the interval with its modification at 0 and n.
    """
    k, n = np.asarray(count, dtype=np.float64), np.asarray(of, dtype=np.float64)
    tail = (1.0 - level) / 2.0
    low = np.where(k <= 0, 0.0, stats.beta.ppf(tail, k + 0.5, n - k + 0.5))
    high = np.where(k >= n, 1.0, stats.beta.ppf(1.0 - tail, k + 0.5, n - k + 0.5))
    nothing = n <= 0
    return np.where(nothing, np.nan, low), np.where(nothing, np.nan, high)


def at_least(count: int, of: int, level: float = LEVEL) -> float:
    """The share that ``count`` of ``of`` shows at least: the exact one-sided bound of
    Clopper and Pearson, Biometrika 26 (1934). 0 where ``count`` is 0."""
    if count <= 0:
        return 0.0
    return float(stats.beta.ppf(1.0 - level, count, of - count + 1))


def difference_interval(
    one: tuple[float, float, float], other: tuple[float, float, float]
) -> tuple[float, float, float]:
    """``one`` less ``other``, each (estimate, low, high) from independent answers.

    The squares of the half-widths that face each other add up (Zou and Donner, Construction
    of confidence limits about effect measures, Statistics in Medicine 27, 2008).
    """
    a, a_low, a_high = one
    b, b_low, b_high = other
    low = a - b - np.hypot(a - a_low, b_high - b)
    high = a - b + np.hypot(a_high - a, b - b_low)
    return a - b, float(low), float(high)
