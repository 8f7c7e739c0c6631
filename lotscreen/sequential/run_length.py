"""Run lengths of a CUSUM, computed by the Markov chain of Brook and Evans.

Brook, D. and Evans, D. A., Biometrika 59 (1972): the height of the sum is cut into
cells, the chain of cells is solved exactly, and for an unclipped sum two cell widths are
extrapolated to none. Starts at zero. Holds for independent normal residuals.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from math import isfinite

import numpy as np
from scipy.special import chdtri, ndtr

from lotscreen.records import Floats
from lotscreen.sequential.cusum import CusumScheme

LIMIT_STEP_SD = 0.1
"""Limits are looked for in steps of this."""

_FEW_CELLS = 200
_MANY_CELLS = 400
_CELLS_FOR_CHANCES = 100
_HIGHEST_LIMIT_STEPS = 400

# Nodes over the errors of an estimated centre and spread. The chance is even in the error
# of the centre, so that half of its nodes will do.
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(12)
_CENTRE_NODES = _NODES[_NODES > 0.0]
_CENTRE_WEIGHTS = 2.0 * _WEIGHTS[_NODES > 0.0] / _WEIGHTS.sum()
_SPREAD_NODES, _SPREAD_WEIGHTS = np.polynomial.hermite_e.hermegauss(3)
_SPREAD_WEIGHTS = _SPREAD_WEIGHTS / _SPREAD_WEIGHTS.sum()


@lru_cache(maxsize=64)
def average_run_length(
    scheme: CusumScheme, shift_sd: float = 0.0, *, two_sided: bool = True
) -> float:
    """Mean number of coins to a signal when residuals centre on ``shift_sd``.

    Both sums together by default (1/both = 1/up + 1/down), else the upward sum alone.
    """
    up = _one_sided_run_length(scheme, shift_sd)
    if not two_sided:
        return up
    down = _one_sided_run_length(scheme, -shift_sd)
    return 1.0 / (1.0 / up + 1.0 / down)


def false_signal_chance(scheme: CusumScheme, coins: int, first_coins: int = 0) -> float:
    """Chance of a signal of either sum within ``coins`` coins although nothing changed, at
    most (the chances of the two sums are added).

    With ``first_coins`` the centre and the standard deviation are the mean and the
    standard deviation of so many first coins, and the chance is the mean over the errors
    that these then have; 0 takes both as known.
    """
    if first_coins == 0:
        return _signal_chance(scheme, coins, 0.0, 1.0)
    freedom = first_coins - 1
    spreads = np.sqrt(freedom / chdtri(freedom, ndtr(_SPREAD_NODES)))
    shifts = _CENTRE_NODES * first_coins**-0.5
    chances = [
        [_signal_chance(scheme, coins, shift * spread, spread) for shift in shifts]
        for spread in spreads
    ]
    return float(_SPREAD_WEIGHTS @ np.array(chances) @ _CENTRE_WEIGHTS)


@lru_cache(maxsize=64)
def scheme_for(
    coins: int, chance: float, reference_sd: float, clip_sd: float, first_coins: int = 0
) -> CusumScheme:
    """The scheme with the lowest limit that keeps a false signal in ``coins`` coins to at
    most ``chance`` of lots (see :func:`false_signal_chance`); ``coins`` at least 1."""

    def false_signals(limit_sd: float) -> float:
        tried = CusumScheme(reference_sd, limit_sd, clip_sd)
        return false_signal_chance(tried, coins, first_coins)

    return CusumScheme(reference_sd, lowest_limit(false_signals, chance), clip_sd)


def lowest_limit(false_signals: Callable[[float], float], chance: float) -> float:
    """The lowest limit, in tenths of a standard deviation, at which ``false_signals``, which
    falls as the limit rises, is ``chance`` or less."""
    low, high = 0, _HIGHEST_LIMIT_STEPS
    while high - low > 1:
        middle = (low + high) // 2
        if false_signals(round(middle * LIMIT_STEP_SD, 1)) <= chance:
            high = middle
        else:
            low = middle
    return round(high * LIMIT_STEP_SD, 1)


def _signal_chance(scheme: CusumScheme, coins: int, shift_sd: float, spread_sd: float) -> float:
    up, down = (
        1.0 - float(_survival(_moves(scheme, shift, spread_sd, _CELLS_FOR_CHANCES), coins)[0])
        for shift in (shift_sd, -shift_sd)
    )
    return min(1.0, max(0.0, up + down))  # of one that never happens the sums leave dust


def _one_sided_run_length(scheme: CusumScheme, shift_sd: float) -> float:
    fine = _chain_run_length(scheme, shift_sd, _MANY_CELLS)
    if isfinite(scheme.clip_sd):
        return fine  # a clipped residual has lumps: the error is not smooth in the width
    coarse = _chain_run_length(scheme, shift_sd, _FEW_CELLS)
    wide, narrow = (_width(scheme, cells) ** 2 for cells in (_FEW_CELLS, _MANY_CELLS))
    return (fine * wide - coarse * narrow) / (wide - narrow)


def _chain_run_length(scheme: CusumScheme, shift_sd: float, cells: int) -> float:
    moves = _moves(scheme, shift_sd, 1.0, cells)
    return float(np.linalg.solve(np.eye(cells) - moves, np.ones(cells))[0])


def _width(scheme: CusumScheme, cells: int) -> float:
    """Width of a cell; the lowest cell, about zero, is cut in half."""
    return 2.0 * scheme.limit_sd / (2 * cells - 1)


def _moves(scheme: CusumScheme, shift_sd: float, spread_sd: float, cells: int) -> Floats:
    """Chance to go from the centre of each cell to each cell, (cells, cells)."""
    width = _width(scheme, cells)
    here = np.arange(cells, dtype=np.float64)
    jump = (here[None, :] - here[:, None]) * width + scheme.reference_sd
    below, above = (
        _clipped_normal(edge, shift_sd, spread_sd, scheme.clip_sd)
        for edge in (jump + width / 2.0, jump - width / 2.0)
    )
    moves = below - above
    moves[:, 0] = below[:, 0]
    return moves


def _clipped_normal(value: Floats, shift_sd: float, spread_sd: float, clip_sd: float) -> Floats:
    """Distribution function of a normal residual held within +- ``clip_sd``."""
    inside = np.asarray(ndtr((value - shift_sd) / spread_sd), dtype=np.float64)
    return np.where(value < -clip_sd, 0.0, np.where(value >= clip_sd, 1.0, inside))


def _survival(moves: Floats, coins: int) -> Floats:
    """Chance of no signal within ``coins`` coins from each cell: moves^coins times one."""
    left = np.ones(len(moves))
    power = moves
    remaining = coins
    while remaining:
        if remaining & 1:
            left = power @ left
        power = power @ power
        remaining >>= 1
    return left
