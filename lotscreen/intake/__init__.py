"""From sheets to items and readings: files read, tables found, cells understood.

Nothing in a sheet is altered: every reading keeps its cell verbatim, what is odd becomes
a doubt with a proposal, and every row read is an item or left out with a reason.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from lotscreen.intake.books import intake_of
from lotscreen.intake.native import uncollected
from lotscreen.intake.options import ReadOptions, checked, load_mapping, options_from_words
from lotscreen.intake.readers import READERS, book_of_frame, read_book
from lotscreen.intake.units import UnitUnknownError
from lotscreen.records import InputError, Intake
from lotscreen.words import say

__all__ = [
    "READERS",
    "ReadOptions",
    "UnitUnknownError",
    "load_mapping",
    "options_from_words",
    "read_frame",
    "read_sheets",
]

_NO_OPTIONS = ReadOptions()


def read_sheets(paths: Sequence[Path], options: ReadOptions = _NO_OPTIONS) -> Intake:
    """Read files into items, readings, rows left out and doubts.

    ``paths`` are files of the suffixes in ``READERS``, of any sheet order and column
    order. In ``items`` the columns ``year`` and ``position`` are floats, NaN for none;
    in ``readings`` every value is finite, in grams, millimetres, g/cm3 or % IACS, a
    gross weight is less its tare, and rows go column after column, not coin after coin.
    Raises InputError where a file cannot be read or no table is understood.
    """
    answers = checked(options)
    if not paths:
        raise InputError(say("intake.error.no_file"))
    with uncollected():
        return intake_of([read_book(Path(path)) for path in paths], answers)


def read_frame(
    frame: pd.DataFrame, name: str = "frame", options: ReadOptions = _NO_OPTIONS
) -> Intake:
    """Read a frame as if it were a file called ``name`` with the column names as row 1."""
    return intake_of([book_of_frame(frame, name)], checked(options))
