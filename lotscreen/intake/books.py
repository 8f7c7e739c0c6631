"""From files to an ``Intake``: every table of every sheet, then ids over all of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import PurePath

import numpy as np
import pandas as pd

from lotscreen.intake.block import Block, read_table
from lotscreen.intake.cells import decimal_sign_of
from lotscreen.intake.corrections import corrected
from lotscreen.intake.cut_numbers import refuse_cut_numbers
from lotscreen.intake.frames import items_frame, left_out_frame, readings_frame
from lotscreen.intake.grid import Book, Sheet, cell_text
from lotscreen.intake.identity import coin_ids, item_ids
from lotscreen.intake.noted import doubt_of, in_order
from lotscreen.intake.options import Answers
from lotscreen.intake.own_back import intake_of_own, source_of
from lotscreen.intake.own_outputs import own_book
from lotscreen.intake.same_coins import first_rows, merged, repeat_doubts
from lotscreen.intake.table import Table, find_tables
from lotscreen.intake.vocabulary import MEASURE_ROLES
from lotscreen.records import (
    Doubt,
    InputError,
    Intake,
    Ints,
    ItemKind,
    LeftOut,
    SourceFile,
    Texts,
)
from lotscreen.words import say

_HEADERS_SHOWN = 12


def intake_of(books: Sequence[Book], answers: Answers) -> Intake:
    """Understand all books; InputError where there is no table of weights in them.

    A workbook that lotscreen wrote stands for its sheet where it is given alone; beside the
    sheet it brings the new readings that persons filled in.
    """
    _refuse_twice(books)
    own = {book.name: found for book in books if (found := own_book(book)) is not None}
    if not own:
        return _intake_of_sheets(books, answers)
    sheets = [book for book in books if book.name not in own]
    if not sheets:
        return corrected(intake_of_own(list(own.values()), answers), list(own.values()))
    intake = corrected(_intake_of_sheets(sheets, answers), list(own.values()))
    beside = tuple(replace(source_of(one), rows=0) for one in own.values())
    return replace(intake, sources=(*intake.sources, *beside))


def _intake_of_sheets(books: Sequence[Book], answers: Answers) -> Intake:
    found = {id(s): find_tables(b.name, s, answers) for b in books for s in b.sheets}
    _refuse_unknown(books, found, answers)
    blocks: list[tuple[Book, Block]] = []
    left_out: list[LeftOut] = []
    rows_of_book = []
    for book in books:
        tables = [table for sheet in book.sheets for table in found[id(sheet)]]
        if PurePath(book.name).suffix.lower() in (".csv", ".txt"):
            for table in tables:
                refuse_cut_numbers(table)
        sign = answers.decimal_sign or decimal_sign_of(_texts_of_measures(tables))[0]
        read = [(book, read_table(table, sign, answers)) for table in tables]
        others = [
            row for s in book.sheets if not found[id(s)] for row in _no_table(book, s, answers)
        ]
        blocks += read
        left_out += [*(row for _, block in read for row in block.left_out), *others]
        rows_of_book.append(sum(t.last_row - t.first_row + 1 for t in tables) + len(others))
    _refuse_empty(blocks, answers)
    items, readings, same, doubts = _with_ids(blocks, answers)
    return Intake(
        items=items,
        readings=readings,
        left_out=left_out_frame([*left_out, *same]),
        doubts=tuple(doubts),
        tables=tuple(block.understood for _, block in blocks),
        sources=tuple(
            SourceFile(book.name, book.digest, tuple(s.name for s in book.sheets), rows)
            for book, rows in zip(books, rows_of_book, strict=True)
        ),
        rows_read=sum(rows_of_book),
    )


def _refuse_twice(books: Sequence[Book]) -> None:
    seen: dict[str, str] = {}
    for book in books:
        if book.digest in seen:
            raise InputError(say("intake.error.twice", file=book.name, other=seen[book.digest]))
        seen[book.digest] = book.name


def _refuse_unknown(
    books: Sequence[Book], found: dict[int, tuple[Table, ...]], answers: Answers
) -> None:
    """No table at all, no column of weights at all, or a map that names no header."""
    tables = [table for of_sheet in found.values() for table in of_sheet]
    senses = [sense for table in tables for sense in table.senses if sense is not None]
    if not any(sense.role in MEASURE_ROLES for sense in senses):
        sheets = "; ".join(_first_line(b, s) for b in books for s in b.sheets)
        raise InputError(say("intake.error.no_table", sheets=sheets))
    if not any(sense.role in ("weight", "weight_gross") for sense in senses):
        sheets = "; ".join(
            _place(t.file, t.sheet, t.header_row, [c.header for c in t.columns]) for t in tables
        )
        raise InputError(say("intake.error.no_weight", sheets=sheets))
    headers = {" ".join(c.header.split()).casefold() for t in tables for c in t.columns}
    unknown = sorted(set(answers.columns) - headers)
    if unknown:
        known = ", ".join(repr(c.header) for t in tables for c in t.columns)
        raise InputError(say("intake.error.map_header", header=unknown[0], known=known))


def _first_line(book: Book, sheet: Sheet) -> str:
    """The row of a sheet that holds most words, as the headers that were found."""
    best, most = 0, 0
    for place, row in enumerate(sheet.rows[:200]):
        words = sum(isinstance(cell, str) and bool(cell.strip()) for cell in row)
        if words > most:
            best, most = place, words
    cells = [cell_text(cell) for cell in sheet.rows[best]] if sheet.rows else []
    return _place(book.name, sheet.name, best + 1, [cell for cell in cells if cell.strip()])


def _place(file: str, sheet: str, row: int, headers: list[str]) -> str:
    shown = ", ".join(repr(header[:40]) for header in headers[:_HEADERS_SHOWN])
    more = " ..." if len(headers) > _HEADERS_SHOWN else ""
    return say("intake.error.place", file=file, sheet=sheet, row=row, headers=f"{shown}{more}")


def _texts_of_measures(tables: Iterable[Table]) -> Iterable[str]:
    for table in tables:
        for column, sense in zip(table.columns, table.senses, strict=True):
            if sense is not None and sense.role in (*MEASURE_ROLES, "tare", "nominal"):
                yield from (cell for cell in column.cells if isinstance(cell, str))


def _no_table(book: Book, sheet: Sheet, answers: Answers) -> Iterable[LeftOut]:
    """The filled rows of a sheet without a table, left out."""
    for place, row in enumerate(sheet.rows):
        raw = " | ".join(text for cell in row if (text := cell_text(cell).strip()))
        if raw:
            shown = raw if answers.lot is None else ""
            reason = say("intake.reason.no_table")
            yield LeftOut(book.name, sheet.name, place + 1, reason, shown)


def _refuse_empty(blocks: Sequence[tuple[Book, Block]], answers: Answers) -> None:
    if not any(len(block.rows) for _, block in blocks):
        if answers.lot is not None:
            raise InputError(say("intake.error.no_lot", lot=answers.lot))
        names = ", ".join(sorted({book.name for book, _ in blocks}))
        raise InputError(say("intake.error.no_rows", file=names))
    sheets = {(block.table.file, block.table.sheet) for _, block in blocks}
    for entry in answers.type_rows:
        if not entry.sheet and len(sheets) > 1:
            first = min(sheets)[1]
            raise InputError(
                say("intake.error.type_which_sheet", rows=entry.written, example=first)
            )
        if not any(_meets(entry.sheet, entry.ranges, block) for _, block in blocks):
            raise InputError(say("intake.error.type_no_row", rows=entry.written))


def _meets(sheet: str, ranges: tuple[tuple[int, int], ...], block: Block) -> bool:
    rows = block.rows + block.table.first_row
    return sheet in ("", block.table.sheet) and any(
        bool(((rows >= first) & (rows <= last)).any()) for first, last in ranges
    )


def _with_ids(
    blocks: Sequence[tuple[Book, Block]], answers: Answers
) -> tuple[pd.DataFrame, pd.DataFrame, list[LeftOut], list[Doubt]]:
    """Items with their ids, readings, rows left out because another row is the same coin,
    and all doubts with the ids of the items they are about."""
    of_blocks = [block for _, block in blocks]
    ids = item_ids(np.concatenate([block.digest for block in of_blocks]))
    written = [number for block in of_blocks for number in block.number.texts.tolist()]
    called = written
    if not all(block.number.filled().all() for block in of_blocks):
        places = [place for block in of_blocks for place in _places(block)]
        called = [number or place for number, place in zip(written, places, strict=True)]
    tables = np.repeat(np.arange(len(blocks)), [len(block.rows) for block in of_blocks])
    lots = np.concatenate([block.lot.texts for block in of_blocks])
    if answers.same_coins:
        return _with_same_coins(blocks, ids, written, called, lots, tables)
    named, repeats = coin_ids(called, lots)
    items = items_frame(blocks, ids, named)
    doubts = _doubts(of_blocks, ids, named, written, repeats, tables)
    return items, readings_frame(of_blocks, items), [], doubts


def _with_same_coins(
    blocks: Sequence[tuple[Book, Block]], ids: list[str], written: list[str],
    called: list[str], lots: Texts, tables: Ints,
) -> tuple[pd.DataFrame, pd.DataFrame, list[LeftOut], list[Doubt]]:  # fmt: skip
    """As :func:`_with_ids` where equal lot and number in several tables are one coin."""
    of_blocks = [block for _, block in blocks]
    items = items_frame(blocks, ids, called)
    readings = readings_frame(of_blocks, items)
    first = first_rows(items, written, tables)
    own = np.flatnonzero(first == np.arange(len(ids))).tolist()
    named, again = coin_ids([called[place] for place in own], lots[own])
    for place, name in zip(own, named, strict=True):
        called[place] = name
    items["coin_id"] = pd.array(called, dtype="str")
    repeats = [own[place] for place in again]
    final_ids = [ids[place] for place in first.tolist()]
    doubts = _doubts(of_blocks, final_ids, called, written, repeats, tables)
    return *merged(items, readings, first), doubts


def _places(block: Block) -> list[str]:
    """What a row without a number is called, '' for a row that has one."""
    places = [""] * len(block.rows)
    for at in np.flatnonzero(~block.number.filled()).tolist():
        places[at] = f"{block.table.sheet}!{block.rows[at] + block.table.first_row}"
    return places


def _doubts(
    blocks: Sequence[Block],
    ids: list[str],
    named: list[str],
    written: list[str],
    repeats: list[int],
    tables: Ints,
) -> list[Doubt]:
    found = []
    start = 0
    first_table = _first_tables(blocks, written, tables) if repeats else {}
    for number, block in enumerate(blocks):
        stop = start + len(block.rows)
        checks = block.kind.where(lambda kind: kind == ItemKind.CHECK)  # read again and again
        here = [p for p in repeats if start <= p < stop and written[p] and not checks[p - start]]
        far = np.array([first_table[place] != number for place in here], dtype=np.bool_)
        noted = [*block.noted, *repeat_doubts(block, start, here, named, written, far)]
        by_row = dict(zip(block.rows.tolist(), ids[start:stop], strict=True)) if noted else {}
        found += [
            doubt_of(note, block.table, by_row.get(note.row, ""))
            for note in in_order(noted, block.table)
        ]
        start = stop
    return found


def _first_tables(blocks: Sequence[Block], written: list[str], tables: Ints) -> dict[int, int]:
    """The table in which the lot and number of each item occur first."""
    lots = [lot for block in blocks for lot in block.lot.texts.tolist()]
    seen: dict[tuple[str, str], int] = {}
    return {
        place: seen.setdefault((lot, number), int(table))
        for place, (lot, number, table) in enumerate(
            zip(lots, written, tables.tolist(), strict=True)
        )
    }
