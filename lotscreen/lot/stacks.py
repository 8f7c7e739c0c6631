"""Heights of stacks: a coin of the right weight in lighter metal is thicker, which no weight
of its group shows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, stdtr

from lotscreen.records import Ints, ItemTable
from lotscreen.wear import Fit, TypeFit

BETWEEN_GROUPS = 0.3
"""Relative spread of the mean wear between groups of one lot: rolls made up from one
drawer share wear (common practice, no source)."""

LEAST_MATES = 5
"""So many groups of one type and count say what such groups are like (assumed)."""

_PER_COIN_MM = 0.5  # a "thickness" of less a coin is a coin's own, not the stack's
_MAD_TO_SD = 1.4826


@dataclass(frozen=True, slots=True)
class Stack:
    """Height of a stack, what is expected and one sd, mm; ``rate`` is the chance of an
    honest one to be as tall."""

    height_mm: float
    expected_mm: float
    sd_mm: float
    rate: float

    @property
    def off_sd(self) -> float:
        """How far it is taller than expected, in sds."""
        return (self.height_mm - self.expected_mm) / self.sd_mm


def stacks_of(groups: ItemTable, fit: Fit) -> Mapping[int, Stack]:
    """The stacks by row of ``groups``: judged by the thickness of single coins where lot-mates
    were measured, else by the other stacks of the same type and count, five at least."""
    stacked = groups.thickness_mm > _PER_COIN_MM * groups.count
    found: dict[int, Stack] = {}
    pairs = zip(groups.type_key[stacked], groups.count[stacked], strict=True)
    for key, count in dict.fromkeys(pairs):
        rows = np.flatnonzero(stacked & (groups.type_key == key) & (groups.count == count))
        fitted = fit.types.get(str(key))
        if fitted is not None and fitted.thickness.speaks:
            found |= {int(row): _by_coins(groups, int(row), fitted) for row in rows}
        elif key and len(rows) >= LEAST_MATES:
            found |= _by_mates(groups, rows)
    return found


def _by_coins(groups: ItemTable, row: int, fitted: TypeFit) -> Stack:
    height, count = float(groups.thickness_mm[row]), float(groups.count[row])
    gauge, wear = fitted.thickness, fitted.mean_wear()
    middle = count * (gauge.reference_mm + gauge.slope_mm * wear)
    common = count * np.hypot(gauge.u_reference_mm, gauge.slope_mm * BETWEEN_GROUPS * wear)
    own = np.hypot(np.sqrt(count) * gauge.sd_mm, float(groups.thickness_u_mm[row]))
    sd = float(np.hypot(common, own))
    return Stack(height, middle, sd, float(ndtr((middle - height) / sd)))


def _by_mates(groups: ItemTable, rows: Ints) -> dict[int, Stack]:
    """Against the median of all; the spread is never taken as less than the reading's own."""
    heights = groups.thickness_mm[rows]
    middle = float(np.median(heights))
    spread = _MAD_TO_SD * float(np.median(np.abs(heights - middle)))
    sd = max(spread, float(np.median(groups.thickness_u_mm[rows])), 1e-9)
    freedom = len(rows) - 1
    return {
        int(row): Stack(float(h), middle, sd, float(stdtr(freedom, (middle - h) / sd)))
        for row, h in zip(rows, heights, strict=True)
    }
