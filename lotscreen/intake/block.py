"""One table understood: its items, readings, rows left out and doubts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from lotscreen.intake.checks import nominal_g
from lotscreen.intake.dates import CoinDate, calendar_date, coin_date
from lotscreen.intake.filling import Filled, filled_down, under_sections
from lotscreen.intake.grid import Column, constant_column, is_calendar_day, text_levels
from lotscreen.intake.identity import Digests, digest_with, start_digest
from lotscreen.intake.layout import Layout, layout_of
from lotscreen.intake.noted import Noted, block_doubt, cell_doubt, left_out_row
from lotscreen.intake.options import Answers
from lotscreen.intake.readings import (
    MeasureRead,
    odd_unit_doubt,
    read_measure,
    readings_frame,
    with_tare,
)
from lotscreen.intake.rows import RowSenses, counts_of, row_senses
from lotscreen.intake.table import Table
from lotscreen.intake.vocabulary import is_ditto, is_missing
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
    ``rows`` are the items' rows, from 0 in the table. ``readings`` are pairs of a frame
    and, for each of its rows, the position of the item."""

    table: Table
    understood: TableUnderstood
    rows: Ints
    kind: Texts
    count: Ints
    number: Column
    lot: Column
    type_text: Column
    date_text: Column
    year: Floats
    mint_mark: Column
    group: Column
    position: Floats
    carried: list[dict[str, str]]
    digest: Digests
    readings: tuple[tuple[pd.DataFrame, Ints], ...]
    left_out: tuple[LeftOut, ...]
    noted: tuple[Noted, ...]


@dataclass(frozen=True, slots=True)
class _Named:
    """The columns that name things, one entry a row of the table, filled down."""

    type_written: Column
    type_text: Column
    date_text: Column
    lot_written: Column
    lot: Column
    group: Column
    number: Column
    position: Floats
    overruled: Bools
    noted: tuple[Noted, ...]
    of_use: frozenset[int]


def read_table(table: Table, decimal_sign: str, answers: Answers) -> Block:
    """Understand one table; ``decimal_sign`` is the file's."""
    layout = layout_of(table)
    senses = row_senses(table, layout)
    named = _named(table, layout, senses, answers)
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
        *(note for read, _ in reads for note in read.noted),
        *(note for read, _ in reads for note in odd_unit_doubt(read, senses.kind)),
        *_count_doubts(layout, items),
        *_check_doubts(senses.kind, nominal, named.number, table),
    ]
    rows = np.flatnonzero(items)
    position_of = np.cumsum(items) - 1
    frames = [readings_frame(read, senses.kind, tare, nominal) for read, tare in reads]
    counts = counts_of(layout, len(items))[rows]
    return Block(
        table=table,
        understood=_understood(table, layout, [read for read, _ in reads], decimal_sign, answers),
        rows=rows,
        kind=senses.kind[rows],
        count=np.where(np.isnan(counts), 1, counts).astype(np.int64),
        number=named.number.rows(rows),
        lot=named.lot.rows(rows),
        type_text=named.type_text.rows(rows),
        date_text=named.date_text.rows(rows),
        year=dates[rows],
        mint_mark=mint_mark.rows(rows),
        group=named.group.rows(rows),
        position=named.position[rows],
        carried=_carried(layout, named, [read for read, _ in reads], rows),
        digest=_digest(named, [read for read, _ in reads], layout)[rows],
        readings=tuple((frame, position_of[at]) for frame, at in frames),
        left_out=tuple(_left_out(table, senses, named, answers)),
        noted=tuple(sorted(noted, key=lambda note: note.row)),
    )


def _named(table: Table, layout: Layout, senses: RowSenses, answers: Answers) -> _Named:
    items = senses.is_item
    size = len(items)
    blank = constant_column("", "", size)
    noted: list[Noted] = []
    of_use: set[int] = set()

    def settled(column: Column, role: str) -> Column:
        sections = tuple(s for s in senses.sections if s.role == role)
        column, used = under_sections(column, sections, items)
        of_use.update(used)
        own_lines = {s.row for s in sections if column.texts[s.row] == s.text}
        usable = items | np.isin(np.arange(size), list(own_lines))
        if role == "group":
            usable = usable | (senses.reason == "note")
        filled = filled_down(column, usable, blanks_too=role != "date" and not sections)
        noted.extend(_filling_doubts(filled, table, items))
        return filled.column

    type_written = settled(layout.single.get("type", blank), "type").changed(_tidy)
    lot_written = settled(layout.single.get("lot", blank), "lot").changed(_tidy)
    groups = [settled(column, "group") for column in layout.groups] or [settled(blank, "group")]
    group = _joined([column.changed(_tidy) for column in groups])
    number, position = _number_and_position(layout, group, senses)
    type_text, overruled = _type_text(type_written, table, items, answers)
    has_lots = bool((items & lot_written.where(str.strip)).any())
    lot = lot_written if has_lots else constant_column("", answers.lot or "", size)
    return _Named(
        type_written=type_written,
        type_text=type_text,
        date_text=settled(layout.single.get("date", blank), "date").changed(str.strip),
        lot_written=lot_written,
        lot=lot,
        group=group,
        number=number,
        position=position,
        overruled=overruled,
        noted=tuple(noted),
        of_use=frozenset(of_use),
    )


def _tidy(text: str) -> str:
    """Single spaces; '' where the cell says that there is nothing."""
    return "" if is_missing(text) else " ".join(text.split())


def _filling_doubts(filled: Filled, table: Table, items: Bools) -> Iterable[Noted]:
    column = filled.column
    for key, runs in (("ditto", filled.runs), ("blank_filled", filled.blank_runs)):
        for first, last, origin in runs:
            if items[first : last + 1].any():
                yield block_doubt(
                    key,
                    first,
                    column.header,
                    "",
                    first=table.first_row + first,
                    last=table.first_row + last,
                    text=str(column.texts[first]),
                    origin=table.first_row + origin,
                )
    for row in np.flatnonzero(filled.hanging & items):
        yield cell_doubt("ditto_hanging", int(row), column.header, str(column.texts[row]))


def _joined(columns: list[Column]) -> Column:
    """Several columns of groups (bag, roll) as one text, ' / ' between."""
    if len(columns) == 1:
        return columns[0]
    texts = [" / ".join(filter(None, row)) for row in zip(*(c.texts for c in columns), strict=True)]
    codes, levels = pd.factorize(text_levels(texts))
    return Column("", tuple(levels), text_levels(list(levels)), codes.astype(np.int64))


def _number_and_position(layout: Layout, group: Column, senses: RowSenses) -> tuple[Column, Floats]:
    """The coin's number as written, and its place in the roll: as written, else counted.

    Numbers that begin again in every roll are places, not the coins' numbers.
    """
    coins = senses.kind == ItemKind.COIN.value
    number = layout.single.get("coin_id", constant_column("", "", len(coins)))
    number = number.changed(lambda text: "" if is_missing(text) or is_ditto(text) else text.strip())
    grouped = coins & group.where(str.strip)
    if "position" in layout.single:
        return number, layout.single["position"].number(_as_number)
    if _begins_again(number, group, grouped):
        position = np.where(grouped, number.number(_as_number), np.nan)
        return number.with_text(grouped, [""] * int(grouped.sum())), position
    position = np.full(len(coins), np.nan)
    rows = np.flatnonzero(grouped)
    if len(rows):
        position[rows] = pd.Series(rows).groupby(group.codes[rows]).cumcount().to_numpy() + 1.0
    return number, position


def _begins_again(number: Column, group: Column, grouped: Bools) -> bool:
    rows = np.flatnonzero(grouped & np.isfinite(number.number(_as_number)))
    if len(rows) < 4 or len(rows) != grouped.sum():
        return False
    pairs = pd.DataFrame({"group": group.codes[rows], "number": number.codes[rows]})
    different = pairs["number"].nunique()
    return bool(different * 1.5 <= len(rows) and not pairs.duplicated().any())


def _as_number(text: str) -> float:
    return float(text) if text.strip().isdecimal() else float("nan")


def _type_text(
    written: Column, table: Table, items: Bools, answers: Answers
) -> tuple[Column, Bools]:
    """The type a row: as written, else the default; rows that the user overruled."""
    without = items & ~written.where(str.strip)
    found = written.with_text(without, [answers.default_type] * int(without.sum()))
    overruled = np.zeros(len(items), dtype=bool)
    sheet_rows = np.arange(len(items)) + table.first_row
    for entry in answers.type_rows:
        if entry.sheet not in ("", table.sheet):
            continue
        mask = np.zeros(len(items), dtype=bool)
        for first, last in entry.ranges:
            mask |= (sheet_rows >= first) & (sheet_rows <= last) & items
        found = found.with_text(mask, [entry.type_text] * int(mask.sum()))
        overruled |= mask
    return found, overruled


def _one_lot_only(senses: RowSenses, named: _Named, answers: Answers) -> RowSenses:
    """Where the user wants one lot, rows of others are left out."""
    if answers.lot is None:
        return senses
    wanted = answers.lot.strip()
    other = senses.is_item & named.lot.where(lambda text: text != wanted)
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
        own = layout.single["mint_mark"].changed(_tidy)
        here = own.where(str.strip) & items
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
    layout: Layout, named: _Named, reads: list[MeasureRead], rows: Ints
) -> list[dict[str, str]]:
    """Everything found and not used, by header: columns not understood, cells without a
    reading, a type that the user overruled."""
    found: list[dict[str, str]] = [{} for _ in range(len(rows))]
    parts = [(column, column.where(str.strip)) for column in layout.carried]
    parts += [(read.measure.column, read.kept_verbatim()) for read in reads]
    if "type" in layout.single:
        parts.append((layout.single["type"], named.overruled & named.type_written.where(str.strip)))
    for column, mask in parts:
        texts = column.texts
        places = np.flatnonzero(mask[rows])
        for place, text in zip(places.tolist(), texts[rows[places]].tolist(), strict=True):
            found[place][column.header] = text
    return found


def _digest(named: _Named, reads: list[MeasureRead], layout: Layout) -> Digests:
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
    if "count" in layout.single:
        digest = digest_with(digest, "count", layout.single["count"].changed(str.strip))
    for read in sorted(reads, key=lambda r: (r.measure.quantity, r.measure.repeat)):
        name = f"{read.measure.quantity} {read.measure.repeat} {read.unit.unit}"
        column = read.measure.column.changed(str.strip)
        digest = digest_with(digest, name, column, column.where(bool))
    return digest


def _left_out(
    table: Table, senses: RowSenses, named: _Named, answers: Answers
) -> Iterable[LeftOut]:
    for row in np.flatnonzero(~senses.is_item):
        key = str(senses.reason[row])
        if key == "section" and int(row) not in named.of_use:
            key = "section_unused"
        texts = (str(c.levels[c.codes[row]]).strip() for c in table.columns)
        # A report on one lot must hold nothing of another consignor's.
        raw = " | ".join(filter(None, texts)) if answers.lot is None else ""
        yield left_out_row(table, int(row), say(f"intake.reason.{key}"), raw)


def _understood(
    table: Table, layout: Layout, reads: list[MeasureRead], decimal_sign: str, answers: Answers
) -> TableUnderstood:
    units: Mapping[str, MeasureRead] = {read.measure.column.header: read for read in reads}
    columns = []
    for header, role, why in layout.whys:
        read = units.get(header)
        unit = read.unit.unit if read is not None else ""
        reasons = why if read is None else f"{why}; {read.unit.why}"
        columns.append(ColumnUnderstood(header, role, unit, reasons))
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
