"""Numbers that are missing where coins are numbered one after the other."""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from lotscreen.intake.noted import Noted, block_doubt
from lotscreen.intake.whole_table import WholeTable
from lotscreen.records import Ints

_NUMBERED = re.compile(r"(?P<before>.*?)(?P<number>\d{1,9})(?P<after>\D{0,2})", re.DOTALL)
_FEWEST = 5
_MOST_MISSING_SHARE = 0.2  # more gaps than this: the numbers do not count the coins
_MOST_RUNS_SAID = 8


def missing_numbers(whole: WholeTable) -> Iterator[Noted]:
    """One doubt a series of numbers (of one lot, one roll, one prefix) that has gaps."""
    for lot, rows in _by_lot(whole):
        for prefix, (numbers, first) in _series(whole, rows).items():
            runs, count = _gaps(numbers)
            if 0 < count <= _MOST_MISSING_SHARE * len(numbers):
                said = ", ".join(prefix + run for run in runs[:_MOST_RUNS_SAID])
                more = " ..." if len(runs) > _MOST_RUNS_SAID else ""
                key = "numbers_missing_in_lot" if lot else "numbers_missing"
                yield block_doubt(
                    key, first, whole.named.number.header, "", count=count, lot=lot,
                    numbers=said + more, low=f"{prefix}{numbers.min()}",
                    high=f"{prefix}{numbers.max()}",
                )  # fmt: skip


def _by_lot(whole: WholeTable) -> Iterator[tuple[str, Ints]]:
    """Rows of coins with a number, lot by lot; groups and checks have numbers of their own."""
    rows = np.flatnonzero(whole.coins & whole.named.number.filled())
    codes = whole.named.lot.codes[rows]
    for code in np.unique(codes):
        yield str(whole.named.lot.levels[code]), rows[codes == code]


def _series(whole: WholeTable, rows: Ints) -> dict[str, tuple[Ints, int]]:
    """Distinct numbers by the text before them, and the first row of each series."""
    found: dict[str, tuple[list[int], int]] = {}
    number = whole.named.number
    if number.all_numbers:  # stored as numbers: no text before them
        plain = np.unique(number.number(float)[rows])
        whole_ones = plain[(plain == np.rint(plain)) & (np.abs(plain) < 1e9)].astype(np.int64)
        return {"": (whole_ones, int(rows[0]))} if len(whole_ones) >= _FEWEST else {}
    for row, text in zip(rows.tolist(), number.texts[rows].tolist(), strict=True):
        match = _NUMBERED.fullmatch(text.strip())
        if match is not None:
            found.setdefault(match["before"], ([], row))[0].append(int(match["number"]))
    return {
        prefix: (np.unique(np.array(numbers, dtype=np.int64)), first)
        for prefix, (numbers, first) in found.items()
        if len(numbers) >= _FEWEST
    }


def _gaps(numbers: Ints) -> tuple[list[str], int]:
    """Runs of missing numbers in words ('51', '54-56') and how many numbers they are."""
    steps = np.diff(numbers)
    runs = []
    for at in np.flatnonzero(steps > 1).tolist():
        first, last = int(numbers[at]) + 1, int(numbers[at + 1]) - 1
        runs.append(str(first) if first == last else f"{first}-{last}")
    return runs, int(np.sum(steps[steps > 1] - 1))
