"""How long a workbook of many rows takes to read and type, against the bare parser.

``python tests/benchmarks/bench_read.py [ROWS]`` writes an invented workbook of seven columns
with ditto marks and mint marks, reads it by turns with the parser alone and with the reader,
and prints the seconds of processor time of each and the ratio of the medians.
"""

from __future__ import annotations

import io
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import python_calamine
import xlsxwriter

from lotscreen.intake import read_sheets

ROUNDS = 7


def write(path: Path, rows: int) -> None:
    """Halves in rolls of twenty; every third date has a mint mark."""
    rng = np.random.default_rng(1)
    book = xlsxwriter.Workbook(str(path), {"constant_memory": True})
    sheet = book.add_worksheet("coins")
    sheet.write_row(0, 0, ["Roll", "No", "Denom", "Year", "Wt(g)", "D (mm)", "T (mm)"])
    weight, across = rng.normal(12.3, 0.2, rows).round(2), rng.normal(30.6, 0.05, rows).round(2)
    thick, year = rng.normal(2.1, 0.05, rows).round(2), rng.integers(1892, 1964, rows)
    for n in range(rows):
        words = '"' if n % 20 else "US half dollar"
        date = int(year[n]) if n % 3 else f"{year[n]}-S"
        sheet.write_row(n + 1, 0, [n // 20 + 1, n + 1, words, date, weight[n], across[n], thick[n]])
    book.close()


def bare(path: Path) -> None:
    """Every cell of every sheet, as the parser gives it."""
    book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(path.read_bytes()))
    for meta in book.sheets_metadata:
        book.get_sheet_by_name(meta.name).to_python(skip_empty_area=False)


def seconds(work: Callable[[], object]) -> float:
    begin = time.process_time()
    work()
    return time.process_time() - begin


def main() -> None:
    """Print the seconds of both and their ratio."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "many.xlsx"
        write(path, rows)
        read_sheets([path])
        pairs = [
            (seconds(lambda: bare(path)), seconds(lambda: read_sheets([path])))
            for _ in range(ROUNDS)
        ]
    parser, reader = (statistics.median(column) for column in zip(*pairs, strict=True))
    print(f"{rows} rows: parser alone {parser:.2f} s, read and typed {reader:.2f} s, "
          f"ratio {reader / parser:.2f}")  # fmt: skip


if __name__ == "__main__":
    main()
