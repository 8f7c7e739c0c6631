"""What a spreadsheet program does besides: hides rows and columns, merges cells."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lotscreen.intake.grid import column_letters
from lotscreen.intake.noted import Noted, block_doubt
from lotscreen.intake.whole_table import WholeTable
from lotscreen.words import say

_MOST_RUNS_SAID = 6


def hidden_rows(whole: WholeTable) -> Iterator[Noted]:
    """A doubt where rows of the table are hidden: they are read like the others."""
    marks, table = whole.table.marks, whole.table
    inside = [r for r in sorted(marks.hidden_rows) if table.first_row <= r + 1 <= table.last_row]
    header = table.columns[0].header
    if inside:
        rows = runs_said([row + 1 for row in inside])
        key = "rows_filtered" if marks.filtered else "rows_hidden"
        yield block_doubt(
            key, inside[0] + 1 - table.first_row, header, "", count=len(inside), rows=rows
        )
    elif marks.hidden_count:
        yield block_doubt("rows_hidden_somewhere", 0, header, "", count=marks.hidden_count)


def hidden_columns(whole: WholeTable) -> Iterator[Noted]:
    """A doubt a hidden column of the table."""
    for column, place in zip(whole.table.columns, whole.table.places, strict=False):
        if place in whole.table.marks.hidden_columns:
            yield block_doubt("column_hidden", 0, column.header, "", letters=column_letters(place))


def merged_readings(whole: WholeTable) -> Iterator[Noted]:
    """A doubt where a reading stands in cells merged over several rows."""
    for read in whole.reads:
        column = read.measure.column
        for first, last in whole.table.merged_rows(column):
            if whole.coins[first : last + 1].sum() > 1:
                rows = say(
                    "intake.rows.several", first=whole.sheet_row(first), last=whole.sheet_row(last)
                )
                text = str(column.texts[first])
                yield block_doubt("merged_reading", first, column.header, text, rows=rows)


def runs_said(numbers: Sequence[int]) -> str:
    """Ascending numbers as '5, 8-12, 14'; the first few runs of many."""
    runs: list[tuple[int, int]] = []
    for number in numbers:
        if runs and runs[-1][1] == number - 1:
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    said = [str(a) if a == b else f"{a}-{b}" for a, b in runs[:_MOST_RUNS_SAID]]
    return ", ".join(said) + (" ..." if len(runs) > _MOST_RUNS_SAID else "")
