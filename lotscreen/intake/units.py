"""The unit of a column of readings: from the header, the cells or the user."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from lotscreen.intake.cells import Cell
from lotscreen.intake.headers import AMBIGUOUS, canonical_unit, unit_factors
from lotscreen.intake.layout import Measure
from lotscreen.intake.options import Answers
from lotscreen.intake.table import Table
from lotscreen.intake.vocabulary import WEIGHT_ROLES
from lotscreen.records import Floats, InputError, Ints
from lotscreen.words import say

# A coin outside these is no coin in that unit: (quantity, lowest, highest, other unit).
_SENSIBLE = {"weight": (0.15, 120.0, "grain"), "diameter": (5.0, 120.0, "in")}


class UnitUnknownError(InputError):
    """Weights written in "gr" and nothing that says which: ``place`` names file, sheet,
    row, column and value."""

    def __init__(self, place: Mapping[str, object]) -> None:
        super().__init__(say("intake.error.gram_or_grain", **place))
        self.place = place


@dataclass(frozen=True, slots=True)
class ColumnUnit:
    """The unit of cells that name none, and where it comes from: ``written`` somewhere or
    said by the user, ``in_header`` in the header."""

    unit: str
    why: str
    written: bool
    in_header: bool = False


def unit_of_column(
    measure: Measure, cells: tuple[Cell, ...], rows: Ints, answers: Answers, table: Table
) -> ColumnUnit:
    """Settle the unit; UnitUnknownError where "gr" could be gram or grain and nobody said which.

    ``cells`` are the column's levels, ``rows`` how many rows each has.
    """
    role, header_unit = measure.sense.role, measure.sense.unit
    said = answers.weight_unit if role in WEIGHT_ROLES else None
    cell_units = {cell.unit for cell, count in zip(cells, rows, strict=True) if count}
    if header_unit == AMBIGUOUS or (AMBIGUOUS in cell_units and not header_unit):
        if said is None:
            raise UnitUnknownError(_question(measure, cells, rows, table))
        return ColumnUnit(said, say("intake.why.unit_said", unit=said), written=True)
    if header_unit and measure.sense.why == say("intake.why.map"):
        return ColumnUnit(header_unit, say("intake.why.unit_said", unit=header_unit), written=True)
    if header_unit:
        return ColumnUnit(header_unit, say("intake.why.unit_header", unit=header_unit), True, True)
    if said is not None:
        return ColumnUnit(said, say("intake.why.unit_said", unit=said), written=True)
    usual = _usual_unit(cells, rows)
    if usual in unit_factors(role):
        return ColumnUnit(usual, say("intake.why.unit_cells", unit=usual), written=True)
    unit = canonical_unit(role)
    return ColumnUnit(unit, say("intake.why.unit_none", unit=unit), written=False)


def unit_of_cell(cell: Cell, column: ColumnUnit, role: str) -> str:
    """The unit of one cell, '' where it names one that the quantity cannot have.

    "gr" under a header that says another unit is that unit if it is gram or grain.
    """
    unit = cell.unit or column.unit
    if unit == AMBIGUOUS:
        unit = column.unit if column.unit in ("g", "grain") else ""
    return unit if unit in unit_factors(role) else ""


def odd_unit(values: Floats, quantity: str, column: ColumnUnit) -> tuple[float, str] | None:
    """Median reading of coins and the unit it rather looks like, where no unit is written
    and the median is no coin's."""
    if column.written or quantity not in _SENSIBLE or len(values) == 0:
        return None
    low, high, other = _SENSIBLE[quantity]
    median = float(np.median(values))
    return None if low <= median <= high else (median, other)


def _usual_unit(cells: tuple[Cell, ...], rows: Ints) -> str:
    """The unit that at least half of the cells with a number name; '' where none does."""
    counts: dict[str, int] = {}
    for cell, count in zip(cells, rows, strict=True):
        if cell.state == "number":
            counts[cell.unit] = counts.get(cell.unit, 0) + int(count)
    unit, count = max(counts.items(), key=lambda pair: pair[1], default=("", 0))
    return unit if count * 2 >= sum(counts.values()) else ""


def _question(
    measure: Measure, cells: tuple[Cell, ...], rows: Ints, table: Table
) -> dict[str, object]:
    """Where the first "gr" stands."""
    column = measure.column
    found = next(
        (i for i, cell in enumerate(cells) if rows[i] and cell.unit == AMBIGUOUS),
        next((i for i, cell in enumerate(cells) if rows[i] and cell.state == "number"), 0),
    )
    row = int(np.argmax(column.codes == found)) if len(column) else 0
    return {
        "file": table.file,
        "sheet": table.sheet,
        "row": table.first_row + row,
        "column": column.header,
        "value": str(column.levels[found]) if len(column.levels) else "",
    }
