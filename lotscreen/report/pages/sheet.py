"""How the sheet was understood: columns, cells in doubt, rows left out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import pandas as pd

from lotscreen.records import ColumnUnderstood, Doubt, Intake, TableUnderstood
from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table
from lotscreen.report.numerals import MISSING, counted, whole
from lotscreen.report.pages.type_words import type_words
from lotscreen.report.printable import shortened
from lotscreen.report.view import ReportView
from lotscreen.words import phrase, say, table

MOST_SHOWN = 20
_CELL = 40


def build(view: ReportView) -> list[Block]:
    """Counts by reason first, then the first ``MOST_SHOWN`` of each list."""
    intake = view.screening.intake
    return [
        Heading(phrase("report.sheet.heading"), level=1, new_page=True),
        Paragraph(_rows(intake)),
        *_understood(intake.tables),
        *type_words(view.screening.table),
        *_instruments(intake.readings),
        *_doubts(intake.doubts),
        *_left_out(intake.left_out),
    ]


def _rows(intake: Intake) -> str:
    return say(
        "report.sheet.rows", rows=counted(intake.rows_read, "row"),
        used=whole(len(intake.items)), left_out=whole(len(intake.left_out)),
    )  # fmt: skip


def _understood(tables: Sequence[TableUnderstood]) -> list[Block]:
    blocks: list[Block] = [Heading(phrase("report.sheet.columns"))]
    for found in tables[:MOST_SHOWN]:
        text = say(
            "report.sheet.table", file=found.source_file, sheet=found.sheet,
            first=found.first_row, last=found.last_row, header=found.header_row,
            decimal=found.decimal_sign,
        )  # fmt: skip
        columns = "; ".join(_column(column) for column in found.columns)
        blocks.append(Paragraph(f"{text} {columns}."))
    return blocks


def _column(column: ColumnUnderstood) -> str:
    header = shortened(column.header, _CELL)
    if not column.role:
        return say("report.sheet.carried", header=header)
    unit = f" ({column.unit})" if column.unit else ""
    return say("report.sheet.column", header=header, role=column.role.replace("_", " "), unit=unit)


def _instruments(readings: pd.DataFrame) -> list[Block]:
    """What was read with what, how finely, how often and by whom."""
    if readings.empty:
        return []
    heads = table("report_columns")["instruments"]
    columns = (
        Column(heads[0]), Column(heads[1], share=1), Column(heads[2], "right"),
        Column(heads[3], "right"), Column(heads[4], share=1),
    )  # fmt: skip
    rows = tuple(
        (
            quantity.replace("_", " "),
            shortened(instrument, _CELL) or phrase("report.sheet.unnamed_instrument"),
            f"{step:.4g}" if math.isfinite(step) else phrase("report.sheet.no_step"),
            whole(len(of_one)),
            _people(of_one["person"]),
        )
        for (quantity, instrument, step), of_one in _by_instrument(readings)
    )
    return [
        Heading(phrase("report.sheet.instruments")),
        Table(columns, rows[:MOST_SHOWN], phrase("report.sheet.instruments_summary"), small=True),
        *_first_of(len(rows)),
    ]


def _by_instrument(
    readings: pd.DataFrame,
) -> Iterator[tuple[tuple[str, str, float], pd.DataFrame]]:
    keys = ["quantity", "instrument", "step"]
    for (quantity, instrument, step), of_one in readings.groupby(keys, sort=False, dropna=False):
        yield (str(quantity), str(instrument), float(str(step))), of_one


def _people(codes: pd.Series) -> str:
    known = list(dict.fromkeys(str(code) for code in codes if code))
    return shortened(", ".join(known), 2 * _CELL) or MISSING


def _doubts(doubts: Sequence[Doubt]) -> list[Block]:
    blocks: list[Block] = [Heading(phrase("report.sheet.doubts"))]
    if not doubts:
        return [*blocks, Paragraph(phrase("report.sheet.no_doubts"))]
    kinds = pd.Series([doubt.kind for doubt in doubts]).value_counts(sort=False)
    blocks.append(Paragraph(_tally(kinds)))
    heads = table("report_columns")["doubts"]
    shares = (0, 0, 0, 1, 0, 2)
    columns = tuple(Column(head, share=share) for head, share in zip(heads, shares, strict=True))
    rows = tuple(
        (
            shortened(doubt.sheet, 16), str(doubt.row), shortened(doubt.column, 16),
            shortened(doubt.raw, _CELL), shortened(doubt.proposal, 24), doubt.why,
        )
        for doubt in sorted(doubts, key=lambda doubt: kinds[doubt.kind])[:MOST_SHOWN]
    )  # fmt: skip
    blocks.append(Table(columns, rows, phrase("report.sheet.doubts_summary"), small=True))
    return blocks + _first_of(len(doubts))


def _left_out(left_out: pd.DataFrame) -> list[Block]:
    blocks: list[Block] = [Heading(phrase("report.sheet.left_out"))]
    if left_out.empty:
        return [*blocks, Paragraph(phrase("report.sheet.none_left_out"))]
    blocks.append(Paragraph(_tally(left_out["reason"].value_counts(sort=False))))
    heads = table("report_columns")["left_out"]
    columns = tuple(
        Column(head, share=share) for head, share in zip(heads, (0, 0, 1, 1), strict=True)
    )
    rows = tuple(
        (shortened(str(row.sheet), 24), str(row.row), str(row.reason), shortened(str(row.raw), 80))
        for row in left_out.head(MOST_SHOWN).itertuples()
    )
    blocks.append(Table(columns, rows, phrase("report.sheet.left_out_summary"), small=True))
    return blocks + _first_of(len(left_out))


def _tally(counts: pd.Series) -> str:
    """'12 decimal slip; 3 swapped digits', the commonest first."""
    ordered = counts.sort_values(ascending=False, kind="stable")
    return "; ".join(f"{whole(number)} × {reason}" for reason, number in ordered.items()) + "."


def _first_of(number: int) -> list[Block]:
    if number <= MOST_SHOWN:
        return []
    return [
        Paragraph(say("report.sheet.first_of", shown=whole(MOST_SHOWN), n=whole(number)), "note")
    ]
