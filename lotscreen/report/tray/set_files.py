"""All files of a set of trays in one folder; nothing there is overwritten unasked."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from lotscreen import __version__
from lotscreen.report.blocks import Block
from lotscreen.report.csv_text import csv_text
from lotscreen.report.folder import publish, write_text
from lotscreen.report.pdf import typeset_bytes
from lotscreen.report.printable import printable
from lotscreen.report.tray.answers_workbook import write_answers_workbook
from lotscreen.report.tray.custody_pdf import custody_blocks
from lotscreen.report.tray.key_pdf import key_blocks
from lotscreen.report.tray.trays_pdf import tray_blocks
from lotscreen.tray.built import BuiltSet
from lotscreen.tray.custody import Custody, custody_of
from lotscreen.tray.tables import (
    KEY,
    KEY_DECIMALS,
    TOLD,
    TOLD_DECIMALS,
    custody_frame,
    key_frame,
    told_frame,
)
from lotscreen.words import phrase, say

TRAYS, ANSWERS = "trays.pdf", "answers.xlsx"
KEY_PDF = "KEY.pdf"
REGISTER = "register.csv"
CUSTODY_PDF, CUSTODY = "custody.pdf", "custody.csv"


def write_set(built: BuiltSet, folder: Path) -> bool:
    """Write the files of ``built`` to ``folder``; whether all were there already.

    An invented set has its register instead of a custody list, for there is nothing to
    count. OutputError where
    the folder holds anything else, or cannot be written.
    """
    name = built.order.name
    writers: dict[str, Callable[[Path], None]] = {
        TRAYS: partial(_pdf, partial(tray_blocks, built), "trays", name),
        ANSWERS: partial(write_answers_workbook, built),
        KEY_PDF: partial(_pdf, partial(key_blocks, built), "key", name),
        KEY: partial(write_text, csv_text(key_frame(built), KEY_DECIMALS)),
        TOLD: partial(write_text, csv_text(told_frame(built), TOLD_DECIMALS)),
    }
    if built.register is not None:
        writers[REGISTER] = partial(write_text, csv_text(built.register, {}))
    else:
        build = partial(custody_blocks, custody_of(built), name)
        writers[CUSTODY_PDF] = partial(_pdf, build, "custody", name)
        writers[CUSTODY] = partial(write_text, csv_text(custody_frame(built), {}))
    return publish(folder, writers)


def custody_bytes(custody: Custody) -> bytes:
    """The custody list as PDF, as counted."""
    name = custody.set_name
    return typeset_bytes(partial(custody_blocks, custody, name), _words("custody", name))


def _pdf(build: Callable[[], list[Block]], which: str, name: str, path: Path) -> None:
    path.write_bytes(typeset_bytes(build, _words(which, name)))


def _words(which: str, name: str) -> dict[str, Any]:
    return {
        "title": printable(say(f"tray_building.frame.{which}_title", name=name)),
        "description": phrase(f"tray_building.frame.{which}_description"),
        "running_head": printable(
            say(f"tray_building.frame.{which}_head", name=name, version=__version__)
        ),
        "footer": printable(say(f"tray_building.frame.{which}_foot", name=name)),
    }
