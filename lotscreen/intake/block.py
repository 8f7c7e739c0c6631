"""One table understood: its items, readings, rows left out and doubts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lotscreen.intake.checks import nominal_g
from lotscreen.intake.dates import CoinDate, calendar_date, coin_date
from lotscreen.intake.form_checks import form_doubts
from lotscreen.intake.grades import grades_of
from lotscreen.intake.grid import Column, is_calendar_day, text_levels
from lotscreen.intake.identity import Digests, digest_with, digest_with_numbers, start_digest
from lotscreen.intake.layout import Layout, layout_of
from lotscreen.intake.named import Named, named_columns, tidy
from lotscreen.intake.noted import Noted, cell_doubt, in_order, left_out_row
from lotscreen.intake.options import Answers
from lotscreen.intake.readings import (
    MeasureRead,
    odd_unit_doubt,
    read_measure,
    reading_fields,
    with_tare,
)
from lotscreen.intake.remarks import remarks
from lotscreen.intake.rows import RowSenses, counts_of, row_senses
from lotscreen.intake.table import Table
from lotscreen.intake.vocabulary import is_missing
from lotscreen.intake.whole_table import WholeTable
from lotscreen.records import (
    Bools,
    ColumnUnderstood,
    Floats,
    Ints,
    ItemKind,
    LeftOut,
    TableUnderstood,
    Texts,
)
from lotscreen.words import say

_OTHER_LOT = "other_lot"


@dataclass(frozen=True, slots=True)
class Block:
    """One table read. Arrays and columns have one entry an item, in sheet order;
    ``rows`` are the items' rows, from 0 in the table. ``readings`` are pairs of fields
    and, for each reading in them, the position of its item."""

    table: Table
    understood: TableUnderstood
    rows: Ints
    kind: Column
    count: Ints
    number: Column
    lot: Column
    type_text: Column
    date_text: Column
    year: Floats
    mint_mark: Column
    group: Column
    position: Floats
    grade: Column
    carried: list[dict[str, str]]
    digest: Digests
    readings: tuple[tuple[dict[str, Column | NDArray[Any]], Ints], ...]
    left_out: tuple[LeftOut, ...]
    noted: tuple[Noted, ...]


def read_table(table: Table, decimal_sign: str, answers: Answers) -> Block:
    """Understand one table; ``decimal_sign`` is the file's."""
    layout = layout_of(table)
    senses = row_senses(table, layout)
    named = named_columns(table, layout, senses, answers)
    senses = _one_lot_only(senses, named, answers)
    items = senses.is_item
    reads = [
        with_tare(read_measure(measure, items, decimal_sign, answers, table), decimal_sign)
        for measure in layout.measures
    ]
    nominal = nominal_g(layout, senses.kind == ItemKind.CHECK.value, decimal_sign)
    dates, mint_mark, date_noted = _dates(named.date_text, layout, items)
    noted = [
        *(note for note in named.noted if answers.lot is None or items[note.row]),
        *date_noted,
        *(note for read, _ in reads for note in (*read.noted, *odd_unit_doubt(read, senses.kind))),
        *_count_doubts(layout, items),
        *_check_doubts(senses.kind, nominal, named.number, table),
        *_across(table, layout, senses, named, [read for read, _ in reads], answers),
    ]
    coins = senses.kind == ItemKind.COIN.value
    grade, grade_remarks = grades_of(layout, coins)
    rows = np.flatnonzero(items)
    position_of = np.cumsum(items) - 1
    fields = [reading_fields(read, senses.kind, tare, nominal) for read, tare in reads]
    counts = counts_of(layout, len(items))[rows]
    return Block(
        table=table,
        understood=replace(
            _understood(table, layout, named, reads, decimal_sign, answers),
            notes=(
                *remarks(table, [read for read, _ in reads], fields, decimal_sign, coins),
                *grade_remarks,
            ),
        ),
        rows=rows,
        kind=_kind_column(senses.kind[rows]),
        count=np.where(np.isnan(counts), 1, counts).astype(np.int64),
        number=named.number.rows(rows),
        lot=named.lot.rows(rows),
        type_text=named.type_text.rows(rows),
        date_text=named.date_text.rows(rows),
        year=dates[rows],
        mint_mark=mint_mark.rows(rows),
        group=named.group.rows(rows),
        position=named.position[rows],
        grade=grade.rows(rows),
        carried=_carried(layout, named, [read for read, _ in reads], rows),
        digest=_digest(named, [read for read, _ in reads], layout)[rows],
        readings=tuple((found, position_of[at]) for found, at in fields),
        left_out=tuple(_left_out(table, senses, named, answers)),
        noted=tuple(in_order(noted, table)),
    )


def _kind_column(kind: Texts) -> Column:
    codes, levels = pd.factorize(kind)
    return Column("", tuple(levels), text_levels(levels.tolist()), codes.astype(np.int64))


def _across(
    table: Table,
    layout: Layout,
    senses: RowSenses,
    named: Named,
    reads: list[MeasureRead],
    answers: Answers,
) -> list[Noted]:
    """Doubts that show only when rows are looked at together; none where one lot of
    several was asked for, whose rows are not together."""
    if answers.lot is not None and (senses.reason == _OTHER_LOT).any():
        return []
    whole = WholeTable(table, layout, senses.kind, senses.reason, named, tuple(reads))
    return form_doubts(whole) if len(senses.kind) else []


def _one_lot_only(senses: RowSenses, named: Named, answers: Answers) -> RowSenses:
    """Where the user wants one lot, rows of others are left out."""
    if answers.lot is None:
        return senses
    wanted = answers.lot.strip()
    other = senses.is_item & (named.lot.texts != wanted)
    if not other.any():
        return senses
    reason, kind = senses.reason.copy(), senses.kind.copy()
    reason[other], kind[other] = _OTHER_LOT, ""
    return replace(senses, reason=reason, kind=kind)


def _dates(date: Column, layout: Layout, items: Bools) -> tuple[Floats, Column, list[Noted]]:
    """Year (NaN none) and mint mark a row, and the doubts about dates."""
    raw = layout.single.get("date", date)
    days = {str(t) for c, t in zip(raw.cells, raw.levels, strict=True) if is_calendar_day(c)}
    senses: list[CoinDate] = [
        calendar_date(str(text)) if text in days else coin_date(str(text)) for text in date.levels
    ]
    years = np.array([np.nan if s.year is None else float(s.year) for s in senses])
    marks = [sense.mint_mark for sense in senses]
    mark = Column("", tuple(marks), text_levels(marks), date.codes)
    if "mint_mark" in layout.single:
        own = layout.single["mint_mark"].changed(tidy)
        here = own.filled() & items
        mark = mark.with_text(here, [str(text) for text in own.texts[here]])
    odd = np.array([bool(sense.doubt) for sense in senses], dtype=bool)[date.codes] & items
    noted = [
        cell_doubt(s.doubt, int(row), raw.header, str(date.texts[row]), s.proposal)
        for row in np.flatnonzero(odd)
        for s in (senses[date.codes[row]],)
    ]
    return years[date.codes], mark, noted


def _count_doubts(layout: Layout, items: Bools) -> Iterable[Noted]:
    column = layout.single.get("count")
    if column is None:
        return
    odd = items & np.isnan(counts_of(layout, len(items))) & ~column.where(is_missing)
    for row in np.flatnonzero(odd):
        yield cell_doubt("count", int(row), column.header, str(column.texts[row]))


def _check_doubts(kind: Texts, nominal: Floats, number: Column, table: Table) -> Iterable[Noted]:
    for row in np.flatnonzero((kind == ItemKind.CHECK.value) & np.isnan(nominal)):
        header = number.header or table.columns[0].header
        yield cell_doubt("check_nominal", int(row), header, str(number.texts[row]))


def _carried(
    layout: Layout, named: Named, reads: list[MeasureRead], rows: Ints
) -> list[dict[str, str]]:
    """Everything found and not used, by header: columns not understood, cells without a
    reading, a type that the user overruled or that says "reference piece" besides; also a
    column of grades, whose words say more than the scale they are read in."""
    found: list[dict[str, str]] = [{} for _ in range(len(rows))]
    graded = [layout.single["grade"]] if "grade" in layout.single else []
    parts = [(column, column.filled()) for column in (*layout.carried, *graded)]
    parts += [(read.measure.column, read.kept_verbatim()) for read in reads]
    if "type" in layout.single:
        parts.append((layout.single["type"], named.reworded & named.type_written.filled()))
    for column, mask in parts:
        texts = column.texts
        places = np.flatnonzero(mask[rows])
        for place, text in zip(places.tolist(), texts[rows[places]].tolist(), strict=True):
            found[place][column.header] = text
    return found


def _digest(named: Named, reads: list[MeasureRead], layout: Layout) -> Digests:
    """What the row says, in an order that does not depend on the sheet's columns."""
    digest = start_digest(len(named.number))
    for name, column in (
        ("lot", named.lot_written),
        ("number", named.number),
        ("type", named.type_written),
        ("date", named.date_text),
        ("group", named.group),
    ):
        digest = digest_with(digest, name, column)
    if "position" in layout.single or named.numbers_are_places:
        digest = digest_with_numbers(digest, "position", named.position)
    if "count" in layout.single:
        digest = digest_with(digest, "count", layout.single["count"])
    for read in sorted(reads, key=lambda r: (r.measure.quantity, r.measure.repeat)):
        name = f"{read.measure.quantity} {read.measure.repeat}"
        digest = digest_with_numbers(digest, name, read.written)
        unread = read.kept_verbatim()
        words = read.measure.column.with_text(~unread, [""] * int((~unread).sum()))
        digest = digest_with(digest, name, words) if unread.any() else digest
    return digest


def _left_out(table: Table, senses: RowSenses, named: Named, answers: Answers) -> Iterable[LeftOut]:
    for row in np.flatnonzero(~senses.is_item):
        key = str(senses.reason[row])
        if key == "section" and int(row) not in named.of_use:
            key = "section_unused"
        texts = (str(c.levels[c.codes[row]]).strip() for c in table.columns)
        # A report on one lot must hold nothing of another consignor's.
        raw = " | ".join(filter(None, texts)) if answers.lot is None else ""
        yield left_out_row(table, int(row), say(f"intake.reason.{key}"), raw)


def _understood(
    table: Table,
    layout: Layout,
    named: Named,
    reads: list[tuple[MeasureRead, Floats]],
    decimal_sign: str,
    answers: Answers,
) -> TableUnderstood:
    units: Mapping[str, MeasureRead] = {read.measure.column.header: read for read, _ in reads}
    columns = []
    for header, role, why in layout.whys:
        read = units.get(header)
        unit = read.unit.unit if read is not None else ""
        if read is not None:
            why = f"{why}; {read.unit.why}"
        if role == "coin_id" and named.numbers_are_places:
            role, why = "position", say("intake.why.begins_again")
        columns.append(ColumnUnderstood(header, role, unit, why))
    return TableUnderstood(
        source_file=table.file,
        sheet=table.sheet,
        header_row=table.header_row,
        first_row=table.first_row,
        last_row=table.last_row,
        decimal_sign=decimal_sign,
        columns=tuple(columns),
        title=table.title if answers.lot is None else "",
    )
