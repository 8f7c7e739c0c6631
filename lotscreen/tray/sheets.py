"""Answer sheets and keys as tables: files read by the house's readers, the header found by
its words, codes filled down, and what stands in words above the table."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np

from lotscreen.intake.filling import filled_down
from lotscreen.intake.grid import (
    Book,
    Column,
    Sheet,
    cell_text,
    column_letters,
    column_of,
    plain_words,
)
from lotscreen.intake.vocabulary import is_missing, without_accents
from lotscreen.records import InputError
from lotscreen.words import say

_ROWS_LOOKED_AT = 200
_FILLED_DOWN = ("trainee", "tray", "session")


@dataclass(frozen=True, slots=True)
class TrayTable:
    """One table of a sheet: its columns by role, ``headers`` and ``letters`` likewise.
    ``first_row`` is the sheet's row of the first line below the header, counted from 1."""

    file: str
    sheet: str
    first_row: int
    columns: Mapping[str, Column]
    letters: Mapping[str, str]

    def __len__(self) -> int:
        return len(next(iter(self.columns.values())))

    def texts(self, role: str) -> list[str]:
        """The cells of a role, '' in every row where the table has no such column."""
        if role not in self.columns:
            return [""] * len(self)
        return [text.strip() for text in self.columns[role].texts]

    def place(self, row: int, role: str = "") -> str:
        """Words for a row (from 0 in the table), with its column where one is named."""
        at = {"file": self.file, "sheet": self.sheet, "row": self.first_row + row}
        if role in self.letters:
            return say("tray_marking.at.cell", column=self.letters[role], **at)
        return say("tray_marking.at.row", **at)


@cache
def _words() -> Mapping[str, Mapping[str, Sequence[str]]]:
    found: Mapping[str, Mapping[str, Sequence[str]]] = tomllib.loads(
        (files(__package__) / "answers.toml").read_text(encoding="utf-8")
    )
    return found


@cache
def words_of(table: str) -> Mapping[str, str]:
    """What each word of a table of ``answers.toml`` stands for."""
    return {plain(word): name for name, words in _words()[table].items() for word in words}


def plain(text: str) -> str:
    """Lower case without accents, signs between words as spaces."""
    bare = without_accents(plain_words(text))
    return " ".join(re.sub(r"[_.\-(){}\[\]:?]", " ", bare).split())


def role_of(cell: object) -> str:
    """The role that a header's words say, '' where they say none."""
    text = plain(cell_text(cell))
    return words_of("roles").get(text, "")


def tables_of(book: Book, needed: Sequence[str], given_above: Sequence[str]) -> list[TrayTable]:
    """Every table of the book whose header says all of ``needed``; roles of
    ``given_above`` may stand in words above it ("Trainee: T03"). InputError with the
    headers that were found where no sheet has one."""
    found = [t for s in book.sheets if (t := _table(book, s, needed, given_above)) is not None]
    if not found:
        seen = "; ".join(_first_words(sheet) for sheet in book.sheets)
        names = ", ".join(_words()["roles"][role][0] for role in needed)
        raise InputError(
            say("tray_marking.error.no_table", file=book.name, needed=names, found=seen)
        )
    return found


def _table(
    book: Book, sheet: Sheet, needed: Sequence[str], given_above: Sequence[str]
) -> TrayTable | None:
    for top, row in enumerate(sheet.rows[:_ROWS_LOOKED_AT]):
        roles = [role_of(cell) for cell in row]
        above = _said_above(sheet.rows[:top], given_above)
        if all(role in roles or role in above for role in needed):
            return _below(book, sheet, top, roles, above)
    return None


def _said_above(rows: Sequence[Sequence[object]], wanted: Sequence[str]) -> dict[str, str]:
    """Values that stand beside their word above the table, in one cell or the next."""
    said: dict[str, str] = {}
    for row in rows:
        texts = [cell_text(cell).strip() for cell in row]
        for place, text in enumerate(texts):
            word, sign, rest = text.partition(":")
            role = words_of("roles").get(plain(word), "")
            beside = texts[place + 1] if place + 1 < len(texts) else ""
            value = rest.strip() if sign and rest.strip() else beside
            if role in wanted and value and role not in said:
                said[role] = value
    return said


def _below(
    book: Book, sheet: Sheet, top: int, roles: list[str], above: Mapping[str, str]
) -> TrayTable:
    body = list(sheet.rows[top + 1 :])
    while body and not any(cell_text(cell).strip() for cell in body[-1]):
        body.pop()
    columns: dict[str, Column] = {}
    letters: dict[str, str] = {}
    for place, role in enumerate(roles):
        if not role or role in columns:
            continue
        cells = [row[place] if place < len(row) else "" for row in body]
        columns[role], letters[role] = column_of(role, cells), column_letters(place)
    for role, value in above.items():
        columns.setdefault(role, column_of(role, [value] * len(body)))
    filled = _filled(columns, len(body))
    return TrayTable(book.name, sheet.name, top + 2, filled, letters)


def _filled(columns: Mapping[str, Column], rows: int) -> dict[str, Column]:
    """Codes of trainee and tray filled down over ditto marks and blanks below them."""
    usable = np.zeros(rows, dtype=np.bool_)
    for role, column in columns.items():
        if role not in _FILLED_DOWN:
            usable |= ~column.where(is_missing) if not column.all_numbers else column.filled()
    return {
        role: filled_down(column, usable, blanks_too=True).column
        if role in _FILLED_DOWN
        else column
        for role, column in columns.items()
    }


def _first_words(sheet: Sheet) -> str:
    for row in sheet.rows:
        texts = [text for cell in row if (text := cell_text(cell).strip())]
        if texts:
            return say("tray_marking.error.sheet", sheet=sheet.name, texts=", ".join(texts[:12]))
    return say("tray_marking.error.empty_sheet", sheet=sheet.name)
