"""The readings of one table: columns of numbers with unit, step, person and doubts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lotscreen.intake.cells import Cell, number_cell, text_cell
from lotscreen.intake.grid import Column, constant_column, text_levels
from lotscreen.intake.headers import AMBIGUOUS, unit_factors
from lotscreen.intake.layout import Measure
from lotscreen.intake.noted import Noted, block_doubt, cell_doubt
from lotscreen.intake.options import Answers
from lotscreen.intake.steps import steps_in_order
from lotscreen.intake.table import Table
from lotscreen.intake.units import ColumnUnit, odd_unit, unit_of_cell, unit_of_column
from lotscreen.records import Bools, Floats, Ints, ItemKind, ReadingStatus, Texts
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class MeasureRead:
    """One column of readings read. Arrays have one entry a row of the table; ``value`` is
    NaN where there is no reading. ``why`` says of a reading in doubt what is odd."""

    measure: Measure
    unit: ColumnUnit
    value: Floats
    written: Floats
    decimals: Ints
    units: Column
    why: Column
    noted: tuple[Noted, ...]

    def kept_verbatim(self) -> Bools:
        """Rows whose cell is filled but gave no reading: the raw text is carried."""
        found: Bools = np.isnan(self.value) & self.measure.column.filled()
        return found


def cells_of(column: Column, decimal_sign: str) -> tuple[Cell, ...]:
    """Every level of a column of numbers understood."""
    return tuple(
        number_cell(float(cell), str(text))
        if isinstance(cell, int | float)
        else text_cell(str(text), decimal_sign)
        for cell, text in zip(column.cells, column.levels, strict=True)
    )


def read_measure(
    measure: Measure, items: Bools, decimal_sign: str, answers: Answers, table: Table
) -> MeasureRead:
    """Read one column; ``items`` masks the rows that are items."""
    column, role = measure.column, measure.sense.role
    cells = cells_of(column, decimal_sign)
    rows = np.bincount(column.codes[items], minlength=len(cells))
    unit = unit_of_column(measure, cells, rows, answers, table)
    units = [unit_of_cell(cell, unit, role) for cell in cells]
    factors = np.array([unit_factors(role).get(u, np.nan) for u in units])
    written = np.array([cell.value for cell in cells])
    doubts = [_doubt_of_cell(c, u, unit) for c, u in zip(cells, units, strict=True)]
    value = np.where(items, (written * factors)[column.codes], np.nan)
    return MeasureRead(
        measure=measure,
        unit=unit,
        value=value,
        written=written[column.codes],
        decimals=np.array([cell.decimals for cell in cells], dtype=np.int64)[column.codes],
        units=Column(column.header, tuple(units), text_levels(units), column.codes),
        why=_whys(column, doubts),
        noted=tuple(_noted(column, cells, doubts, items)),
    )


def _doubt_of_cell(cell: Cell, unit: str, column: ColumnUnit) -> str:
    if cell.state == "number" and not unit:
        return "wrong_unit"
    if cell.unit == AMBIGUOUS and column.in_header:
        return "gr_in_cell"
    if cell.state == "number" and not cell.doubt and cell.unit not in ("", column.unit):
        return "unit_differs" if column.written or unit != column.unit else ""
    return cell.doubt


def _whys(column: Column, doubts: list[str]) -> Column:
    """The words of the doubt of each level; a unit written in the cell casts none."""
    texts = [
        say(f"intake.doubt.{key}.why") if key and key != "unit_differs" else "" for key in doubts
    ]
    return Column(column.header, tuple(texts), text_levels(texts), column.codes)


def _noted(column: Column, cells: tuple[Cell, ...], doubts: list[str], items: Bools) -> list[Noted]:
    odd = np.array([bool(key) for key in doubts], dtype=bool)
    found = []
    for row in np.flatnonzero(odd[column.codes] & items):
        code = column.codes[row]
        raw, proposal = str(column.levels[code]), cells[code].proposal
        found.append(cell_doubt(doubts[code], int(row), column.header, raw, proposal))
    return found


def with_tare(read: MeasureRead, decimal_sign: str) -> tuple[MeasureRead, Floats]:
    """Grams of the holder a row (NaN none), taken off where the column is a gross weight."""
    column = read.measure.scoped.get("tare")
    tare = np.full(len(read.value), np.nan)
    if column is not None:
        cells = cells_of(column, decimal_sign)
        factors = unit_factors("tare")
        grams = np.array([c.value * factors.get(c.unit or "g", np.nan) for c in cells])
        tare = grams[column.codes]
    if read.measure.sense.role != "weight_gross":
        return read, tare
    without = np.isnan(tare) & ~np.isnan(read.value)
    net = np.where(np.isnan(tare), read.value, read.value - tare)
    key = "gross_no_tare"
    noted = tuple(
        cell_doubt(key, int(row), read.measure.column.header, str(read.measure.column.texts[row]))
        for row in np.flatnonzero(without)
    )
    why = read.why.with_text(without, [say(f"intake.doubt.{key}.why")] * int(without.sum()))
    return (
        MeasureRead(
            read.measure, read.unit, net, read.written, read.decimals, read.units, why,
            (*read.noted, *noted),
        ),
        tare,
    )  # fmt: skip


def odd_unit_doubt(read: MeasureRead, kind: Texts) -> tuple[Noted, ...]:
    """A doubt about the whole column where its readings are no coin's in that unit."""
    quantity, column = read.measure.quantity, read.measure.column
    coins = (kind == ItemKind.COIN.value) & np.isfinite(read.value)
    odd = odd_unit(read.value[coins], quantity, read.unit)
    if odd is None:
        return ()
    median, other = odd
    factors = unit_factors(read.measure.sense.role)
    return (
        block_doubt(
            "unit_odd",
            int(np.argmax(coins)),
            column.header,
            str(column.texts[int(np.argmax(coins))]),
            proposal=other,
            median=f"{median:.4g}",
            unit=read.unit.unit,
            other=other,
            converted=f"{median * factors[other]:.4g}",
            canonical=next(u for u, f in factors.items() if f == 1.0),
        ),
    )


def steps_of(read: MeasureRead, kind: Texts, instrument: Column) -> Floats:
    """The step a row, canonical unit: estimated by unit, instrument and kind of load, and
    where the rounding changes part-way by stretch."""
    heavy = (kind == ItemKind.GROUP.value) | (kind == ItemKind.BAG.value)
    factors = unit_factors(read.measure.sense.role)
    units = sorted(set(read.units.levels))
    place = np.array([units.index(u) for u in read.units.levels], dtype=np.int64)
    block = place[read.units.codes] * 2 + heavy
    block = block * len(instrument.levels) + instrument.codes
    steps = np.full(len(kind), np.nan)
    here = np.isfinite(read.value)
    for one in np.flatnonzero(np.bincount(block[here])):
        rows = here & (block == one)
        unit = str(read.units.levels[read.units.codes[int(np.argmax(rows))]])
        step = steps_in_order(read.written[rows], read.decimals[rows])
        steps[rows] = step * factors[unit]
    return steps


def reading_fields(
    read: MeasureRead, kind: Texts, tare: Floats, nominal: Floats
) -> tuple[dict[str, Column | NDArray[Any]], Ints]:
    """The fields of ``Reading`` but ``item_id`` and ``order``, one entry a reading of this
    column, and the row of the table that each is from."""
    scoped, column = read.measure.scoped, read.measure.column
    nothing = constant_column("", "", len(kind))
    instrument = scoped.get("instrument", nothing)
    rows = np.flatnonzero(np.isfinite(read.value))
    why = read.why.rows(rows)
    person = scoped.get("person", constant_column("", read.measure.sense.person, len(kind)))
    empty = np.full(len(rows), np.nan)
    is_weight = read.measure.quantity == "weight"
    is_check = kind[rows] == ItemKind.CHECK.value
    return {
        "quantity": constant_column("", read.measure.quantity, len(rows)),
        "value": read.value[rows],
        "unit": read.units.rows(rows),
        "raw": column.rows(rows),
        "column": constant_column("", column.header, len(rows)),
        "step": steps_of(read, kind, instrument)[rows],
        "instrument": instrument.rows(rows).changed(str.strip),
        "person": person.rows(rows).changed(str.strip),
        "time": scoped.get("time", nothing).rows(rows).changed(str.strip),
        "tare": tare[rows] if is_weight else empty,
        "repeat": np.full(len(rows), read.measure.repeat, dtype=np.int64),
        "low": empty,
        "high": empty,
        "nominal": np.where(is_check, nominal[rows], np.nan) if is_weight else empty,
        "status": why.changed(
            lambda text: (ReadingStatus.IN_DOUBT if text else ReadingStatus.USED).value
        ),
        "why": why,
    }, rows
