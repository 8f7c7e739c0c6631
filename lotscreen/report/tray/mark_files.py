"""The files of a marked set: tables, one report a trainee, one for the supervisor."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path

from lotscreen.report.csv_text import csv_text
from lotscreen.report.folder import DIGEST_LENGTH, folder_name, publish
from lotscreen.report.tray.mark_tables import (
    MARK_DECIMALS,
    PIECE_DECIMALS,
    left_out_frame,
    marks_frame,
    pieces_frame,
)
from lotscreen.tray.marking.marked import Marked
from lotscreen.words import say

DEFAULT_BASE = Path("reports")


@dataclass(frozen=True, slots=True)
class House:
    """What the house adds to every report: the day until which answers are kept, to whom
    one may appeal, the permission under which pieces are held; '' leaves a blank line."""

    kept_until: str = ""
    appeal_to: str = ""
    permission: str = ""


@dataclass(frozen=True, slots=True)
class Written:
    """Where the files are, and whether all of them were there already."""

    folder: Path
    already_there: bool


def write_mark_files(
    marked: Marked, house: House, version: str, folder: Path | None, tell: Callable[[str], None]
) -> Written:
    """Write all files to ``folder`` (default ``reports/<answers>-<digest>``); the same set
    again is left as it is, anything else is an OutputError."""
    run = _digest(marked, house, version)
    target = folder or DEFAULT_BASE / folder_name(marked.sources, run)
    writers: dict[str, Callable[[Path], None]] = {
        "marks.csv": partial(_table, lambda: csv_text(marks_frame(marked), MARK_DECIMALS)),
        "pieces.csv": partial(_table, lambda: csv_text(pieces_frame(marked), PIECE_DECIMALS)),
        "left_out.csv": partial(_table, lambda: csv_text(left_out_frame(marked), {})),
    }
    told = {
        name: partial(_told, n, len(writers), write, tell)
        for n, (name, write) in enumerate(writers.items(), 1)
    }
    return Written(target, publish(target, told))


def _digest(marked: Marked, house: House, version: str) -> str:
    decisive = {
        "sources": [(source.name, source.digest) for source in marked.sources],
        "rule": marked.rule.digest if marked.rule else "",
        "set_out": marked.set_out,
        "house": asdict(house),
        "version": version,
    }
    return hashlib.sha256(json.dumps(decisive, sort_keys=True).encode()).hexdigest()[:DIGEST_LENGTH]


def _table(text: Callable[[], str], path: Path) -> None:
    path.write_text(text(), encoding="utf-8", newline="\n")


def _told(
    number: int, of: int, write: Callable[[Path], None], tell: Callable[[str], None], path: Path
) -> None:
    tell(say("tray_marking.cli.progress", n=number, of=of))
    write(path)
