"""Seconds a coin: the usual time, and how it goes over the tray."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from lotscreen.records import Bools, Floats
from lotscreen.tray.marking.crossed import Estimate
from lotscreen.tray.marking.grid import Grid
from lotscreen.tray.marking.rates import LEVEL

LATE_SHARE = 2 / 3
"""Cells after this share of a tray are its end."""

_NOTICED = 0.8
"""An end that takes this share of the time of the beginning, or less, is called fast
(assumed)."""

_FEWEST = 10


@dataclass(frozen=True, slots=True)
class Pace:
    """One trainee. ``slope`` is the change from the first cell of a tray to the last, as a
    factor less 1; ``end`` the seconds at the end as a share of those before, against the
    class on the same coins. ``p_value``: the chance of so fast an end if the true one were
    no less than ``_NOTICED``. Wrong answers before the end and at it, each of so many."""

    median: Estimate
    slope: Estimate
    end: Estimate
    p_value: float
    wrong_before: int
    before: int
    wrong_end: int
    at_end: int


def paces(grid: Grid) -> list[Pace]:
    """Every trainee's pace; figures are NaN where fewer than ten times were written down."""
    timed = np.isfinite(grid.seconds) & (grid.seconds > 0)
    logs = np.where(timed, np.log(np.where(timed, grid.seconds, 1.0)), np.nan)
    size = np.bincount(grid.tray, weights=None)
    cells = np.array([grid.cell[grid.tray == t].max() for t in range(len(size))])
    along = (grid.cell - 1) / np.maximum(cells[grid.tray] - 1, 1)
    apart = _without_pieces(grid, logs)
    late = along > LATE_SHARE
    return [_one(grid, p, logs, along, apart, late, timed) for p in range(len(grid.people))]


def _without_pieces(grid: Grid, logs: Floats) -> Floats:
    """Log seconds less what the other trainees took for the same coin and the trainee's own
    mean difference from them."""
    table = grid.table(logs)
    known = np.isfinite(table)
    filled = np.where(known, table, 0.0)
    own = filled.sum(axis=1) / np.maximum(known.sum(axis=1), 1)
    left = np.where(known, table - own[:, None], 0.0)
    others = left.sum(axis=0) - left
    count = known.sum(axis=0) - known
    usual = np.divide(others, count, out=np.zeros_like(others), where=count > 0)
    return np.asarray(logs - own[grid.person] - usual[grid.person, grid.piece])


def _one(
    grid: Grid, person: int, logs: Floats, along: Floats, apart: Floats, late: Bools, timed: Bools
) -> Pace:
    mine = grid.person == person
    used = mine & timed
    wrong = grid.wrong
    end, p_value = _end(apart[used & late], apart[used & ~late])
    return Pace(
        median=_median(grid.seconds[used]),
        slope=_slope(logs[used], along[used], grid.tray[used]),
        end=end,
        p_value=p_value,
        wrong_before=int(wrong[mine & ~late].sum()),
        before=int((mine & ~late).sum()),
        wrong_end=int(wrong[mine & late].sum()),
        at_end=int((mine & late).sum()),
    )


def _median(seconds: Floats, level: float = LEVEL) -> Estimate:
    """The median between two of the ordered times, which hold it at least that often."""
    n = len(seconds)
    if n < _FEWEST:
        return Estimate(float(np.median(seconds)) if n else np.nan, np.nan, np.nan)
    ordered = np.sort(seconds)
    first = int(stats.binom.ppf((1.0 - level) / 2.0, n, 0.5))
    first = max(first - (stats.binom.cdf(first - 1, n, 0.5) > (1.0 - level) / 2.0), 0)
    return Estimate(float(np.median(ordered)), float(ordered[first]), float(ordered[n - 1 - first]))


def _slope(logs: Floats, along: Floats, tray: np.ndarray, level: float = LEVEL) -> Estimate:
    """Least squares over all trays, each with a level of its own."""
    if len(logs) < _FEWEST:
        return Estimate(np.nan, np.nan, np.nan)
    count = np.bincount(tray)
    trays = int((count > 0).sum())
    x = along - (np.bincount(tray, along) / np.maximum(count, 1))[tray]
    y = logs - (np.bincount(tray, logs) / np.maximum(count, 1))[tray]
    free = len(logs) - trays - 1
    if free < 1 or not np.any(x):
        return Estimate(np.nan, np.nan, np.nan)
    slope = float(x @ y / (x @ x))
    error = float(np.sqrt(np.sum((y - slope * x) ** 2) / free / (x @ x)))
    half = float(stats.t.ppf((1.0 + level) / 2.0, free)) * error
    return Estimate(*(float(np.expm1(v)) for v in (slope, slope - half, slope + half)))


def _end(late: Floats, early: Floats, level: float = LEVEL) -> tuple[Estimate, float]:
    """Welch's comparison of the log times at the end with those before."""
    if len(late) < _FEWEST or len(early) < _FEWEST:
        return Estimate(np.nan, np.nan, np.nan), np.nan
    parts = late.var(ddof=1) / len(late), early.var(ddof=1) / len(early)
    error = float(np.sqrt(sum(parts)))
    if error == 0:
        return Estimate(np.nan, np.nan, np.nan), np.nan
    free = error**4 / sum(
        v**2 / (n - 1) for v, n in zip(parts, (len(late), len(early)), strict=True)
    )
    gap = float(late.mean() - early.mean())
    half = float(stats.t.ppf((1.0 + level) / 2.0, free)) * error
    p_value = float(stats.t.cdf((gap - np.log(_NOTICED)) / error, free))
    return Estimate(*(float(np.exp(v)) for v in (gap, gap - half, gap + half))), p_value
