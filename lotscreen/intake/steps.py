"""The smallest difference an instrument shows, from the readings it gave."""

from __future__ import annotations

import numpy as np

from lotscreen.records import Floats, Ints

_SHARE = 0.97  # of the readings must lie on the grid: a few are typed with a slip
_ODDS = 1e-4  # chance that a finer instrument shows only multiples of the coarser step
_MOST_DECIMALS = 6
_MULTIPLES = (10, 5, 2)


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
    written = np.where(decimals < 0, _fraction_decimals(values), decimals)
    finest = int(np.quantile(written, _SHARE, method="inverted_cdf"))
    base = 10.0 ** -min(finest, _MOST_DECIMALS)
    while (multiple := _coarser(values, base)) > 1:
        base *= multiple
    return base


def _coarser(values: Floats, base: float) -> int:
    """How many times coarser than ``base`` the grid of ``values`` is, 1 where it is not."""
    counts = np.rint(values / base).astype(np.int64)
    for multiple in _MULTIPLES:
        on_grid = counts % multiple == 0
        different = len(np.unique(counts[on_grid]))
        if on_grid.mean() >= _SHARE and float(multiple) ** -different <= _ODDS:
            return multiple
    return 1


def _fraction_decimals(values: Floats) -> Ints:
    """Decimals that a fraction needs, at most three: 412 1/2 needs one, 1/8 three."""
    needed = np.full(len(values), 3, dtype=np.int64)
    for decimals in (2, 1, 0):
        fits = np.abs(values * 10**decimals - np.rint(values * 10**decimals)) < 1e-9
        needed[fits] = decimals
    return needed
