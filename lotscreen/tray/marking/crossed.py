"""Figures over a whole class: the luck of the people and of the pieces, crossed.

Every trainee meets every piece, so that answers hang together both ways. Variances are
summed over trainees, over pieces, and the part counted twice is taken off (Cameron, Gelbach
and Miller, Robust inference with multiway clustering, Journal of Business and Economic
Statistics 29, 2011); Student's t with the degrees of freedom that both parts leave
(Satterthwaite, Biometrics Bulletin 2, 1946).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from lotscreen.records import Bools, Floats, Ints
from lotscreen.tray.marking.rates import LEVEL


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure with its interval; NaN where it cannot be had."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Luck:
    """Shares of the variance of one answer (right or wrong): trainee, piece, the rest."""

    people: float
    pieces: float
    rest: float


def crossed_interval(
    value: float, influence: Floats, person: Ints, piece: Ints, level: float = LEVEL
) -> Estimate:
    """Interval for ``value``, whose error is the sum of ``influence`` over answers."""
    by_person, by_piece = _cluster(influence, person), _cluster(influence, piece)
    fewest = min(by_person[1], by_piece[1])
    if fewest < 2:
        return Estimate(value, np.nan, np.nan)
    both = float(np.sum(influence**2))
    variance = max(by_person[0] + by_piece[0] - both, by_person[0], by_piece[0])
    if variance == 0:
        return Estimate(value, value, value)
    shares = sum(part**2 / (n - 1) for part, n in (by_person, by_piece))
    free = max(variance**2 / shares, fewest - 1)
    half = float(stats.t.ppf((1.0 + level) / 2.0, free) * np.sqrt(variance))
    return Estimate(value, value - half, value + half)


def _cluster(influence: Floats, group: Ints) -> tuple[float, int]:
    """Sum of squared sums of a group's influences, with its small-sample factor, and the
    number of groups."""
    used = np.unique(group)
    sums = np.bincount(group, weights=influence)[used]
    n = len(used)
    return float(np.sum(sums**2) * n / max(n - 1, 1)), n


def class_rate(refused: Bools, person: Ints, piece: Ints, level: float = LEVEL) -> Estimate:
    """Share not accepted over all answers given. The interval is worked out on the logits,
    so that it stays between 0 and 1."""
    n = len(refused)
    if n == 0:
        return Estimate(np.nan, np.nan, np.nan)
    raw = float(refused.mean())
    share = (refused.sum() + 0.5) / (n + 1.0)
    influence = (refused - raw) / (n * share * (1.0 - share))
    found = crossed_interval(float(np.log(share / (1.0 - share))), influence, person, piece, level)
    low, high = (float(1.0 / (1.0 + np.exp(-x))) for x in (found.low, found.high))
    return Estimate(raw, low, high)


def skill_influence(refused: Bools, false: Bools) -> tuple[float, float, Floats, Floats]:
    """d' and c of all answers together, and each answer's influence on them."""
    z, part = {}, np.zeros(len(refused))
    for side in (True, False):
        mask = false == side
        n = max(int(mask.sum()), 1)
        share = (refused[mask].sum() + 0.5) / (n + 1.0)
        z[side] = float(stats.norm.ppf(share))
        part[mask] = (refused[mask] - refused[mask].mean()) / (n * stats.norm.pdf(z[side]))
    sign = np.where(false, 1.0, -1.0)
    return z[True] - z[False], -0.5 * (z[True] + z[False]), sign * part, -0.5 * part


def luck_of(wrong: Bools, person: Ints, piece: Ints) -> Luck:
    """What one answer's being right hangs on: products of answers that share a trainee, and
    of those that share a piece, have the two variances as their means."""
    left = wrong - wrong.mean()
    total = float(np.mean(left**2))
    if total == 0:
        return Luck(0.0, 0.0, 1.0)
    people = max(_shared(left, person), 0.0) / total
    pieces = max(_shared(left, piece), 0.0) / total
    return Luck(people, pieces, max(1.0 - people - pieces, 0.0))


def _shared(left: Floats, group: Ints) -> float:
    sums, squares = np.bincount(group, weights=left), np.bincount(group, weights=left**2)
    counts = np.bincount(group)
    pairs = float(np.sum(counts * (counts - 1)))
    return float(np.sum(sums**2 - squares)) / pairs if pairs else 0.0
