"""The smallest difference an instrument shows, from the readings it gave."""

from __future__ import annotations

import math

import numpy as np

from lotscreen.records import Bools, Floats, Ints

_SHARE = 0.97  # of the readings must lie on the grid: a few are typed with a slip
_ODDS = 1e-4  # chance that a finer instrument shows only multiples of the coarser step
_MOST_DECIMALS = 6
_MULTIPLES = (10, 5, 2)
_SHORTEST_STRETCH = 12
_MOST_STRETCHES = 20


def estimated_step(values: Floats, decimals: Ints) -> float:
    """The step of a block of readings, in the unit they are written in.

    ``values`` are the readings as written, ``decimals`` the decimals written (-1 for a
    fraction). The decimals that all but 3 % of the cells stay within give the finest
    grid; a coarser one (ten, five or two of its steps) is taken where all but 3 % of the
    readings lie on it and enough of them differ that chance does not explain it (under
    1 in 10 000). NaN for no readings.
    """
    if len(values) == 0:
        return float("nan")
    base = _written_step(values, decimals)
    while (multiple := _coarser(values, base)) > 1:
        base *= multiple
    return base


def _written_step(values: Floats, decimals: Ints) -> float:
    """The grid of the decimals that all but 3 % of the cells stay within."""
    written = decimals
    if (fractions := decimals < 0).any():
        written = np.where(fractions, _fraction_decimals(values), decimals)
    within = np.cumsum(np.bincount(written))
    finest = int(np.searchsorted(within, _SHARE * len(written) * (1 - 1e-12)))
    return float(10.0 ** -min(finest, _MOST_DECIMALS))


def steps_in_order(values: Floats, decimals: Ints) -> Floats:
    """The step of each reading, where the rounding may change part-way.

    Arguments as of :func:`estimated_step`, in the order in which they were read. A stretch
    that lies on a coarser grid (or off the common grid, on a finer one) for so long that
    chance does not explain it has a step of its own. It is the stretch of largest sum of
    log likelihood ratios, a reading on the grid against one of an instrument that shows
    the finer one (Page, Biometrika 41, 1954).
    """
    if len(values) < _SHORTEST_STRETCH:
        return np.full(len(values), estimated_step(values, decimals))
    base = _written_step(values, decimals)
    steps = np.full(len(values), np.nan)
    tenths = np.rint(values / (base / 10)).astype(np.int64)
    counts = tenths // 10
    off_grid = tenths != counts * 10
    for start, stop in _stretches(off_grid, _log_ratio(0.9, 1 - _SHARE)):
        steps[start:stop] = base / 10
    for multiple in _MULTIPLES:
        on_grid = (counts % multiple == 0) & ~off_grid & np.isnan(steps)
        for start, stop in _stretches(on_grid, _log_ratio(_SHARE, 1 / multiple)):
            different = len(np.unique(tenths[start:stop][on_grid[start:stop]]))
            if float(multiple) ** -different <= _ODDS and np.isnan(steps[start:stop]).all():
                own = estimated_step(values[start:stop], decimals[start:stop])
                steps[start:stop] = max(own, base * multiple)
    others = np.isnan(steps)
    if others.any():
        steps[others] = estimated_step(values[others], decimals[others])
    return steps


def _log_ratio(on: float, chance: float) -> tuple[float, float]:
    """What a reading with the mark adds to the sum, and what one without it takes."""
    return math.log(on / chance), math.log((1 - on) / (1 - chance))


def _stretches(marked: Bools, gains: tuple[float, float]) -> list[tuple[int, int]]:
    """Stretches of marked readings too long for chance, as (start, stop); a stretch of the
    other kind inside one cuts it."""
    needed = math.log(len(marked) / _ODDS)
    if marked.sum() * gains[0] < needed:
        return []
    score = np.where(marked, gains[0], gains[1])
    found = []
    for start, stop in _largest_sums(score, needed):
        holes = _largest_sums(-score[start:stop], needed)
        edges = [start, *(start + edge for hole in sorted(holes) for edge in hole), stop]
        found += [
            (a, b)
            for a, b in zip(edges[::2], edges[1::2], strict=True)
            if score[a:b].sum() > needed
        ]
    return found


def _largest_sums(score: Floats, needed: float) -> list[tuple[int, int]]:
    """Disjoint stretches whose scores add up to more than ``needed``, largest sum first."""
    left = score.copy()
    found: list[tuple[int, int]] = []
    while len(found) < _MOST_STRETCHES and left[left > 0].sum() >= needed:
        sums = np.concatenate([[0.0], np.cumsum(left)])
        rise = sums - np.minimum.accumulate(sums)
        stop = int(np.argmax(rise))
        if rise[stop] < needed:
            break
        start = int(np.argmin(sums[: stop + 1]))
        found.append((start, stop))
        left[start:stop] = -needed
    return found


def _coarser(values: Floats, base: float) -> int:
    """How many times coarser than ``base`` the grid of ``values`` is, 1 where it is not."""
    counts = np.rint(values / base).astype(np.int64)
    for multiple in _MULTIPLES:
        on_grid = counts % multiple == 0
        if on_grid.mean() < _SHARE:
            continue
        if float(multiple) ** -len(np.unique(counts[on_grid])) <= _ODDS:
            return multiple
    return 1


def _fraction_decimals(values: Floats) -> Ints:
    """Decimals that a fraction needs, at most three: 412 1/2 needs one, 1/8 three."""
    needed = np.full(len(values), 3, dtype=np.int64)
    for decimals in (2, 1, 0):
        fits = np.abs(values * 10**decimals - np.rint(values * 10**decimals)) < 1e-9
        needed[fits] = decimals
    return needed
