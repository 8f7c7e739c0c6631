"""Whether a trainee's confidence means something: how often each level is right."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from lotscreen.records import Bools, Floats
from lotscreen.tray.marking.crossed import Estimate
from lotscreen.tray.marking.rates import LEVEL, beta_interval
from lotscreen.tray.marking.roc import area, area_interval

MEANT = (0.5, 0.65, 0.8, 0.9, 0.98)
"""Share of right answers that the levels 1 to 5 are taken to claim (assumed)."""

_FEWEST = 10


@dataclass(frozen=True, slots=True)
class Level:
    """Answers of one level of confidence: ``right`` of ``given``, with the interval."""

    level: int
    right: int
    given: int
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Sureness:
    """``levels`` 1 to 5; ``sorts``: the chance that a right answer was surer than a wrong
    one; ``over``: share claimed (see ``MEANT``) less share right, above 0 too sure."""

    levels: tuple[Level, ...]
    sorts: Estimate
    over: Estimate


def sureness(conf: Floats, wrong: Bools) -> Sureness:
    """Of one trainee's answers; those without confidence do not count."""
    known = np.isfinite(conf)
    stated, right = conf[known].astype(np.int64), ~wrong[known]
    given = np.array([(stated == level).sum() for level in range(1, 6)])
    count = np.array([right[stated == level].sum() for level in range(1, 6)])
    low, high = beta_interval(count, given)
    levels = tuple(
        Level(n + 1, int(count[n]), int(given[n]), float(low[n]), float(high[n])) for n in range(5)
    )
    found = area(stated[right].astype(np.float64), stated[~right].astype(np.float64))
    bounds = area_interval(found, int(right.sum()), int((~right).sum()))
    return Sureness(levels, Estimate(found, *bounds), _over(stated, right))


def _over(stated: np.ndarray, right: Bools) -> Estimate:
    if len(stated) < _FEWEST:
        return Estimate(np.nan, np.nan, np.nan)
    gap = np.array(MEANT)[stated - 1] - right
    half = float(stats.t.ppf((1.0 + LEVEL) / 2.0, len(gap) - 1))
    half *= float(gap.std(ddof=1)) / np.sqrt(len(gap))
    mean = float(gap.mean())
    return Estimate(mean, mean - half, mean + half)
