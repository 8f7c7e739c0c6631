"""Does the order of the coins say anything? Runs about the median, and one change-point.

Two looks at one question, so that the p-values are corrected for two (Holm). Valid only
when an honest lot's residuals come in an order without pattern; coins sorted by date or
laid by roll are in no such order unless the residuals know of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, sqrt

import numpy as np
from scipy.special import ndtr
from scipy.stats import ks_2samp, rankdata

from lotscreen.records import Bools, Floats
from lotscreen.words import say

LEAST_COINS = 20
"""With fewer coins the two approximations are not good enough (common practice, no source)."""

_BAI_95 = 11.0

PATTERN_P = 0.05
"""The order is said to have a pattern at or below this corrected p-value (assumed)."""


@dataclass(frozen=True, slots=True)
class RunsTest:
    """Runs of residuals on one side of the median: how many, how many are expected in an
    order without pattern, the standard score and its two-sided p-value."""

    runs: int
    expected_runs: float
    z: float
    p_value: float


@dataclass(frozen=True, slots=True)
class ChangePoint:
    """Pettitt's test: the statistic K, its p-value, the number of residuals before the
    change (the last one of the old part) and the median of each part. ``earliest`` and
    ``latest`` bound that number (95 %) if there is a change, by the jump of the means
    against the spread (Bai, Review of Economics and Statistics 79, 1997)."""

    statistic: float
    p_value: float
    coins_before: int
    median_before: float
    median_after: float
    earliest: int
    latest: int


@dataclass(frozen=True, slots=True)
class OrderStatement:
    """What the order of the coins says. ``runs`` and ``change`` are None where it cannot
    be asked, with the reason in ``note``. The corrected p-values stand for two looks;
    ``p_value`` is the smaller of them (1 where nothing was asked). ``last_before`` is the
    place in the given array (from 0) of the last coin before the change, -1 where none."""

    coins: int
    runs: RunsTest | None
    change: ChangePoint | None
    runs_p_corrected: float
    change_p_corrected: float
    p_value: float
    last_before: int
    note: str


def order_statement(residual_z: Floats) -> OrderStatement:
    """Runs test and change-point of 1-D residuals by depth or measuring order.

    Coins without a residual (NaN) are passed over. At least 20 residuals on both sides
    of their median are needed, else nothing is asked.
    """
    places = np.flatnonzero(np.isfinite(residual_z))
    known = residual_z[places]
    above = known >= np.median(known) if len(known) else np.zeros(0, dtype=np.bool_)
    if len(known) < LEAST_COINS or above.all():
        note = say("sequential.order.not_asked", coins=len(known), least=LEAST_COINS)
        return OrderStatement(len(known), None, None, 1.0, 1.0, 1.0, -1, note)
    runs, change = _runs_test(above), _pettitt(known)
    smaller, larger = sorted((runs.p_value, change.p_value))
    first = min(1.0, 2.0 * smaller)
    second = max(first, larger)
    runs_first = runs.p_value <= change.p_value
    last_before = int(places[change.coins_before - 1])
    return OrderStatement(
        coins=len(known),
        runs=runs,
        change=change,
        runs_p_corrected=first if runs_first else second,
        change_p_corrected=second if runs_first else first,
        p_value=first,
        last_before=last_before,
        note=_note(
            first,
            last_before + 1,
            int(places[change.earliest - 1]) + 1,
            int(places[change.latest - 1]) + 1,
        ),
    )


def unevenness(marked: Bools) -> tuple[float, int]:
    """How rare it is that marked coins lie as unevenly along the order as these do, where
    every order is as likely, and after how many coins the two shares differ most.

    Kolmogorov and Smirnov's test of two samples, exact for few (Hodges, Arkiv foer Matematik
    3, 1958): a share of departing coins so small that residuals as a whole do not move
    still shows where those coins lie together. 1-D marks in order; (1, 0) where none or
    all are marked.
    """
    places = np.arange(1, len(marked) + 1)
    if marked.all() or not marked.any():
        return 1.0, 0
    found = ks_2samp(places[marked], places[~marked], method="auto")
    return float(found.pvalue), int(found.statistic_location)


def _note(p_value: float, place: int, earliest: int, latest: int) -> str:
    if p_value <= PATTERN_P:
        return say("sequential.order.pattern", p=p_value, place=place, earliest=earliest,
                   latest=latest)  # fmt: skip
    return say("sequential.order.no_pattern", p=p_value)


def _runs_test(above: Bools) -> RunsTest:
    """Wald and Wolfowitz, Annals of Mathematical Statistics 11 (1940), given the number on
    each side; the step of one half is taken off for up to 50 residuals."""
    total, high = len(above), int(above.sum())
    pairs = 2.0 * high * (total - high)
    expected = pairs / total + 1.0
    variance = pairs * (pairs - total) / (total**2 * (total - 1.0))
    runs = int(np.count_nonzero(np.diff(above))) + 1
    distance = runs - expected
    if total <= 50:
        distance = float(np.sign(distance)) * max(abs(distance) - 0.5, 0.0)
    z = distance / sqrt(variance)
    return RunsTest(runs, expected, z, float(2.0 * ndtr(-abs(z))))


def _pettitt(values: Floats) -> ChangePoint:
    """Pettitt, Applied Statistics 28 (1979): the largest |U_t|, ties with middle ranks, and
    his approximation of the p-value, held below 1."""
    total = len(values)
    steps = np.arange(1, total + 1)
    path = np.abs(2.0 * np.cumsum(rankdata(values)) - steps * (total + 1.0))[:-1]
    before = int(np.argmax(path)) + 1
    statistic = float(path[before - 1])
    p_value = min(1.0, 2.0 * exp(-6.0 * statistic**2 / (float(total) ** 3 + float(total) ** 2)))
    return ChangePoint(
        statistic=statistic,
        p_value=p_value,
        coins_before=before,
        median_before=float(np.median(values[:before])),
        median_after=float(np.median(values[before:])),
        earliest=max(before - _reach(values, before), 1),
        latest=min(before + _reach(values, before), total - 1),
    )


def _reach(values: Floats, before: int) -> int:
    """How far the change may lie from its likeliest place."""
    old, new = values[:before], values[before:]
    jump = float(new.mean() - old.mean())
    spread = float(np.sum(np.square(old - old.mean())) + np.sum(np.square(new - new.mean())))
    if jump == 0.0:
        return len(values)
    return min(int(_BAI_95 * spread / len(values) / jump**2) + 1, len(values))
