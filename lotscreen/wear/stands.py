"""Fitting one type: coins that stand with their group or their grade.

The parts of the fit that are needed only where rolls or grades have levels of their own.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from lotscreen.records import Floats, ItemTable
from lotscreen.wear import grid
from lotscreen.wear.allowance import slick_wear
from lotscreen.wear.cell_counts import CellCounts, count_cells
from lotscreen.wear.grades import GradeLevels
from lotscreen.wear.offsets import Groups, learn_groups, steps_of
from lotscreen.wear.predict import predictor
from lotscreen.wear.predicted import Predicted
from lotscreen.wear.standing import NONE, CoinRows, coin_rows
from lotscreen.wear.type_fit import TypeFit
from lotscreen.wear.weight_fit import WeightFit

_WEAR_CLASSES = 12
_SETTLED_STEPS = 0.2


def grade_levels(w: WeightFit) -> GradeLevels | None:
    """The fitted levels of the grades, None where no coin has one."""
    if w.grade_coins is None or w.grade_posterior is None or w.grade_shape is None:
        return None
    nothing = np.ones((1, len(grid.WEAR))) / len(grid.WEAR)
    return GradeLevels(w.grade_coins, w.grade_posterior, w.grade_shape, nothing)


def cells_of(
    rows: CoinRows, weight: Floats | None, fit: TypeFit | None = None,
    groups: Groups | None = None,
) -> CellCounts:  # fmt: skip
    """The coins by date, grade and departure of their group by ``fit``, each counted by its
    ``weight``."""
    steps = None if fit is None else steps_of(fit.groups, groups)
    return count_cells(rows.low_g, rows.high_g, rows.u_g, rows.year, weight, steps, rows.grade)


def seen_again(coins: ItemTable, rows: CoinRows, fit: TypeFit) -> tuple[CoinRows, Predicted]:
    """The coins with their standings by ``fit``, and what it predicts of them. Where groups
    have levels of their own a coin is not left out of them while the fit is still learned:
    of few mates without it a coin in the tail would look departing, its group then
    narrower, and the next coin in the tail too."""
    if not groups_matter(fit):
        plain = replace(rows, group=np.full(len(coins), NONE, dtype=np.int64))
        return plain, predictor(fit).predict(plain)
    placed = coin_rows(coins, fit, rows.in_fit)
    taken = replace(placed, in_fit=np.zeros(len(coins), np.bool_))
    return placed, predictor(fit).predict(taken)


def with_groups(
    now: TypeFit, rows: CoinRows, groups: Groups | None, seen: Predicted, departing: Floats
) -> TypeFit:
    """The fit with the levels of its groups learned again (see :func:`learn_groups`)."""
    if groups is None:
        return now
    return replace(now, groups=learn_groups(now, rows, groups, seen.cell, departing))


def groups_matter(fit: TypeFit) -> bool:
    """Whether rolls of the type have levels of their own."""
    return fit.groups is not None and fit.groups.matter


def groups_settled(before: TypeFit, after: TypeFit) -> bool:
    """Whether the levels of groups have moved so little that nothing else would move."""
    if before.groups is None or after.groups is None:
        return True
    if not (before.groups.matter or after.groups.matter):
        return True
    moved = np.abs(before.groups.used_steps() - after.groups.used_steps())
    return bool(moved.mean() < _SETTLED_STEPS)


def with_classes(fit: TypeFit, rows: CoinRows) -> TypeFit:
    """The fit with its classes of coins that are expected to be worn alike."""
    lightest = fit.coin_type.weight_g * (1 - slick_wear(fit.coin_type))
    fit = replace(fit, beyond_slick_share=float(np.mean(rows.high_g < lightest)))
    tables, graded = predictor(fit), rows.grade >= 0
    if fit.grades is not None and graded.any():
        typical = tables.wear_classes(rows.rows(np.flatnonzero(graded)), _WEAR_CLASSES)
        fit = replace(fit, grades=replace(fit.grades, typical_wear=typical))
        if graded.all():
            return replace(fit, typical_wear=typical)
        rows = rows.rows(np.flatnonzero(~graded))
    return replace(fit, typical_wear=tables.wear_classes(rows, _WEAR_CLASSES))
