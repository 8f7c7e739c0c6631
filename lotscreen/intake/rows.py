"""What each row of a table is: coin, group, bag, check weight, reference piece, or left out."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lotscreen.intake.grid import Column, plain_words
from lotscreen.intake.layout import Layout
from lotscreen.intake.table import Table
from lotscreen.intake.vocabulary import is_ditto, is_missing, kind_words, starts_with
from lotscreen.records import Bools, Floats, Ints, ItemKind, Texts

SECTION_ROLES = ("type", "group", "lot")

_FEW_LETTERS = 3
_LONGEST_NAME_BEHIND_WORD = 12
_LEFT_COLUMNS = 2


@dataclass(frozen=True, slots=True)
class Section:
    """A line that stands alone above rows and says something of all of them."""

    row: int
    role: str
    text: str


@dataclass(frozen=True, slots=True)
class RowSenses:
    """One entry a row of the table: ``kind`` ('' left out) and ``reason`` (the key of
    the words that say why it is left out, '' for an item). ``sections`` are the lines
    that open a type, a group or a lot for the rows below."""

    kind: Texts
    reason: Texts
    sections: tuple[Section, ...]

    @property
    def is_item(self) -> Bools:
        """Mask of the rows that are items."""
        found: Bools = self.reason == ""
        return found


def row_senses(table: Table, layout: Layout) -> RowSenses:
    """Look at every row of a table; nothing is changed and no row is dropped."""
    count = len(table.columns[0]) if table.columns else 0
    filled = np.zeros(count, dtype=np.int64)
    for column in table.columns:
        filled += column.filled()
    reason: Texts = np.full(count, "", dtype=object)
    reason[_own_cells(layout, count) == 0] = "note"
    reason[_total_rows(table, layout)] = "total"
    reason[_repeated_header(layout, count)] = "header_again"
    sections = _lone_lines(table, layout, filled, reason)
    reason[filled == 0] = "empty"
    opened = _opening(sections, reason)
    for section in sections:
        reason[section.row] = "section" if section in opened else "note"
    return RowSenses(_kinds(layout, reason), reason, opened)


def _words_row(column: Column, name: str) -> Bools:
    pattern = starts_with(name)
    return column.where_words(lambda text: pattern.match(plain_words(text)))


def _total_rows(table: Table, layout: Layout) -> Bools:
    first = table.columns[0]
    found = _words_row(first, "total")
    for column in layout.named():
        found = found | _words_row(column, "total")
    return found


def _own_cells(layout: Layout, count: int) -> Ints:
    """Filled cells a row in columns that speak of the thing itself, not of where it lay."""
    found = np.zeros(count, dtype=np.int64)
    own = [column for role, column in layout.single.items() if role not in ("lot", "position")]
    for column in (*own, *(measure.column for measure in layout.measures)):
        found += column.filled()
    return found


def _repeated_header(layout: Layout, count: int) -> Bools:
    found = np.zeros(count, dtype=bool)
    for measure in layout.measures:
        header = plain_words(measure.column.header)
        found |= measure.column.where_words(lambda t, h=header: plain_words(t) == h)  # type: ignore[misc]
    return found


def _lone_lines(table: Table, layout: Layout, filled: Ints, reason: Texts) -> tuple[Section, ...]:
    """Rows with one filled cell that is words, and what those words may open."""
    rows = (reason != "total") & (reason != "header_again")
    alone = (filled == 1) & rows
    for measure in layout.measures:
        column = measure.column
        alone &= ~(column.where(_starts_like_number) | (column.all_numbers & column.filled()))
    judge = _LineJudge(table, layout, rows & (filled > 1))
    found = []
    for row in np.flatnonzero(alone):
        section = judge.section(int(row))
        if section is not None:
            found.append(section)
    return tuple(found)


def _starts_like_number(text: str) -> bool:
    return text.strip()[:1] in set("0123456789.,-+<>≈~½¼¾") and bool(text.strip())


class _LineJudge:
    """Decides whether the one filled cell of a row is a line over the rows below."""

    def __init__(self, table: Table, layout: Layout, fuller: Bools) -> None:
        self._table = table
        self._layout = layout
        self._fuller = fuller
        self._usual: dict[str, frozenset[str]] = {}
        # A line over rows begins at the left; words far right are a remark.
        left = {c.header for c in table.columns[:_LEFT_COLUMNS]}
        self._remarks = [c for c in layout.carried if c.header not in left]

    def section(self, row: int) -> Section | None:
        """The section that the row's only cell opens, None where it is an item or a note."""
        column = next(c for c in self._table.columns if str(c.levels[c.codes[row]]).strip())
        text = str(column.levels[column.codes[row]]).strip()
        if is_missing(text) or is_ditto(text) or sum(map(str.isalpha, text)) < _FEW_LETTERS:
            return None
        if any(column is remark for remark in self._remarks):
            return None
        for role in ("group", "lot"):
            match = starts_with(role).match(plain_words(text))
            if match and match["rest"] and len(match["rest"]) <= _LONGEST_NAME_BEHIND_WORD:
                return Section(row, role, text)
        if self._is_usual(column, text):
            return None
        return Section(row, "type", text.rstrip(": "))

    def _is_usual(self, column: Column, text: str) -> bool:
        """Whether fuller rows have such a cell there too: then it is a coin not measured."""
        role = next((r for r, c in self._layout.single.items() if c is column), "")
        if role not in ("coin_id", "type", "date"):
            return False
        look: Callable[[str], str] = _shape if role == "coin_id" else plain_words
        if role not in self._usual:
            fuller = {str(column.levels[code]) for code in np.unique(column.codes[self._fuller])}
            self._usual[role] = frozenset(look(t) for t in fuller)
        return look(text) in self._usual[role]


def _shape(text: str) -> str:
    """``K-017`` and ``K-2`` have one shape; so have all single words."""
    return re.sub(r"[^\W\d_]+", "a", re.sub(r"\d+", "9", text.strip()))


def _opening(sections: tuple[Section, ...], reason: Texts) -> tuple[Section, ...]:
    """The sections that an item follows, with nothing between but empty rows and
    sections of another role."""
    solid = (reason != "empty") & (reason != "header_again")
    solid[[section.row for section in sections]] = False
    rows = np.arange(len(reason))
    after = np.minimum.accumulate(np.where(solid, rows, len(reason))[::-1])[::-1]
    found = []
    next_of_role: dict[str, int] = {}
    for section in reversed(sections):
        row = int(after[section.row])
        if row < next_of_role.get(section.role, len(reason)) and reason[row] == "":
            found.append(section)
        next_of_role[section.role] = section.row
    return tuple(reversed(found))


def _kinds(layout: Layout, reason: Texts) -> Texts:
    kind: Texts = np.full(len(reason), ItemKind.COIN.value, dtype=object)
    counts = counts_of(layout, len(reason))
    kind[counts > 1] = ItemKind.GROUP.value
    naming = [layout.single[r] for r in ("coin_id", "type", "kind") if r in layout.single]
    for column in naming:
        bag = _words_row(column, "bag") & (counts != 1)
        if "count" in layout.single or bag.sum() * 2 < len(bag) or len(bag) < 2:
            kind[bag] = ItemKind.BAG.value
        kind[_words_row(column, "check")] = ItemKind.CHECK.value
    for column in (*naming, *layout.carried):
        kind[_words_row(column, "reference")] = ItemKind.REFERENCE.value
    if "kind" in layout.single:
        said = np.array([kind_words().get(plain_words(t), "") for t in layout.single["kind"].texts])
        kind[said != ""] = said[said != ""]
    kind[reason != ""] = ""
    return kind


def counts_of(layout: Layout, rows: int) -> Floats:
    """The count a row, NaN where none or none that is a whole number above zero."""
    if "count" not in layout.single:
        return np.full(rows, np.nan)
    return whole_numbers(layout.single["count"].number(_whole_number))


def whole_numbers(values: Floats) -> Floats:
    """The values that are whole, above zero and below 10^9; NaN for the others."""
    with np.errstate(invalid="ignore"):
        whole = (values > 0) & (values < 1e9) & (values == np.rint(values))
    return np.where(whole, values, np.nan)


def _whole_number(text: str) -> float:
    plain = re.sub(r"(?<=\d)[ ,.'\u2019\u00a0](?=\d{3}(?!\d))", "", text.strip())
    match = re.fullmatch(r"(\d{1,9})(?:\.0+)?(?:\s*(?:x|pcs?|st\w*|coins?|pi\w*))?\.?", plain, re.I)
    return float(match[1]) if match is not None and int(match[1]) > 0 else float("nan")
