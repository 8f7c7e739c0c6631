"""Values copied down and blocks of rows pasted twice.

Equal weights are common where a balance shows a tenth of a gram. So each check asks how
often chance would bring what is seen, had the values of the column been drawn in any
order, and speaks where that is hardly ever.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import islice

import numpy as np
import pandas as pd

from lotscreen.intake.grid import Column
from lotscreen.intake.identity import (
    Digests,
    carried_on,
    digest_with,
    digest_with_numbers,
    start_digest,
)
from lotscreen.intake.noted import Noted, block_doubt, cell_doubt
from lotscreen.intake.readings import MeasureRead
from lotscreen.intake.whole_table import WholeTable
from lotscreen.records import Bools, Floats, Ints
from lotscreen.words import say

_ODDS = 1e-5  # expected number of such runs or blocks in a column by chance
_LOG_NEIGHBOURS_ALIKE = math.log(1.5)  # coins that lie together have often worn alike
_ODDS_OF_TWINS = 0.05  # as _ODDS, for two neighbouring rows that agree in two readings
_SHORTEST_RUN = 4
_SHORTEST_BLOCK = 2
_SORTED_SHARE = 0.95
_MOST_NAMED = 10


def stuck_values(whole: WholeTable) -> Iterator[Noted]:
    """One doubt a run of rows with one reading: a key held down, or a cell copied down."""
    for read in whole.reads:
        rows = np.flatnonzero(whole.coins & np.isfinite(read.written))
        runs = _long_runs(read, rows, whole.named.type_text)
        if not runs or _is_sorted(read, rows):
            continue
        for start, stop in _stuck_runs(read, rows, whole.named.type_text, runs):
            first, last = (whole.sheet_row(int(rows[i])) for i in (start, stop - 1))
            yield block_doubt(
                "stuck", int(rows[start]), read.measure.column.header,
                str(read.measure.column.texts[rows[start]]),
                count=stop - start, rows=say("intake.rows.several", first=first, last=last),
            )  # fmt: skip


def _long_runs(read: MeasureRead, rows: Ints, types: Column) -> list[tuple[int, int]]:
    """Runs of four or more equal readings of one type, as (start, stop) in ``rows``."""
    if len(rows) < _SHORTEST_RUN:
        return []
    codes = read.measure.column.codes[rows]
    again = codes[1:] == codes[:-1]
    # Where a reading equals the two before and the one behind it, a run is four long.
    if not (again[2:] & again[1:-1] & again[:-2]).any():
        return []
    again &= types.codes[rows][1:] == types.codes[rows][:-1]
    starts = np.flatnonzero(np.r_[True, ~again])
    stops = np.r_[starts[1:], len(rows)]
    long = stops - starts >= _SHORTEST_RUN
    return list(zip(starts[long].tolist(), stops[long].tolist(), strict=True))


def _is_sorted(read: MeasureRead, rows: Ints) -> bool:
    """Whether the rows stand in the order of this reading; then equal ones stand together."""
    steps = np.diff(read.written[rows])
    share = max(np.mean(steps >= 0), np.mean(steps <= 0))
    return bool(share >= _SORTED_SHARE and (steps != 0).any())


def _stuck_runs(
    read: MeasureRead, rows: Ints, types: Column, runs: list[tuple[int, int]]
) -> Iterator[tuple[int, int]]:
    """Those of the runs that are too long for chance."""
    values, of_type = read.written[rows], types.codes[rows]
    for start, stop in runs:
        log_chance = _log_chance(values, of_type, start, stop - start) + _LOG_NEIGHBOURS_ALIKE
        log_chance = (stop - start) * min(0.0, log_chance)
        if math.log(int((of_type == of_type[start]).sum())) + log_chance < math.log(_ODDS):
            yield start, stop


def _log_chance(values: Floats, of_type: Ints, at: int, besides: int = 1) -> float:
    """Log of the share that the value at ``at`` has among the other readings of its type,
    ``besides`` of its own left out, one added so that a value seen nowhere else has some."""
    alike = of_type == of_type[at]
    others = max(0, int((alike & (values == values[at])).sum()) - besides)
    return math.log((others + 1) / (int(alike.sum()) - besides + 1))


def repeated_rows(whole: WholeTable) -> Iterator[Noted]:
    """One doubt a row that says the same as the row above it, and one a block of rows that
    repeats an earlier block, reading by reading."""
    rows = np.flatnonzero(whole.coins & _any_reading(whole))
    if len(rows) < 2:
        return
    content = _content(whole, rows)
    yield from _entered_twice(whole, rows, content)
    if len(rows) >= 2 * _SHORTEST_BLOCK:
        yield from _pasted_blocks(whole, rows, content)


def _pasted_blocks(whole: WholeTable, rows: Ints, content: Digests) -> Iterator[Noted]:
    length = _length_beyond_chance(whole, rows)
    log_pairs = 2 * math.log(len(rows))
    found = (
        (first, again, count)
        for first, again, count in _repeats(content, length)
        if log_pairs + _log_chance_of_rows(whole, rows, again, count) < math.log(_ODDS)
    )
    for first, again, count in islice(found, _MOST_NAMED):
        yield block_doubt(
            "pasted", int(rows[again]), whole.table.columns[0].header, "",
            rows=_rows(whole, rows, again, count), origin=_rows(whole, rows, first, count),
        )  # fmt: skip


def _entered_twice(whole: WholeTable, rows: Ints, content: Digests) -> Iterator[Noted]:
    """Rows that agree with the one above in two or more readings."""
    alike = content[1:] == content[:-1]
    if not alike.any():
        return
    several = np.sum([np.isfinite(read.value[rows]) for read in whole.reads], axis=0)
    for at in (np.flatnonzero(alike & (several[1:] >= 2)) + 1).tolist():
        chance = _log_chance_of_rows(whole, rows, at, 1)
        one_of_many = at > 1 and alike[at - 2]
        if math.log(len(rows)) + chance < math.log(_ODDS_OF_TWINS) and not one_of_many:
            row = int(rows[at])
            column = whole.named.number if whole.named.number.header else whole.table.columns[0]
            yield cell_doubt("entered_twice", row, column.header, str(column.texts[row]))


def _rows(whole: WholeTable, rows: Ints, start: int, count: int) -> str:
    first, last = (whole.sheet_row(int(rows[i])) for i in (start, start + count - 1))
    return say(f"intake.rows.{'one' if first == last else 'several'}", first=first, last=last)


def _any_reading(whole: WholeTable) -> Bools:
    found: Bools = np.any([np.isfinite(read.value) for read in whole.reads], axis=0)
    return found


def _content(whole: WholeTable, rows: Ints) -> Digests:
    """A digest a row of its date, type and readings, without its number."""
    digest = start_digest(len(rows))
    digest = digest_with(digest, "date", whole.named.date_text.rows(rows))
    digest = digest_with(digest, "type", whole.named.type_text.rows(rows))
    for place, read in enumerate(whole.reads):
        digest = digest_with_numbers(digest, str(place), read.written[rows])
    return digest


def _length_beyond_chance(whole: WholeTable, rows: Ints) -> int:
    """How many equal rows in sequence chance would not bring twice if the whole table were
    of one type: shorter blocks are not looked for."""
    log_same = 0.0
    for read in whole.reads:
        counts = np.bincount(read.measure.column.codes[rows])
        log_same += math.log(float(np.sum((counts / len(rows)) ** 2)))
    if log_same > -1e-9:
        return len(rows)  # all rows are alike
    return max(_SHORTEST_BLOCK, math.ceil((math.log(_ODDS) - 2 * math.log(len(rows))) / log_same))


def _log_chance_of_rows(whole: WholeTable, rows: Ints, start: int, count: int) -> float:
    of_type = whole.named.type_text.codes[rows]
    return sum(
        _log_chance(read.written[rows], of_type, at)
        for read in whole.reads
        for at in range(start, start + count)
        if np.isfinite(read.value[rows[at]])
    )


def _repeats(content: Digests, length: int) -> Iterator[tuple[int, int, int]]:
    """(first row, row where it is repeated, rows) of the longest repeated blocks that are
    not one row over and over, which is a stuck value."""
    if 2 * length > len(content):
        return
    windows = len(content) - length + 1
    sums = start_digest(windows)
    varied = np.zeros(windows, dtype=np.bool_)
    for place in range(length):
        here = content[place : place + windows]
        sums = carried_on(sums, here)
        varied |= here != content[:windows]
    if not pd.Index(sums).duplicated().any():
        return
    _, earliest, which = np.unique(sums, return_index=True, return_inverse=True)
    first_seen = earliest[which]
    again = np.flatnonzero(varied & (first_seen + length <= np.arange(windows)))
    done = 0
    for place in again.tolist():
        if place < done:
            continue
        first, count = int(first_seen[place]), length
        while place + count < len(content) and content[first + count] == content[place + count]:
            count += 1
        yield first, place, min(count, place - first)
        done = place + count
