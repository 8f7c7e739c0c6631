"""Rows that add up or average others, checked against what they add up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from lotscreen.intake.grid import plain_words
from lotscreen.intake.noted import Noted, block_doubt
from lotscreen.intake.rows import counts_of
from lotscreen.intake.vocabulary import starts_with
from lotscreen.intake.whole_table import WholeTable
from lotscreen.records import Bools, Floats, ItemKind


@dataclass(frozen=True, slots=True)
class _Summed:
    """A column that totals may stand in: its numbers a row, how far rounding may carry
    one of them (half its last digit), and whether it holds counts."""

    header: str
    texts: np.ndarray
    numbers: Floats
    half_digit: Floats


def totals_that_differ(whole: WholeTable) -> Iterator[Noted]:
    """One doubt a total or average that agrees neither with the rows since the one before
    it nor with all rows above it (all coins, or all but the check weights)."""
    rows = np.flatnonzero(whole.reason == "total")
    if not len(rows):
        return
    things = np.isin(whole.kind, [ItemKind.COIN, ItemKind.GROUP, ItemKind.BAG])
    for column in (*_measured(whole), *_counted(whole)):
        above = 0
        for row in rows.tolist():
            if np.isfinite(column.numbers[row]):
                noted = _checked(whole, column, things, above, row)
                yield from noted
                above = row + 1


def _measured(whole: WholeTable) -> Iterator[_Summed]:
    for read in whole.reads:
        column = read.measure.column
        stored = np.array([not isinstance(cell, str) for cell in column.cells], dtype=np.bool_)
        digits = np.maximum(read.decimals, 0)
        # A number stored as such is shown without its last zeros.
        digits = np.where(stored[column.codes], digits.max(initial=0), digits)
        yield _Summed(
            column.header, column.texts, read.written, 0.5 * 10.0 ** -digits.astype(np.float64)
        )


def _counted(whole: WholeTable) -> Iterator[_Summed]:
    column = whole.layout.single.get("count")
    if column is not None:
        counts = counts_of(whole.layout, len(column))
        yield _Summed(column.header, column.texts, counts, np.zeros(len(counts)))


def _checked(
    whole: WholeTable, column: _Summed, things: Bools, above: int, row: int
) -> Iterator[Noted]:
    """A doubt where no reading of the total fits."""
    said = float(column.numbers[row])
    is_mean = _is_mean(whole, row)
    found = []
    for start in dict.fromkeys((above, 0)):
        for kinds in (things, things & whole.coins):
            rows = np.flatnonzero(kinds[start:row] & np.isfinite(column.numbers[start:row])) + start
            if len(rows):
                found.append((_summed(column, rows, is_mean), rows))
    if not found:
        return
    slack = float(column.half_digit[row]) * (1 + 1e-6) + 1e-9
    if any(abs(value - said) <= slack for value, _ in found):
        return
    value, rows = min(found, key=lambda pair: abs(pair[0] - said))
    step = 2 * float(min(column.half_digit[row], column.half_digit[rows].min()))
    digits = max(0, round(-np.log10(step))) if step else 0
    yield block_doubt(
        "mean_differs" if is_mean else "total_differs", row, column.header,
        str(column.texts[row]).strip(), proposal=f"{value:.{digits}f}", count=len(rows),
        first=whole.sheet_row(int(rows[0])), last=whole.sheet_row(int(rows[-1])),
    )  # fmt: skip


def _summed(column: _Summed, rows: np.ndarray, is_mean: bool) -> float:
    numbers = column.numbers[rows]
    return float(numbers.mean() if is_mean else numbers.sum())


def _is_mean(whole: WholeTable, row: int) -> bool:
    pattern = starts_with("mean")
    texts = (str(c.levels[c.codes[row]]) for c in whole.table.columns)
    return any(pattern.match(plain_words(text)) for text in texts)
