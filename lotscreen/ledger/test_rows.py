"""Second tests of the ledger as the sheet that the room of second tests reads.

So that a test which was written down can always be taken, it is read once before it is
written: what that reader cannot take is refused with its own words.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping
from typing import Any

from lotscreen.intake.grid import Book
from lotscreen.intake.guards import digest_of
from lotscreen.intake.readers import read_delimited
from lotscreen.ledger.chain import Entry
from lotscreen.records import InputError
from lotscreen.second_tests.sheet import ResultSheet, results_of_book

NAME = "second_tests.csv"
_COLUMNS = ("coin", "test", "value", "unit", "temperature", "instrument", "who", "reference",
            "thread", "step", "offset", "repeatability", "note")  # fmt: skip
_FIELDS = {"repeatability": "repeat"}
_COMMA = re.compile(r"(?<=\d),(?=\d)")


def checked_test(body: Mapping[str, Any], where: str) -> dict[str, Any]:
    """The body of a second test with a point for a decimal sign; InputError where it says
    nothing that can be taken."""
    mended = {**body, "value": _COMMA.sub(".", str(body["value"]))}
    not_taken = read_tests_of(_rows_text([{**mended, "who": ""}])).not_taken
    if not_taken:
        raise InputError(f"{where}: {not_taken[0].partition(': ')[2] or not_taken[0]}")
    return mended


def tests_text(entries: Iterable[tuple[Entry, Mapping[str, Any]]]) -> bytes:
    """The second tests of a lot, as corrected since, as a sheet; b'' where there are none."""
    rows = [{**body, "who": entry.by} for entry, body in entries]
    return _rows_text(rows) if rows else b""


def read_tests_of(content: bytes) -> ResultSheet:
    """The results in such a sheet."""
    return results_of_book(Book(NAME, digest_of(content), read_delimited(content, NAME)))


def _rows_text(rows: Iterable[Mapping[str, Any]]) -> bytes:
    held = io.StringIO(newline="")
    table = csv.writer(held, lineterminator="\n")
    table.writerow(_COLUMNS)
    for row in rows:
        table.writerow([row.get(_FIELDS.get(name, name), "") for name in _COLUMNS])
    return held.getvalue().encode("utf-8")
