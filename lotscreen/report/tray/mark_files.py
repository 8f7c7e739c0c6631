"""The files of a marked set: tables, one report a trainee, one for the supervisor."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path
from typing import Any

from lotscreen.report.csv_text import csv_text
from lotscreen.report.folder import DIGEST_LENGTH, folder_name, publish, write_text
from lotscreen.report.pdf import typeset_bytes
from lotscreen.report.printable import printable
from lotscreen.report.tray.house_words import House
from lotscreen.report.tray.mark_tables import (
    MARK_DECIMALS,
    PIECE_DECIMALS,
    left_out_frame,
    marks_frame,
    pieces_frame,
)
from lotscreen.report.tray.supervisor_pages import supervisor_blocks
from lotscreen.report.tray.trainee_pages import trainee_blocks
from lotscreen.tray.marking.marked import Marked
from lotscreen.words import say

DEFAULT_BASE = Path("reports")


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
        "supervisor.pdf": partial(_supervisor, marked, house, run, version),
        **{
            f"{_file_name(person.code)}.pdf": partial(
                _trainee, marked, person.code, house, run, version
            )
            for person in marked.people
        },
        "marks.csv": partial(write_text, csv_text(marks_frame(marked), MARK_DECIMALS)),
        "pieces.csv": partial(write_text, csv_text(pieces_frame(marked), PIECE_DECIMALS)),
        "left_out.csv": partial(write_text, csv_text(left_out_frame(marked), {})),
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


def _file_name(code: str) -> str:
    """A code without what a file system may refuse."""
    return re.sub(r"[^\w.-]+", "-", code)


def _supervisor(marked: Marked, house: House, run: str, version: str, path: Path) -> None:
    build = partial(supervisor_blocks, marked, house)
    path.write_bytes(typeset_bytes(build, _frame("supervisor", run, version)))


def _trainee(marked: Marked, code: str, house: House, run: str, version: str, path: Path) -> None:
    build = partial(trainee_blocks, marked, code, house)
    path.write_bytes(typeset_bytes(build, _frame("trainee", run, version, code)))


def _frame(kind: str, run: str, version: str, code: str = "") -> dict[str, Any]:
    facts = {"code": printable(code), "version": version, "run": run}
    return {
        "title": say(f"tray_marking.frame.{kind}_title", **facts),
        "description": say(f"tray_marking.frame.{kind}_description", **facts),
        "running_head": say("tray_marking.frame.head", **facts),
        "footer": say("tray_marking.frame.foot", **facts),
    }


def _told(
    number: int, of: int, write: Callable[[Path], None], tell: Callable[[str], None], path: Path
) -> None:
    tell(say("tray_marking.cli.progress", n=number, of=of))
    write(path)
