"""The papers of a version: the full report, its cuts for other readers, the tables."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from lotscreen import __version__
from lotscreen.ledger.history import ISSUED, History
from lotscreen.report import tables
from lotscreen.report.csv_text import csv_text
from lotscreen.report.cuts.paper import Paper, paper_bytes
from lotscreen.report.cuts.register import CUTS
from lotscreen.report.view import report_view
from lotscreen.report.workbook import write_workbook
from lotscreen.screening import Screening


def papers_of(
    screening: Screening, history: History, about: Mapping[str, Any], stem: str
) -> dict[str, bytes]:
    """Every paper by its file's name: PDF cuts, then the tables and the workbook."""
    paper = paper_of(screening, history, about)
    papers = {f"{stem}-{cut.name}.pdf": paper_bytes(paper, cut) for cut in CUTS}
    for name, frame, decimals in (
        ("coins", tables.coins_frame(screening), tables.COIN_DECIMALS),
        ("readings", tables.readings_frame(screening), tables.READING_DECIMALS),
    ):
        papers[f"{stem}-{name}.csv"] = csv_text(frame, decimals).encode("utf-8")
    papers[f"{stem}-coins.xlsx"] = _workbook(screening, history.head[:12])
    return papers


def paper_of(screening: Screening, history: History, about: Mapping[str, Any]) -> Paper:
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
        view=report_view(screening, None, __version__),
    )


def _workbook(screening: Screening, run: str) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "coins.xlsx"
        write_workbook(screening, __version__, run, path)
        return path.read_bytes()
