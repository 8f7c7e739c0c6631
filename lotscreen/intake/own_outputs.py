"""Tables that lotscreen wrote itself: recognised by their headers, taken apart.

A workbook of coins holds every reading and every row that is no coin besides, so that it
can stand for the sheet it was made from; a table of coins as CSV holds one reading a coin.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from lotscreen.intake.grid import Book, Sheet, cell_text
from lotscreen.records import InputError
from lotscreen.words import say

_TABLES: tuple[tuple[str, frozenset[str]], ...] = (
    ("coins", frozenset({"coin_id", "source_row", "p_value", "finding", "disposition", "item_id"})),
    ("groups", frozenset({"coin_id", "kind", "count", "finding", "disposition", "item_id"})),
    ("readings", frozenset({"item_id", "quantity", "raw", "step", "status", "why"})),
    ("other_rows", frozenset({"item_id", "kind", "count", "type_text", "date_text"})),
    ("left_out", frozenset({"source_file", "sheet", "row", "reason", "raw"})),
    ("doubts", frozenset({"source_file", "sheet", "row", "column", "raw", "kind", "why"})),
)
"""Headers by which a table of ours is known, the first that fits."""


@dataclass(frozen=True, slots=True)
class OwnBook:
    """A file that lotscreen wrote: the rows of coins (cells as found, one column a header,
    ``sheet`` and ``row`` where they stand), and, in a workbook, its other tables."""

    book: Book
    coins: pd.DataFrame
    readings: pd.DataFrame
    other_rows: pd.DataFrame
    left_out: pd.DataFrame
    doubts: pd.DataFrame


def own_book(book: Book) -> OwnBook | None:
    """The book as one of our own, None where it is a sheet of a person's; InputError where
    it is a table of ours that no coins can be read from."""
    found: dict[str, list[pd.DataFrame]] = {}
    for sheet in book.sheets:
        what = _kind_of(_header(sheet))
        if what:
            found.setdefault(what, []).append(_frame(sheet))
    if "coins" in found:
        parts = ("coins", "readings", "other_rows", "left_out", "doubts")
        return OwnBook(book, *(_together(found.get(part, [])) for part in parts))
    if found:
        what = say(f"intake.own.{next(iter(found))}")
        raise InputError(say("intake.error.own_table", file=book.name, what=what))
    return None


def _kind_of(header: frozenset[str]) -> str:
    """Which of our tables has such a header, '' for none."""
    return next((what for what, wanted in _TABLES if header >= wanted), "")


def _header(sheet: Sheet) -> frozenset[str]:
    first = sheet.rows[0] if sheet.rows else []
    return frozenset(cell_text(cell).strip() for cell in first)


def _frame(sheet: Sheet) -> pd.DataFrame:
    """The rows below the header, one column a header; empty rows are dropped."""
    names = [cell_text(cell).strip() for cell in sheet.rows[0]]
    width = len(names)
    body = [[*row, *[""] * (width - len(row))][:width] for row in sheet.rows[1:]]
    frame = pd.DataFrame(body, columns=names, dtype=object)
    frame = frame.loc[:, [bool(name) for name in names]]
    frame = frame.loc[:, ~frame.columns.duplicated()]
    empty = (frame.isna() | (frame == "")).all(axis=1)
    frame = frame.rename(columns={"sheet": "sheet_", "row": "row_"})
    frame["sheet"], frame["row"] = sheet.name, np.arange(2, len(frame) + 2)
    return frame[~empty]


def _together(frames: Sequence[pd.DataFrame]) -> pd.DataFrame:
    return pd.concat(frames, ignore_index=True) if frames else pd.DataFrame()


def text_of(cell: object) -> str:
    """A cell's text; the apostrophe that guards a formula in CSV taken off again."""
    text = cell_text(cell)
    return text[1:] if text[:1] == "'" and text[1:2] in "=+-@\t\r\n＝＋－＠" else text


def number_of(cell: object) -> float:
    """A cell's number, NaN where it holds none."""
    try:
        return float(cell_text(cell)) if cell_text(cell).strip() else float("nan")
    except ValueError:
        return float("nan")
