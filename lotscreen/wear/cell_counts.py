"""Coins counted by cell of readings and by date, departure of their group, or grade."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.quantities import GRADES
from lotscreen.records import Floats, Ints
from lotscreen.wear.distinct import distinct_rows
from lotscreen.wear.strata import Strata, strata_of


@dataclass(frozen=True, slots=True)
class CellCounts:
    """Distinct cells of readings and how often each occurs at each date.

    ``low_g, high_g, u_g`` by cell; ``years`` by date (NaN last: no date); ``counts``
    dates x cells. Where groups depart from their dates ``counts`` has a row for each
    departure of each date, and ``strata`` says which. ``graded`` (grades x cells) are coins
    that stand with their grade (None: there are none).
    """

    low_g: Floats
    high_g: Floats
    u_g: Floats
    years: Floats
    counts: Floats
    strata: Strata | None = None
    graded: Floats | None = None

    @property
    def date_coins(self) -> Floats:
        """Coins of each date."""
        coins = self.counts.sum(axis=1)
        return coins if self.strata is None else self.strata.summed(coins, len(self.years))

    @property
    def total(self) -> float:
        """All coins."""
        return float(self.counts.sum()) + (0.0 if self.graded is None else self.graded.sum())


def count_cells(
    low_g: Floats, high_g: Floats, u_g: Floats, year: Floats, weight: Floats | None = None,
    steps: Ints | None = None, grade: Ints | None = None,
) -> CellCounts:  # fmt: skip
    """Collapse single coins (arrays of one length) to counts by date and cell; each coin
    counts by its ``weight`` (default 1). ``steps`` is how far each coin's group departs from
    its date, ``grade`` the grade with which it stands (-1: with its date)."""
    rows = np.column_stack([np.round(low_g, 9), np.round(high_g, 9), np.round(u_g, 9)])
    cells, cell_of, _ = distinct_rows(rows)
    years, date_of = np.unique(year, return_inverse=True)
    strata, graded, row_of = None, None, date_of.ravel()
    if grade is not None and (grade >= 0).any():
        weight = np.ones(len(year)) if weight is None else weight
        graded = _tallied(grade, cell_of, weight * (grade >= 0), len(GRADES), len(cells))
        weight = weight * (grade < 0)
    if steps is not None:
        strata, row_of = strata_of(row_of, steps)
    rows_of_counts = len(years) if strata is None else len(strata.date)
    counts = _tallied(row_of, cell_of, weight, rows_of_counts, len(cells))
    return CellCounts(cells[:, 0], cells[:, 1], cells[:, 2], years, counts, strata, graded)


def _tallied(row: Ints, cell: Ints, weight: Floats | None, rows: int, cells: int) -> Floats:
    """Counts by row and cell; a row of -1 has no weight."""
    flat = np.maximum(row, 0) * cells + cell
    return np.bincount(flat, weight, rows * cells).astype(np.float64).reshape(rows, cells)
