"""The area under the curve of hits over false alarms as the line is moved through the
ordered answers."""

from __future__ import annotations

import numpy as np
from scipy import optimize, stats

from lotscreen.records import Floats
from lotscreen.tray.marking.rates import LEVEL

_END = 1e-9


def area(upper: Floats, lower: Floats) -> float:
    """The chance that a draw from ``upper`` lies above one from ``lower``, ties half: the
    area under the curve. NaN where either is empty."""
    if len(upper) == 0 or len(lower) == 0:
        return float("nan")
    ranks = stats.rankdata(np.concatenate([upper, lower]))
    n = len(upper)
    return float((ranks[:n].sum() - n * (n + 1) / 2) / (n * len(lower)))


def area_interval(
    found: float, upper: int, lower: int, level: float = LEVEL
) -> tuple[float, float]:
    """Low and high of an area from ``upper`` and ``lower`` answers.

    The areas whose own standard error would just reach what was found (Newcombe, Confidence
    intervals for an effect size measure based on the Mann-Whitney statistic, part 2,
    Statistics in Medicine 25, 2006, method 5). Holds at areas near 1. NaN where there is no
    area.
    """
    if not np.isfinite(found):
        return np.nan, np.nan
    z = float(stats.norm.ppf((1.0 + level) / 2.0))

    def beyond(true: float, side: float) -> float:
        return true + side * z * _standard_error(true, upper, lower) - found

    # at 0 and 1 themselves the error vanishes: a root of no use
    below, above = min(found, 1.0 - _END), max(found, _END)
    low = 0.0 if found <= 0 else optimize.brentq(beyond, 0.0, below, args=(1.0,))
    high = 1.0 if found >= 1 else optimize.brentq(beyond, above, 1.0, args=(-1.0,))
    return float(low), float(high)


def _standard_error(true: float, upper: int, lower: int) -> float:
    mean = (upper + lower) / 2.0 - 1.0
    spread = true * (1.0 - true) / (upper * lower)
    return float(
        np.sqrt(spread * (1.0 + mean * ((1.0 - true) / (2.0 - true) + true / (1.0 + true))))
    )
