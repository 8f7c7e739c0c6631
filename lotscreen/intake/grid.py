"""Sheets as found, before anybody understands them: cells in rows, texts in columns."""

from __future__ import annotations

import datetime as dt
from array import array
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
import pyarrow

from lotscreen.records import Bools, Floats, Ints, Texts

_FEW_LEVELS = 10_000

Place = tuple[int, int]  # row and column of a cell, from 0


@dataclass(frozen=True, slots=True)
class SheetMarks:
    """What a spreadsheet program knows of a sheet besides its cells. ``errors`` are the
    cells that show one, ``never_calculated`` formulas without a value; ``merged`` are
    pairs of corners. ``hidden_count`` counts hidden rows whose place is not known."""

    hidden_rows: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    errors: Mapping[Place, str] = field(default_factory=dict)
    formulas: int = 0
    never_calculated: Mapping[Place, str] = field(default_factory=dict)
    merged: tuple[tuple[Place, Place], ...] = ()
    filtered: bool = False
    macros: bool = False
    hidden_count: int = 0


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: ``rows[i]`` are the cells of row i + 1 as a spreadsheet program counts
    (texts, numbers, dates; ``''`` or None where empty). Rows may differ in length."""

    name: str
    rows: Sequence[Sequence[object]]
    marks: SheetMarks = field(default_factory=SheetMarks)


@dataclass(frozen=True, slots=True)
class Book:
    """One file: its name without folders, its SHA-256 and its sheets."""

    name: str
    digest: str
    sheets: tuple[Sheet, ...]


def cell_text(cell: object) -> str:
    """The cell verbatim; a number as a spreadsheet program shows it in full."""
    if isinstance(cell, str):
        return cell
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, float):
        return _number_text(cell)
    if isinstance(cell, dt.datetime) and cell.time() == dt.time():
        return cell.date().isoformat()
    if isinstance(cell, dt.date | dt.time):
        return cell.isoformat()
    return str(cell)


def _number_text(value: float) -> str:
    if value != value:
        return ""
    if value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    text = repr(value)
    # 15 digits are what a spreadsheet holds; more are an echo of binary arithmetic.
    return text if len(text) < 17 else format(value, ".15g")


def is_calendar_day(cell: object) -> bool:
    """Whether a spreadsheet program stored the cell as a day of the calendar."""
    return isinstance(cell, dt.date)


def column_letters(index: int) -> str:
    """``A`` for 0, ``B`` for 1, ``AA`` for 26."""
    letters = ""
    index += 1
    while index:
        index, place = divmod(index - 1, 26)
        letters = chr(65 + place) + letters
    return letters


def column_number(letters: str) -> int:
    """0 for ``A``, 26 for ``AA``."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number - 1


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table: distinct cells once, and for each row which of them.

    ``cells`` are the distinct cells as found, ``levels`` their texts, ``codes`` (one a
    row) point into both. Work is done once a level, however many rows there are; a
    column that is ``all_numbers`` (stored as such by a spreadsheet program) holds no
    words and is not asked for any.
    """

    header: str
    cells: tuple[object, ...]
    levels: Texts
    codes: Ints
    all_numbers: bool = False

    def __len__(self) -> int:
        return len(self.codes)

    @property
    def texts(self) -> Texts:
        """The text of every row."""
        found: Texts = self.levels[self.codes]
        return found

    def text(self, row: int) -> str:
        """The text of one row."""
        return str(self.levels[self.codes[row]])

    def filled(self) -> Bools:
        """Rows whose cell is not blank."""
        return self._asked(str.strip, of_numbers=True)

    def where(self, test: Callable[[str], object]) -> Bools:
        """Rows whose words pass ``test``, which is asked once a level."""
        return self._asked(test, of_numbers=False)

    def where_words(self, test: Callable[[str], object]) -> Bools:
        """As ``where``, but a text that starts with a digit passes unasked as False."""
        return self.where(lambda text: not text[:1].isdigit() and test(text))

    def _asked(self, test: Callable[[str], object], of_numbers: bool) -> Bools:
        if self.all_numbers:
            return np.full(len(self), of_numbers)
        passed = np.array([bool(test(text)) for text in self.levels], dtype=bool)
        found: Bools = passed[self.codes]
        return found

    def number(self, value: Callable[[str], float]) -> Floats:
        """``value`` of every row's text, asked once a level; of numbers themselves."""
        asked = self.cells if self.all_numbers else map(value, self.levels)
        numbers = np.array(list(asked), dtype=np.float64)
        found: Floats = numbers[self.codes]
        return found

    def changed(self, change: Callable[[str], str]) -> Column:
        """The column with every text changed, asked once a level; numbers stay."""
        if self.all_numbers:
            return self
        texts = [change(text) for text in self.levels]
        return Column(self.header, tuple(texts), text_levels(texts), self.codes)

    def rows(self, index: Bools | Ints) -> Column:
        """The rows at ``index`` (mask or positions)."""
        return Column(self.header, self.cells, self.levels, self.codes[index], self.all_numbers)

    def with_text(self, mask: Bools, texts: Sequence[str]) -> Column:
        """The column with the rows of ``mask`` saying ``texts`` instead (one a row)."""
        if not mask.any():
            return self
        fresh = sorted(set(texts))
        place = {text: len(self.levels) + i for i, text in enumerate(fresh)}
        codes = self.codes.copy()
        codes[mask] = [place[text] for text in texts]
        return Column(
            self.header,
            (*self.cells, *fresh),
            np.concatenate([self.levels, text_levels(fresh)]),
            codes,
        )

    def array(self) -> pd.api.extensions.ExtensionArray:
        """The texts as a pandas array, built from the levels."""
        if 0 < len(self.levels) <= _FEW_LEVELS and (self.levels == self.levels[0]).all():
            one = pyarrow.scalar(str(self.levels[0]), type=pyarrow.large_string())
            same: Any = pd.array(pyarrow.repeat(one, len(self)), dtype="str")
            return same  # type: ignore[no-any-return]
        levels: Any = pd.array(self.levels.tolist(), dtype="str")
        return levels.take(self.codes)  # type: ignore[no-any-return]


def text_levels(texts: Sequence[str]) -> Texts:
    """An object array of ``texts``."""
    levels: Texts = np.empty(len(texts), dtype=object)
    levels[:] = texts
    return levels


def constant_column(header: str, text: str, rows: int) -> Column:
    """A column that says ``text`` in every row."""
    return Column(header, (text,), text_levels([text]), np.zeros(rows, dtype=np.int64))


def column_of(header: str, cells: Sequence[object]) -> Column:
    """The cells of one column, distinct ones found once."""
    if cells and type(cells[0]) is float:
        numbers = _number_column(header, cells)
        if numbers is not None:
            return numbers
    found: Texts = np.empty(len(cells), dtype=object)
    found[:] = cells
    codes, levels = pd.factorize(found)
    if (codes < 0).any() or not all(map(_unlike_others, levels)):
        found[:] = [_plain(cell) for cell in cells]
        codes, levels = pd.factorize(found)
    nothing = codes < 0
    if nothing.any():
        found[nothing] = ""
        codes, levels = pd.factorize(found)
    texts = [cell_text(cell) for cell in levels]
    return Column(header, tuple(levels), text_levels(texts), codes.astype(np.int64, copy=False))


def _unlike_others(cell: object) -> bool:
    """Whether no cell of another kind passes for the same: a text, or a number that True and
    False do not equal."""
    return type(cell) is str or (type(cell) is float and cell not in (0.0, 1.0))


def _number_column(header: str, cells: Sequence[object]) -> Column | None:
    """A column of floats alone, None where one of the cells is something else."""
    try:
        values = np.array(array("d", cells))  # type: ignore[type-var]
    except TypeError:
        return None
    for place in np.flatnonzero((values == 0) | (values == 1)).tolist():
        if type(cells[place]) is not float:
            return None  # True and False would pass for numbers
    codes, levels = pd.factorize(values)
    if (codes < 0).any():
        return None
    texts = text_levels(_number_texts(levels))
    return Column(header, tuple(levels.tolist()), texts, codes.astype(np.int64, copy=False), True)


def _number_texts(values: Floats) -> list[str]:
    """As ``cell_text``, quick where all are whole."""
    if np.all(np.abs(values) < 1e15) and np.all(values == np.rint(values)):
        return [str(value) for value in values.astype(np.int64).tolist()]
    return [_number_text(value) for value in values.tolist()]


def _plain(cell: object) -> object:
    """True is not 1 and nothing is '' (a dictionary would take them for the same)."""
    if cell is None or cell is pd.NA or cell is pd.NaT:
        return ""
    if isinstance(cell, bool | np.bool_):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, np.generic):
        return cell.item()
    return cell


def plain_words(text: str) -> str:
    """Lower case, single spaces, no space around."""
    return " ".join(text.split()).casefold()
