"""The register of readers: which function reads files of which suffix.

A reader takes the bytes of a file and its name without folders and returns its sheets,
cells as found. Adding one is one function and one line in ``READERS``.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping
from pathlib import Path, PurePath
from typing import Any

import numpy as np
import pandas as pd
import pyarrow.parquet
import python_calamine

from lotscreen.intake.delimited import decoded, parsed
from lotscreen.intake.grid import Book, Sheet, SheetMarks
from lotscreen.intake.guards import (
    USUAL_COLUMNS,
    content_of,
    digest_of,
    refuse_other_kind,
    within_bounds,
)
from lotscreen.intake.native import quiet
from lotscreen.intake.package import MOST_CELLS, checked_package
from lotscreen.records import InputError
from lotscreen.words import say

MOST_TEXT_CELLS = 10_000_000
"""Cells of a text file, each of which is a text in memory: a million rows of ten columns."""

Reader = Callable[[bytes, str], tuple[Sheet, ...]]


def read_workbook(content: bytes, name: str) -> tuple[Sheet, ...]:
    """Sheets of an .xlsx, .xlsm, .xls or .ods file, with the values last calculated."""
    marks = checked_package(content, name) if content.startswith(b"PK") else {}
    try:
        with quiet():
            book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(content))
            return tuple(
                _sheet(book, meta.name, marks.get(meta.name, SheetMarks()), name)
                for meta in book.sheets_metadata
                if meta.typ == python_calamine.SheetTypeEnum.WorkSheet
            )
    except python_calamine.PasswordError as error:
        raise InputError(say("intake.error.password", file=name)) from error
    except (python_calamine.CalamineError, OSError) as error:
        raise InputError(say("intake.error.broken", file=name, why=error)) from error
    except BaseException as error:
        # The library's native code reports some broken files by a panic, whose class it
        # does not export and which is no Exception.
        if type(error).__name__ != "PanicException":
            raise
        why = say("intake.error.not_such_a_file")
        raise InputError(say("intake.error.broken", file=name, why=why)) from error


def _sheet(
    book: python_calamine.CalamineWorkbook, name: str, marks: SheetMarks, file: str
) -> Sheet:
    """One sheet; where a formula failed or was never calculated its cell says so."""
    found = book.get_sheet_by_name(name)
    if found.total_height * found.total_width > MOST_CELLS:
        size = {"rows": found.total_height, "columns": found.total_width}
        raise InputError(say("intake.error.too_wide", file=file, sheet=name, **size))
    rows: list[list[Any]] = found.to_python(skip_empty_area=False)
    _put(rows, marks.errors)
    _put(rows, marks.never_calculated)
    sheet = Sheet(name, rows, marks)
    return within_bounds(sheet, file) if found.total_width > USUAL_COLUMNS else sheet


def _put(rows: list[list[Any]], texts: Mapping[tuple[int, int], str]) -> None:
    """Write texts into empty cells; rows grow where they are too short."""
    for (row, column), text in texts.items():
        while len(rows) <= row:
            rows.append([])
        cells = rows[row]
        cells.extend([""] * (column + 1 - len(cells)))
        if cells[column] in ("", None):
            cells[column] = text


def read_delimited(content: bytes, name: str) -> tuple[Sheet, ...]:
    """The one sheet of a .csv, .tsv or .txt file; it is called after the file."""
    most_cells = content.count(b"\n") + max(content.count(sign) for sign in (b",", b";", b"\t"))
    if most_cells > MOST_TEXT_CELLS:
        raise InputError(say("intake.error.too_many_cells", file=name, most=MOST_TEXT_CELLS))
    try:
        rows = parsed(decoded(content))
    except csv.Error as error:
        why = say("intake.error.long_cell", most=csv.field_size_limit())
        raise InputError(say("intake.error.broken", file=name, why=why)) from error
    return (within_bounds(Sheet(PurePath(name).stem, rows), name),)


def read_parquet(content: bytes, name: str) -> tuple[Sheet, ...]:
    """The one table of a .parquet file; row 1 are its column names."""
    try:
        held = pyarrow.parquet.ParquetFile(io.BytesIO(content)).metadata
        if held.num_rows * held.num_columns > MOST_CELLS:
            raise InputError(say("intake.error.too_many_cells", file=name, most=MOST_CELLS))
        frame = pd.read_parquet(io.BytesIO(content))
    except (OSError, ValueError) as error:
        raise InputError(say("intake.error.broken", file=name, why=error)) from error
    return (within_bounds(sheet_of_frame(frame, PurePath(name).stem), name),)


def sheet_of_frame(frame: pd.DataFrame, name: str) -> Sheet:
    """A frame as a sheet: row 1 are the column names, missing cells are empty."""
    columns = [_cells_of_series(frame.iloc[:, place]) for place in range(frame.shape[1])]
    rows: list[list[object]] = [[str(header) for header in frame.columns]]
    rows.extend([list(row) for row in zip(*columns, strict=True)])
    return Sheet(name, rows)


def _cells_of_series(series: pd.Series[Any]) -> list[object]:
    cells = series.astype(object).where(series.notna(), "").tolist()
    return [_plain(cell) for cell in cells]


def _plain(cell: object) -> object:
    """The cell; of what no spreadsheet cell can hold, the text."""
    if isinstance(cell, np.ndarray):
        cell = cell.tolist()
    if isinstance(cell, list | dict | set | tuple | bytes):
        cell = str(cell)
    return _printable(cell) if isinstance(cell, str) else cell


def _printable(text: str) -> str:
    """The text; halves of a surrogate pair, which no file can hold, as question marks."""
    return text if text.isascii() else text.encode("utf-8", "replace").decode("utf-8")


READERS: dict[str, Reader] = {
    ".xlsx": read_workbook,
    ".xlsm": read_workbook,
    ".xls": read_workbook,
    ".ods": read_workbook,
    ".csv": read_delimited,
    ".tsv": read_delimited,
    ".txt": read_delimited,
    ".parquet": read_parquet,
}


def read_book(path: Path) -> Book:
    """The file at ``path`` by its suffix; InputError where it cannot be read."""
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        known = " ".join(READERS)
        raise InputError(say("intake.error.suffix", file=path.name, known=known))
    content = content_of(path)
    refuse_other_kind(content, path.name)
    return Book(path.name, digest_of(content), reader(content, path.name))


def book_of_frame(frame: pd.DataFrame, name: str) -> Book:
    """A frame as a file of that name; the digest is of its cells as CSV."""
    content = frame.to_csv(index=False).encode("utf-8", errors="surrogatepass")
    return Book(name, digest_of(content), (sheet_of_frame(frame, name),))
