"""Skill and suspicion apart: d' and the criterion c, from hits and false alarms."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy import stats

from lotscreen.records import Floats
from lotscreen.tray.marking.rates import LEVEL

_NODES = 101


def log_linear(count: Any, of: Any) -> Floats:
    """A share that is never 0 nor 1: half an answer is added to each side, always.

    Hautus, Corrections for extreme proportions, Behavior Research Methods 27 (1995).
    """
    k, n = np.asarray(count, dtype=np.float64), np.asarray(of, dtype=np.float64)
    return np.asarray((k + 0.5) / (n + 1.0))


def d_prime(hits: Any, of_false: Any, false_alarms: Any, of_honest: Any) -> Floats:
    """z(H) - z(F): how far apart the two heaps are for a trainee, in spreads."""
    z_hit, z_alarm = _z(hits, of_false), _z(false_alarms, of_honest)
    return np.asarray(z_hit - z_alarm)


def criterion(hits: Any, of_false: Any, false_alarms: Any, of_honest: Any) -> Floats:
    """c = -(z(H) + z(F)) / 2: below 0 suspicious, above 0 trusting."""
    return np.asarray(-0.5 * (_z(hits, of_false) + _z(false_alarms, of_honest)))


def _z(count: Any, of: Any) -> Floats:
    return np.asarray(stats.norm.ppf(log_linear(count, of)))


def skill_intervals(
    hits: float, of_false: float, false_alarms: float, of_honest: float, level: float = LEVEL
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Intervals of d' and of c (low, high each).

    Hits and false alarms are independent with Jeffreys' Beta distributions; the
    distribution of the sum and difference of their z is worked out on a grid of equal
    shares of chance. It needs no large counts and no symmetry. NaN where either heap is
    empty.
    """
    if of_false <= 0 or of_honest <= 0:
        return (np.nan, np.nan), (np.nan, np.nan)
    share = (np.arange(_NODES) + 0.5) / _NODES
    z_hit = stats.norm.ppf(stats.beta.ppf(share, hits + 0.5, of_false - hits + 0.5))
    rest = of_honest - false_alarms
    z_alarm = stats.norm.ppf(stats.beta.ppf(share, false_alarms + 0.5, rest + 0.5))
    tails = [(1.0 - level) / 2.0, (1.0 + level) / 2.0]
    apart = np.quantile(z_hit[:, None] - z_alarm[None, :], tails)
    middle = np.quantile(-0.5 * (z_hit[:, None] + z_alarm[None, :]), tails)
    return (float(apart[0]), float(apart[1])), (float(middle[0]), float(middle[1]))


def standard_error(hit: float, alarm: float, of_false: int, of_honest: int) -> float:
    """Of d', for many pieces: a trainee of true shares ``hit`` and ``alarm``.

    Gourevitch and Galanter, A significance test for one parameter isosensitivity functions,
    Psychometrika 32 (1967).
    """
    parts = [
        p * (1.0 - p) / (n * stats.norm.pdf(stats.norm.ppf(p)) ** 2)
        for p, n in ((hit, of_false), (alarm, of_honest))
    ]
    return float(np.sqrt(sum(parts)))


def exact_moments(hit: float, alarm: float, of_false: int, of_honest: int) -> tuple[float, float]:
    """Mean and standard deviation of the log-linear d' over all that such a trainee may
    answer, summed over both binomial counts."""
    mean, variance = 0.0, 0.0
    for p, n, sign in ((hit, of_false, 1.0), (alarm, of_honest, -1.0)):
        counts = np.arange(n + 1)
        chance = stats.binom.pmf(counts, n, p)
        z = sign * _z(counts, n)
        middle = float(chance @ z)
        mean += middle
        variance += float(chance @ (z - middle) ** 2)
    return mean, float(np.sqrt(variance))
