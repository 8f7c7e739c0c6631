"""Residuals of the weights against the normal, with an envelope that holds for all at once.

The local level of the band is such that all order statistics of an honest lot lie within it
in 95 of 100 lots (equal local levels: Aldor-Noiman and others, The American Statistician 67,
2013); found by drawing order statistics with a seed.
"""

from __future__ import annotations

import numpy as np
from scipy.special import betainc, betaincinv, ndtri

from lotscreen.display import QuantilePlot
from lotscreen.records import Floats, Ints

_MOST_SHOWN = 160
_DRAWS = 600
_OUTSIDE = 0.05
_SEED = 20
_LEAST = 5


def quantile_plot(z: Floats) -> QuantilePlot | None:
    """The residuals ``z`` (n,; NaN left out) in order at most 160 places, the ends all shown;
    None for fewer than five."""
    known = np.sort(z[np.isfinite(z)])
    n = len(known)
    if n < _LEAST:
        return None
    rank = _places(n)
    level = _local_level(n, rank)
    low, high = (_band(n, rank, side) for side in (level / 2, 1 - level / 2))
    at = known[rank - 1]
    outside = int(np.count_nonzero((at < low) | (at > high)))
    return QuantilePlot(ndtri((rank - 0.5) / n), at, low, high, outside)


def _band(n: int, rank: Ints, side: float) -> Floats:
    """The normal deviate that the order statistic of each rank stays below with chance
    ``side``."""
    return np.asarray(ndtri(betaincinv(rank, n + 1 - rank, side)), np.float64)


def _places(n: int) -> Ints:
    """Ranks from 1: all of a small lot; of a large one the ends all, the middle thinned."""
    if n <= _MOST_SHOWN:
        return np.arange(1, n + 1)
    end = _MOST_SHOWN // 4
    middle = np.linspace(end + 1, n - end, _MOST_SHOWN - 2 * end).astype(np.int64)
    return np.concatenate([np.arange(1, end + 1), middle, np.arange(n - end + 1, n + 1)])


def _local_level(n: int, rank: Ints) -> float:
    """Two-sided level at each rank with which all hold together, at the ranks shown."""
    gaps = np.diff(np.concatenate([[0], rank, [n + 1]]))
    waits = np.random.default_rng(_SEED).gamma(gaps, size=(_DRAWS, len(gaps)))
    share = (np.cumsum(waits, axis=1) / waits.sum(axis=1, keepdims=True))[:, :-1]
    below = betainc(rank, n + 1 - rank, share)
    return float(np.quantile(2 * np.minimum(below, 1 - below).min(axis=1), _OUTSIDE))
