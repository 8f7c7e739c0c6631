"""Where the tables of a sheet are: header row, rows below it, what each column is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import chain

import numpy as np

from lotscreen.intake.grid import (
    Column,
    Sheet,
    SheetMarks,
    cell_text,
    column_letters,
    column_of,
    plain_words,
)
from lotscreen.intake.headers import Sense, sense_of, unit_factors, unit_of_word
from lotscreen.intake.options import Answers
from lotscreen.intake.vocabulary import MEASURE_ROLES

_ROWS_LOOKED_AT = 200
_ROWS_BELOW = 20


@dataclass(frozen=True, slots=True)
class Table:
    """One table of a sheet, not yet understood beyond its header.

    ``header_row`` counts from 1 (0: none). ``rows`` are the sheet rows ``first_row`` to
    ``last_row``; ``senses`` are what the words of each column's header say, ``places``
    where each column stands in the sheet (from 0).
    """

    file: str
    sheet: str
    header_row: int
    first_row: int
    last_row: int
    title: str
    senses: tuple[Sense | None, ...]
    columns: tuple[Column, ...]
    places: tuple[int, ...] = ()
    marks: SheetMarks = field(default_factory=SheetMarks)

    def merged_rows(self, column: Column) -> list[tuple[int, int]]:
        """(first, last) row of each run of merged cells in one column, from 0 in the table."""
        place = next(
            (p for c, p in zip(self.columns, self.places, strict=False) if c is column), -1
        )
        top, bottom = self.first_row - 1, self.last_row - 1
        return [
            (max(first, top) - top, min(last, bottom) - top)
            for (first, left), (last, right) in self.marks.merged
            if left <= place <= right and top <= first < last and first < bottom
        ]


def header_sense(header: str, answers: Answers) -> Sense | None:
    """What the user's map, else the register of words, says of a header."""
    plain = plain_words(header)
    if plain in answers.columns:
        return answers.columns[plain]
    return sense_of(header)


def find_tables(file: str, sheet: Sheet, answers: Answers) -> tuple[Table, ...]:
    """The tables of a sheet from top to bottom, none where no row reads like a header."""
    rows = sheet.rows[: _last_filled(sheet.rows)]
    start = _header_place(rows, answers)
    if start is None:
        return ()
    top = _TopHeader(start, start, rows[start] if start >= 0 else [])
    if answers.header_row is None:
        top = _with_neighbour(rows, start, answers)
    title = _title(rows[: max(top.first, 0)])
    whole = _table(file, sheet, top, len(rows), title, answers)
    if not whole.columns:
        return ()
    later = _later_headers(whole, rows, answers) if answers.header_row is None else []
    if not later:
        return (whole,)
    headers = [top, *(_TopHeader(place, place, rows[place]) for place in later)]
    return tuple(
        _table(file, sheet, header, stop, title if header is top else "", answers)
        for header, stop in zip(headers, [*later, len(rows)], strict=True)
    )


@dataclass(frozen=True, slots=True)
class _TopHeader:
    """The header of a table: its first and last row (from 0 in the sheet, -1: none) and its
    cells, those of two rows joined."""

    first: int
    last: int
    cells: Sequence[object]


def _with_neighbour(rows: Sequence[Sequence[object]], place: int, answers: Answers) -> _TopHeader:
    """The header row, joined with the row above or below it where that row holds words
    only and both together say more roles than the one."""
    best = _TopHeader(place, place, rows[place])
    for top in (place, place - 1):
        if top < 0 or top + 1 >= len(rows) or not _words_only(rows[top], rows[top + 1]):
            continue
        joined = _joined(rows[top], rows[top + 1], answers)
        if _understood(joined, answers) > _understood(best.cells, answers):
            best = _TopHeader(top, top + 1, joined)
    return best


def _understood(row: Sequence[object], answers: Answers) -> tuple[int, int]:
    """Different roles of a row, and how many of its cells say one."""
    words = [cell_text(cell).strip() for cell in row]
    return _score(row, answers), sum(
        bool(word) and header_sense(word, answers) is not None for word in words
    )


def _words_only(*rows: Sequence[object]) -> bool:
    texts = [cell_text(cell).strip() for row in rows for cell in row]
    return not any(text[:1].isdigit() for text in texts)


def _joined(top: Sequence[object], below: Sequence[object], answers: Answers) -> list[object]:
    """Two rows of headers as one: a word above stands for the blank cells to its right."""
    joined: list[object] = []
    above = ""
    for place in range(max(len(top), len(below))):
        upper = cell_text(top[place]).strip() if place < len(top) else ""
        lower = cell_text(below[place]).strip() if place < len(below) else ""
        above = upper or (above if lower else "")
        ways = (f"{above} {lower}", f"{lower} {above}", lower, upper)
        known = (way.strip() for way in ways if header_sense(way.strip(), answers) is not None)
        joined.append(next(known, f"{above} {lower}".strip()))
    return joined


def _last_filled(rows: Sequence[Sequence[object]]) -> int:
    end = len(rows)
    while end and not _filled(rows[end - 1]):
        end -= 1
    return end


def _filled(row: Sequence[object]) -> bool:
    return any(cell_text(cell).strip() for cell in row)


def _header_place(rows: Sequence[Sequence[object]], answers: Answers) -> int | None:
    """Place of the first header row in ``rows``; -1 for a sheet said to have none."""
    if answers.header_row is not None:
        return answers.header_row - 1 if answers.header_row <= len(rows) else None
    scores = [_score(row, answers) for row in rows[:_ROWS_LOOKED_AT]]
    return _first_header(rows, scores, answers)


def _first_header(
    rows: Sequence[Sequence[object]], scores: list[int], answers: Answers
) -> int | None:
    """The first row of two or more roles (of one where none has more) with a number below
    it in a column of measures before the next such row; else the row of most roles."""
    best = max(scores, default=0)
    if best == 0:
        return None
    likely = [place for place, score in enumerate(scores) if score >= min(best, 2)]
    for place, stop in zip(likely, [*likely[1:], len(rows)], strict=True):
        if _number_below(rows, place, min(stop, place + _ROWS_BELOW), answers):
            return place
    return scores.index(best) if best > 1 else None


def _score(row: Sequence[object], answers: Answers) -> int:
    """Number of different roles in a row, 0 where none of them is a measure."""
    senses = [header_sense(cell, answers) for cell in row if isinstance(cell, str) and cell.strip()]
    roles = {sense.role for sense in senses if sense is not None}
    return len(roles) if roles & set(MEASURE_ROLES) else 0


def _number_below(
    rows: Sequence[Sequence[object]], header: int, stop: int, answers: Answers
) -> bool:
    """Whether a cell below a measure's header, above row ``stop``, starts like a number."""
    places = _measure_places(rows[header], answers)
    below = (row[i] for row in rows[header + 1 : stop] for i in places if i < len(row))
    return any(cell_text(cell).strip()[:1].isdigit() for cell in below)


def _measure_places(row: Sequence[object], answers: Answers) -> list[int]:
    return [
        i
        for i, cell in enumerate(row)
        if isinstance(cell, str)
        and (sense := header_sense(cell, answers)) is not None
        and sense.role in MEASURE_ROLES
    ]


def _later_headers(table: Table, rows: Sequence[Sequence[object]], answers: Answers) -> list[int]:
    """Header rows below the first one that say something else than it.

    Only rows with words in a column of measures are looked at: there are few.
    """
    wordy = np.zeros(table.last_row - table.first_row + 1, dtype=bool)
    for column, sense in zip(table.columns, table.senses, strict=True):
        if sense is not None and sense.role in MEASURE_ROLES:
            wordy |= column.where_words(lambda text: text[:1].isalpha())
    found = []
    current = _trimmed([cell_text(cell) for cell in rows[table.header_row - 1]])
    for place in (np.flatnonzero(wordy) + table.first_row - 1).tolist():
        texts = _trimmed([cell_text(cell) for cell in rows[place]])
        if texts != current and _score(rows[place], answers) >= 2:
            found.append(place)
            current = texts
    return found


def _trimmed(texts: list[str]) -> list[str]:
    kept = [text.strip() for text in texts]
    while kept and not kept[-1]:
        kept.pop()
    return kept


def _title(rows: Sequence[Sequence[object]]) -> str:
    lines = (
        " ".join(text for cell in row if (text := cell_text(cell).strip()))
        for row in rows
        if _filled(row)
    )
    return " / ".join(lines)


def _table(
    file: str, sheet: Sheet, top: _TopHeader, stop: int, title: str, answers: Answers
) -> Table:
    start = top.last
    headers = [cell_text(cell) for cell in top.cells]
    first = start + 1
    units = _units_below(sheet.rows[first:stop], headers, answers)
    first += bool(units)
    body = sheet.rows[first:stop]
    width = max(map(len, body), default=0)
    headers += [""] * (width - len(headers))
    padded = body if set(map(len, body)) <= {len(headers)} else _padded(body, len(headers))
    flat = list(chain.from_iterable(padded))  # quicker than zip
    columns, senses, places = [], [], []
    names = _distinct([h.strip() or column_letters(i) for i, h in enumerate(headers)])
    for place, (header, name) in enumerate(zip(headers, names, strict=True)):
        column = column_of(name, flat[place :: len(headers)])
        if header.strip() or column.filled().any():
            columns.append(column)
            places.append(place)
            sense = header_sense(header or (name if start < 0 else ""), answers)
            if not header.strip():  # a column without a header goes by its letter in a map
                sense = answers.columns.get(plain_words(name), sense)
            senses.append(_with_unit(sense, units.get(place, "")))
    return Table(
        file, sheet.name, start + 1, first + 1, stop, title, tuple(senses), tuple(columns),
        tuple(places), sheet.marks,
    )  # fmt: skip


def _distinct(names: list[str]) -> list[str]:
    """The names, a repeated one with its number behind: note, note (2)."""
    seen: Counter[str] = Counter()
    found = []
    for name in names:
        seen[name] += 1
        found.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return found


def _padded(rows: Sequence[Sequence[object]], width: int) -> list[list[object]]:
    return [[*row, *[""] * (width - len(row))] for row in rows]


def _units_below(
    rows: Sequence[Sequence[object]], headers: list[str], answers: Answers
) -> dict[int, str]:
    """Units by place where the row below the header holds nothing but units."""
    texts = [cell_text(cell).strip() for cell in rows[0]] if rows else []
    units = {i: unit_of_word(text.strip("()[] ")) for i, text in enumerate(texts) if text}
    known = {i: unit for i, unit in units.items() if unit is not None}
    if not known or len(known) < len(units) or '"' in texts:
        return {}
    measures = set(_measure_places(headers, answers))
    return known if set(known) <= measures else {}


def _with_unit(sense: Sense | None, unit: str) -> Sense | None:
    if sense is None or sense.unit or not unit:
        return sense
    if unit not in unit_factors(sense.role) and "g" not in unit_factors(sense.role):
        return sense
    return Sense(sense.role, unit, sense.repeat, sense.person, sense.rank, sense.why)
