"""Chances of counts that many looks ask for: sums of unlike answers, and a correction."""

from __future__ import annotations

import numpy as np

from lotscreen.records import Floats


def counts_of(chances: Floats) -> Floats:
    """How likely 0, 1, ... n of n unlike answers are wrong; ``chances`` is (..., n), the
    result (..., n + 1)."""
    n = chances.shape[-1]
    found = np.zeros((*chances.shape[:-1], n + 1))
    found[..., 0] = 1.0
    for place in range(n):
        p = chances[..., place, None]
        moved = found[..., :-1] * p
        found = found * (1.0 - p)
        found[..., 1:] += moved
    return found


def at_least(count: int, chances: Floats) -> Floats:
    """The chance of ``count`` or more wrong answers; the last axis of ``chances`` goes."""
    return np.asarray(np.minimum(counts_of(chances)[..., count:].sum(axis=-1), 1.0))


def holm(p_values: Floats) -> Floats:
    """p-values made good for the number of looks: under them 5 % hold for all looks
    together (Holm, A simple sequentially rejective multiple test procedure, Scandinavian
    Journal of Statistics 6, 1979). NaN stays and is no look."""
    found = np.full(p_values.shape, np.nan)
    real = np.flatnonzero(np.isfinite(p_values))
    order = real[np.argsort(p_values[real], kind="stable")]
    factors = np.arange(len(order), 0, -1)
    found[order] = np.minimum(np.maximum.accumulate(p_values[order] * factors), 1.0)
    return found


def logit(share: Floats) -> Floats:
    """Log odds."""
    return np.asarray(np.log(share) - np.log1p(-share))


def expit(log_odds: Floats) -> Floats:
    """Share of log odds."""
    return np.asarray(1.0 / (1.0 + np.exp(-log_odds)))
