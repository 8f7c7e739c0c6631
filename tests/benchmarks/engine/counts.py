"""Shares with exact intervals; power at an equal realised rate of alarms; jackknife."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from scipy.stats import beta

from lotscreen.records import Floats


def exact_interval(hits: int, of: int, level: float = 0.95) -> tuple[float, float]:
    """Clopper and Pearson's interval of a share (Biometrika 26, 1934)."""
    if of == 0:
        return 0.0, 1.0
    tail = (1.0 - level) / 2.0
    low = float(beta.ppf(tail, hits, of - hits + 1)) if hits else 0.0
    high = float(beta.ppf(1.0 - tail, hits + 1, of - hits)) if hits < of else 1.0
    return low, high


def power_at_rate(honest: Floats, others: Floats, rate: float) -> float:
    """Share of the ``others``' scores above the limit which ``rate`` of the ``honest`` ones
    pass; ties at the limit count in part, as if drawn at random."""
    ranked = np.sort(honest)[::-1]
    allowed = rate * len(ranked)
    limit = ranked[min(int(allowed), len(ranked) - 1)]
    above, tied = int((ranked > limit).sum()), int((ranked == limit).sum())
    part = (allowed - above) / tied
    return float((others > limit).mean() + part * (others == limit).mean())


def jackknife(statistic: Callable[[Sequence[int]], float], lots: int) -> tuple[float, float]:
    """``statistic`` of the lots with these numbers, over all of them, with its standard
    error by leaving out one lot in turn (NaN for a single lot)."""
    every = list(range(lots))
    value = statistic(every)
    if lots < 2:
        return value, float("nan")
    without = np.array([statistic(every[:k] + every[k + 1 :]) for k in every])
    spread = (lots - 1) / lots * np.sum((without - without.mean()) ** 2)
    return value, float(np.sqrt(spread))
