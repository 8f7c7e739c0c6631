"""The papers of a version: the full report, its cuts for other readers, the tables."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from lotscreen import __version__
from lotscreen.issuing.archive import TESTS, Archive
from lotscreen.issuing.inputs import second_tests
from lotscreen.ledger.history import ISSUED, History
from lotscreen.report import tables
from lotscreen.report.csv_text import csv_text
from lotscreen.report.cuts.paper import Paper, paper_bytes
from lotscreen.report.cuts.register import CUTS
from lotscreen.report.view import report_view
from lotscreen.report.workbook import write_workbook
from lotscreen.screening import Screening
from lotscreen.second_tests.together import LotExplained


def papers_of(archive: Archive, screening: Screening, history: History) -> dict[str, bytes]:
    """Every paper by its file's name: PDF cuts, then the tables and the workbook."""
    stem = str(archive.about["stem"])
    tests = second_tests(screening, archive.members.get(TESTS))
    paper = paper_of(screening, history, archive.about, tests)
    papers = {f"{stem}-{cut.name}.pdf": paper_bytes(paper, cut) for cut in CUTS}
    for name, frame, decimals in (
        ("coins", tables.coins_frame(screening), tables.COIN_DECIMALS),
        ("readings", tables.readings_frame(screening), tables.READING_DECIMALS),
    ):
        papers[f"{stem}-{name}.csv"] = csv_text(frame, decimals).encode("utf-8")
    papers[f"{stem}-coins.xlsx"] = _workbook(screening, history.head[:12])
    return papers


def paper_of(
    screening: Screening, history: History, about: Mapping[str, Any], tests: LotExplained | None
) -> Paper:
    """What the pages look at."""
    issued = history.of_kind(ISSUED)
    before = history.up_to(issued[-1].number) if issued else None
    return Paper(
        lot=history.lot,
        version=int(about["version"]),
        replaces=int(about["replaces"]),
        at=str(about["at"]),
        by=str(about["by"]),
        history=history,
        before=before,
        packages=str(about["packages"]),
        tests=tests,
        view=report_view(screening, None, __version__),
    )


def _workbook(screening: Screening, run: str) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "coins.xlsx"
        write_workbook(screening, __version__, run, path)
        return path.read_bytes()
