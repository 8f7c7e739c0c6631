"""Which coins of a type are left out of the fit together, to be judged by the others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.records import Floats, Ints, ItemTable
from lotscreen.sensitivity.moves import Way

ONE_BY_ONE_BELOW = 50
"""Types with fewer coins are judged leaving out one coin at a time."""
FOLDS = 5


@dataclass(frozen=True, slots=True)
class Fold:
    """``rows`` (of the table) that are left out of a fit together and judged by it; ``ways``
    says of each what was left out."""

    rows: Ints
    ways: tuple[Way, ...]


def folds_of(table: ItemTable, rows: Ints) -> list[Fold]:
    """The coins at ``rows`` (one type) in folds: whole groups where there are two or more,
    else fifths. The split follows names of groups and the ids of items, which come of what
    stands in a row, never the order of measurement."""
    names = [
        (str(lot), str(group))
        for lot, group in zip(table.lot[rows], table.group[rows], strict=True)
    ]
    units = [(*name, "" if name[1] else str(i))
             for name, i in zip(names, table.item_id[rows], strict=True)]  # fmt: skip
    groups = len({name for name in names if name[1]})
    if groups < 2:
        units = [("", "", str(i)) for i in table.item_id[rows]]
    fold_of = _dealt(units)
    whole = Way.OWN_GROUP if len(set(units)) <= FOLDS else Way.FIFTH_OF_GROUPS
    ways = np.array([whole if unit[1] else Way.FIFTH for unit in units], dtype=object)
    return [
        Fold(rows[fold_of == fold], tuple(ways[fold_of == fold]))
        for fold in range(int(fold_of.max()) + 1)
    ]


def one_by_one(rows: Ints) -> list[Fold]:
    """Each coin at ``rows`` by itself."""
    return [Fold(rows[k : k + 1], (Way.OWN_COIN,)) for k in range(len(rows))]


def _dealt(units: list[tuple[str, str, str]]) -> Ints:
    """The fold of each coin: units, largest first, each to the fold with fewest coins."""
    distinct, index, counts = _distinct(units)
    order = sorted(range(len(distinct)), key=lambda k: (-counts[k], distinct[k]))
    filled = np.zeros(FOLDS)
    fold_of_unit = np.zeros(len(distinct), dtype=np.int64)
    for k in order:
        fold_of_unit[k] = int(np.argmin(filled))
        filled[fold_of_unit[k]] += counts[k]
    return fold_of_unit[index]


def _distinct(
    units: list[tuple[str, str, str]],
) -> tuple[list[tuple[str, str, str]], Ints, Floats]:
    distinct = sorted(set(units))
    place = {unit: k for k, unit in enumerate(distinct)}
    index = np.array([place[unit] for unit in units], dtype=np.int64)
    return distinct, index, np.bincount(index).astype(np.float64)
