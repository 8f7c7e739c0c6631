"""Records from a sheet: any suffix and order of columns, dittos, empty rows, four languages.

One row is one record. A column that says the kind may mix them; otherwise all rows are of
the kind asked for. What the sheet does not say (lot, person, time) comes from the options.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path

from lotscreen.intake.grid import Book, Sheet, cell_text, plain_words
from lotscreen.intake.readers import read_book
from lotscreen.intake.vocabulary import is_ditto, is_missing
from lotscreen.ledger.chain import Draft
from lotscreen.ledger.kinds import KINDS, body_of, checked_code, checked_lot, checked_moment
from lotscreen.records import InputError
from lotscreen.words import say

_ROWS_SEARCHED = 30
_FEWEST_HEADERS = 2
_MOST_TOLD = 8
_OF_EVERY_KIND = ("kind", "lot", "at", "by")


@dataclass(frozen=True, slots=True)
class Recorded:
    """One record of a sheet: the lot it belongs to and what is to be written down."""

    lot: str
    draft: Draft


@dataclass(frozen=True, slots=True)
class SheetRecords:
    """The records of a sheet in its order, and the headers of columns that say nothing to
    the kinds in it and were left where they are."""

    records: tuple[Recorded, ...]
    left_alone: tuple[str, ...]


def records_of_sheet(path: Path, kind: str, given: Mapping[str, str]) -> SheetRecords:
    """The records in the file at ``path``.

    ``given`` are lot, at, by, and fields that the sheet may lack. InputError names every
    row that cannot be taken (file, sheet, row, field, value, mend); none is taken then.
    """
    found: list[Recorded] = []
    wrong: list[str] = []
    book = read_book(path)
    for where, row in _rows(book):
        try:
            found.append(_record(where, kind, {**given, **row}))
        except InputError as error:
            wrong.append(str(error))
    if wrong:
        more = [say("ledger.more_rows", n=len(wrong) - _MOST_TOLD)] * (len(wrong) > _MOST_TOLD)
        raise InputError("\n".join([*wrong[:_MOST_TOLD], *more]))
    if not found:
        raise InputError(say("ledger.no_records", file=path.name))
    return SheetRecords(tuple(found), _left_alone(book, {one.draft.kind for one in found}))


def _left_alone(book: Book, kinds: set[str]) -> tuple[str, ...]:
    """Headers that name no field of ``kinds``."""
    spoken = {field.name for kind in kinds for field in KINDS[kind]} | set(_OF_EVERY_KIND)
    headers: dict[str, None] = {}
    for sheet in book.sheets:
        header, names = _header(sheet)
        for column, cell in enumerate(sheet.rows[header]) if names else ():
            if names.get(column) not in spoken and cell_text(cell).strip():
                headers[cell_text(cell).strip()] = None
    return tuple(headers)


def _record(where: str, kind: str, said: Mapping[str, str]) -> Recorded:
    own = plain_words(said.get("kind", "")) or kind
    if own not in KINDS:
        known = ", ".join(KINDS)
        raise InputError(say("ledger.not_among", where=where, field="kind", value=repr(own),
                             known=known))  # fmt: skip
    try:
        lot = checked_lot(said.get("lot", ""))
    except InputError as error:
        raise InputError(f"{where}: {error}") from error
    by = checked_code(said.get("by", ""), where=where)
    at = checked_moment(said.get("at", ""), where)
    return Recorded(lot, Draft(own, at, by, body_of(own, said, where)))


def _rows(book: Book) -> Iterator[tuple[str, dict[str, str]]]:
    seen = False
    for sheet in book.sheets:
        header, names = _header(sheet)
        if not names:
            continue
        seen = True
        above: dict[str, str] = {}
        for number, cells in enumerate(sheet.rows[header + 1 :], start=header + 2):
            row = _row(cells, names, above)
            if row:
                above = {**above, **row}
                yield say("ledger.row", file=book.name, sheet=sheet.name, row=number), row
    if not seen:
        known = ", ".join(words[0] for words in _headers().values())
        raise InputError(say("ledger.no_headers", file=book.name, known=known))


def _row(
    cells: Sequence[object], names: Mapping[int, str], above: Mapping[str, str]
) -> dict[str, str]:
    """Fields of a row by name; a ditto takes the value above, an empty cell is left out."""
    row: dict[str, str] = {}
    for column, name in names.items():
        text = cell_text(cells[column]).strip() if column < len(cells) else ""
        if is_ditto(text):
            text = above.get(name, "")
        if text and not is_missing(text):
            row[name] = text
    return row


def _header(sheet: Sheet) -> tuple[int, dict[int, str]]:
    """The row with most known headers among the first, and the field of each column."""
    best: tuple[int, dict[int, str]] = (0, {})
    for number, cells in enumerate(sheet.rows[:_ROWS_SEARCHED]):
        names: dict[int, str] = {}
        for column, cell in enumerate(cells):
            name = header_names().get(plain_words(cell_text(cell)))
            if name is not None and name not in names.values():
                names[column] = name
        if len(names) >= max(_FEWEST_HEADERS, len(best[1]) + 1):
            best = (number, names)
    return best


@cache
def header_names() -> dict[str, str]:
    """The field that a header's word means."""
    found: dict[str, str] = {}
    for name, words in _headers().items():
        for word in (name, *words):
            found.setdefault(plain_words(word), name)
    return found


@cache
def _headers() -> Mapping[str, Sequence[str]]:
    text = (files(__package__) / "headers.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
