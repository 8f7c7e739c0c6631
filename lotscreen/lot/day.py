"""The day of measuring: drift of the residuals, check weights, who measured, in order.

Moving average and running sums are two of the looks at the order: each leaves its limits on
an unchanging day as seldom as :data:`lotscreen.lot.budget.LOOK` says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from lotscreen.lot.budget import LOOK
from lotscreen.lot.statement import CheckStatement
from lotscreen.records import Floats, Ints, Quantity
from lotscreen.sequential.back_sums import BackSums, back_sums
from lotscreen.sequential.ewma import EwmaScheme, ewma_for, ewma_path, ewma_run_length

WEIGHT = 0.1
"""What the newest residual counts (assumed)."""

_CLIP_SD = 3.0
_LEAST = 20
_ONE_SD = 1.0
_FEW = 4.0  # by simulation: keeps the rate for as few as twenty
_DIFFERENCE_TO_SD = 1.4826 / 2.0**0.5
_NOTHING_SDS, _FURTHEST_SDS = 1.0, 6.0


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run of measurements by one person ('' : not named), from ``first`` to ``last``."""

    person: str
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Day:
    """``place`` counts residuals in measuring order from 1; ``average_sd`` is the moving
    average after each, ``limit_sd`` its limit on either side; ``signal_at`` the first place
    beyond (0: none). ``run_length`` and ``delay`` are coins to a false signal of it, and to
    one of a shift of one sd, on average. ``sums`` look back over the same residuals. Checks
    lie at ``check_place``. ``grouped``: residuals are the medians of rolls."""

    place: Ints
    average_sd: Floats
    limit_sd: float
    signal_at: int
    check_place: Floats
    checks: tuple[CheckStatement, ...]
    stretches: tuple[Stretch, ...]
    grouped: bool
    run_length: float
    delay: float
    sums: BackSums


def day_of(
    order: Ints, residual_z: Floats, group: Sequence[str], item_id: Sequence[str],
    readings: pd.DataFrame, checks: Sequence[CheckStatement],
) -> Day | None:  # fmt: skip
    """The day of the coins of one lot: columns of one length in any order, the readings of
    the sheet, the lot's check weights. None for fewer than 20 residuals.

    The centre is the median of the residuals themselves, the spread comes from how far
    neighbours differ, so that a drift shows and the whole day's error does not. Residuals count
    three deviations at most, in the sums by their rank.
    """
    rows = np.argsort(order, kind="stable")
    z, names = residual_z[rows], np.array([str(group[i]) for i in rows])
    grouped = bool((names != "").any())
    values = _by_roll(z, names) if grouped else z
    averaged, sums = _moving_average(values), back_sums(values, LOOK)
    if averaged is None or sums is None:
        return None
    path, scheme = averaged
    beyond = np.abs(path) > scheme.limit_sd
    return Day(
        place=np.arange(1, len(values) + 1, dtype=np.int64),
        average_sd=path,
        limit_sd=scheme.limit_sd,
        signal_at=int(np.argmax(beyond)) + 1 if beyond.any() else 0,
        check_place=np.array([_place(c.order, order[rows], len(values)) for c in checks]),
        checks=tuple(checks),
        stretches=_stretches([str(item_id[i]) for i in rows], readings, len(values)),
        grouped=grouped,
        run_length=ewma_run_length(scheme),
        delay=ewma_run_length(scheme, _ONE_SD),
        sums=sums,
    )


def drift_rate(values: Floats) -> float | None:
    """How rare it is on an unchanging day that the moving average goes so far as it does;
    ``values`` are residuals in measuring order, or medians of rolls. None as above."""
    averaged = _moving_average(values)
    if averaged is None:
        return None
    path, scheme = averaged
    sds = float(np.abs(path).max()) / scheme.limit_sd * scheme.limit_sds
    if sds < _NOTHING_SDS:
        return 1.0
    length = ewma_run_length(EwmaScheme(WEIGHT, min(round(sds, 6), _FURTHEST_SDS)))
    return float(-np.expm1(-len(values) / length))


def _moving_average(values: Floats) -> tuple[Floats, EwmaScheme] | None:
    known = values[np.isfinite(values)]
    if len(known) < _LEAST:
        return None
    middle = float(np.median(known))
    # neighbours differ by chance alone, however the whole drifts; few of them say it less well
    spread = float(np.median(np.abs(np.diff(known))) * _DIFFERENCE_TO_SD) or 1.0
    spread *= 1.0 + _FEW / len(known)
    scheme = _scheme(len(values))
    return ewma_path(np.clip((values - middle) / spread, -_CLIP_SD, _CLIP_SD), scheme), scheme


def _scheme(coins: int) -> EwmaScheme:
    """So many coins leave the limits falsely on so few days: run lengths are about
    geometric."""
    return ewma_for(round(-coins / np.log1p(-LOOK), 3), WEIGHT)


def _by_roll(values: Floats, names: np.ndarray) -> Floats:
    return np.array(
        [
            np.median(own) if len(own := values[(names == name) & np.isfinite(values)]) else np.nan
            for name in dict.fromkeys(names)
            if name
        ]
    )


def _place(order: int, orders: Ints, places: int) -> float:
    """Where a check weight lies among the residuals; in front for one stated beforehand."""
    before = float(np.searchsorted(orders, order))
    return before / max(len(orders), 1) * places + 0.5


def _stretches(item_id: Sequence[str], readings: pd.DataFrame, places: int) -> tuple[Stretch, ...]:
    """Runs of one person's weighings, in places of the residuals."""
    weights = readings[readings["quantity"] == Quantity.WEIGHT]
    person = dict(zip(weights["item_id"], weights["person"], strict=True))
    names = [str(person.get(item, "")) for item in item_id]
    scale = places / max(len(names), 1)
    found: list[Stretch] = []
    begin = 0
    for i in range(1, len(names) + 1):
        if i == len(names) or names[i] != names[begin]:
            found.append(Stretch(names[begin], round(begin * scale) + 1, max(round(i * scale), 1)))
            begin = i
    return tuple(found)
