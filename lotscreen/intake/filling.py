"""Ditto marks, cells left empty under a filled one, and lines that stand above rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lotscreen.intake.grid import Column
from lotscreen.intake.rows import Section
from lotscreen.intake.vocabulary import is_ditto, is_missing
from lotscreen.records import Bools, Ints


@dataclass(frozen=True, slots=True)
class Filled:
    """A column filled down: ``runs`` are (first row, last row, row it was filled from) of
    ditto marks, ``blank_runs`` of empty cells, ``merged_runs`` of cells merged with the one
    above; ``hanging`` marks dittos with nothing above them. Rows count from 0 in the table."""

    column: Column
    runs: tuple[tuple[int, int, int], ...]
    blank_runs: tuple[tuple[int, int, int], ...]
    hanging: Bools
    merged_runs: tuple[tuple[int, int, int], ...] = ()


def filled_down(
    column: Column, usable: Bools, blanks_too: bool, merged: Sequence[tuple[int, int]] = (),
    within: Column | None = None,
) -> Filled:  # fmt: skip
    """Fill ditto marks, cells of ``merged`` (first row, last row) and, where the column is
    mostly empty, blanks of ``usable`` rows from the nearest usable row above that says
    something, if it says the same ``within`` another column."""
    ditto = usable & column.where_words(is_ditto)
    blank = usable & ~column.filled()
    says = usable & ~ditto & ~blank
    in_merged = np.zeros(len(column), dtype=np.bool_)
    for first, last in merged:
        in_merged[first + 1 : last + 1] = True
    in_merged &= blank
    fill_blanks = blanks_too and _mostly_blank(says, blank & ~in_merged)
    above = np.maximum.accumulate(np.where(says, np.arange(len(column)), -1))
    wanted = ditto | in_merged | (blank if fill_blanks else False)
    done = wanted & (above >= 0)
    if within is not None:
        said = within.texts
        done &= said[above] == said
    if not wanted.any():
        return Filled(column, (), (), ditto)
    codes = column.codes.copy()
    codes[done] = column.codes[above[done]]
    return Filled(
        replace(column, codes=codes),
        _runs(done & ditto, above),
        _runs(done & blank & ~in_merged, above),
        ditto & ~done,
        _runs(done & in_merged, above),
    )


def _mostly_blank(says: Bools, blank: Bools) -> bool:
    """Whether a column looks like merged cells: its first cell says something, and at
    least half of the others are empty."""
    both = says | blank
    return bool(both.any() and says[np.argmax(both)] and blank.sum() >= says.sum())


def _runs(done: Bools, above: Ints) -> tuple[tuple[int, int, int], ...]:
    """Neighbouring filled rows with one origin as (first, last, origin)."""
    rows = np.flatnonzero(done)
    if len(rows) == 0:
        return ()
    origin = above[rows]
    starts = np.flatnonzero(np.r_[True, origin[1:] != origin[:-1]])
    ends = np.r_[starts[1:], len(rows)] - 1
    return tuple(
        (int(rows[a]), int(rows[b]), int(origin[a])) for a, b in zip(starts, ends, strict=True)
    )


def under_sections(
    column: Column, sections: tuple[Section, ...], usable: Bools
) -> tuple[Column, frozenset[int]]:
    """Give the usable rows whose cell says nothing the text of the section above them; also the
    rows of the sections that were of use."""
    if not sections:
        return column, frozenset()
    opened = np.full(len(column), -1, dtype=np.int64)
    for place, section in enumerate(sections):
        opened[section.row] = place
    opened = np.maximum.accumulate(opened)
    wanted = usable & (opened >= 0) & column.where(is_missing)
    used = frozenset(sections[place].row for place in np.unique(opened[wanted]))
    return column.with_text(wanted, [sections[place].text for place in opened[wanted]]), used
