"""What is said of a table besides its doubts: facts that ask nothing of anybody."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lotscreen.intake.cells import decimal_sign_of
from lotscreen.intake.grid import Column, SheetMarks
from lotscreen.intake.readings import MeasureRead
from lotscreen.intake.table import Table
from lotscreen.records import Bools, Floats, Ints
from lotscreen.words import say

_MOST_STRETCHES_SAID = 4

Fields = Mapping[str, Column | NDArray[Any]]


def remarks(
    table: Table,
    reads: Sequence[MeasureRead],
    fields: Sequence[tuple[Fields, Ints]],
    decimal_sign: str,
    coins: Bools,
) -> Iterator[str]:
    """Sentences about decimal signs written both ways, rounding of single coins (rows of
    ``coins``) that changes part-way, formulas and macros. ``fields`` are the readings of
    each of ``reads`` and their rows."""
    yield from _decimal_signs(reads, decimal_sign)
    for read, (found, rows) in zip(reads, fields, strict=True):
        steps = found["step"]
        of_coins = coins[rows]
        if isinstance(steps, np.ndarray) and of_coins.any():
            yield from _rounding(table, read, steps[of_coins], rows[of_coins])
    yield from _of_marks(table.marks)


def _decimal_signs(reads: Sequence[MeasureRead], sign: str) -> Iterator[str]:
    texts = (
        str(text)
        for read in reads
        for cell, text, count in zip(
            read.measure.column.cells, read.measure.column.levels, _rows_of(read), strict=True
        )
        if isinstance(cell, str)
        for _ in range(int(count))
    )
    _, points, commas = decimal_sign_of(texts)
    if points and commas:
        yield say("intake.remark.decimal_signs", points=points, commas=commas, sign=sign)


def _rows_of(read: MeasureRead) -> Ints:
    column = read.measure.column
    return np.bincount(column.codes, minlength=len(column.levels))


def _rounding(table: Table, read: MeasureRead, steps: Floats, rows: Ints) -> Iterator[str]:
    """Where the step changes within one unit; several units have steps of their own."""
    changes = np.flatnonzero(np.diff(steps) != 0)
    units = read.units.texts[rows]
    changes = changes[units[changes] == units[changes + 1]]
    if not 0 < len(changes) <= 2 * _MOST_STRETCHES_SAID:
        return
    starts = [0, *(changes + 1).tolist()]
    ends = [*changes.tolist(), len(rows) - 1]
    stretches = "; ".join(
        say(
            "intake.remark.stretch",
            first=table.first_row + int(rows[a]),
            last=table.first_row + int(rows[b]),
            step=f"{steps[a]:.4g}",
        )
        for a, b in zip(starts, ends, strict=True)
    )
    yield say("intake.remark.rounding", column=read.measure.column.header, stretches=stretches)


def _of_marks(marks: SheetMarks) -> Iterator[str]:
    if marks.formulas:
        yield say("intake.remark.formulas", count=marks.formulas)
    if marks.macros:
        yield say("intake.remark.macros")
