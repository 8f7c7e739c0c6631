"""All files of a run, written to one folder."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from lotscreen import __version__
from lotscreen.report import tables
from lotscreen.report.csv_text import csv_text
from lotscreen.report.cut import cut_to_lot
from lotscreen.report.folder import folder_name, publish, run_digest, write_text
from lotscreen.report.lot_json import lot_json
from lotscreen.report.pdf import write_report
from lotscreen.report.summary_text import summary_text
from lotscreen.report.workbook import write_workbook
from lotscreen.words import say

if TYPE_CHECKING:
    import pandas as pd

    from lotscreen.screening import Screening

FILES = (
    "report.pdf", "coins.csv", "coins.xlsx", "readings.csv", "groups.csv", "left_out.csv",
    "lot.json",
)  # fmt: skip
DEFAULT_BASE = Path("reports")


@dataclass(frozen=True, slots=True)
class Written:
    """Where a run is: its folder, its digest, whether all of it was there already.
    ``screening`` is what the files are about: cut where one lot was asked for."""

    folder: Path
    run: str
    already_there: bool
    screening: Screening
    json_text: str

    def summary(self) -> str:
        """The run as one screen of text, 80 columns by 22 lines at most."""
        key = "summary.folder_again" if self.already_there else "summary.folder"
        where = [say(key, folder=self.folder), "  " + " ".join(FILES)]
        return summary_text(self.screening, __version__, where)


def write_outputs(
    screening: Screening,
    folder: Path | None = None,
    *,
    lot: str | None = None,
    progress: Callable[[str], None] | None = None,
) -> Written:
    """Write ``FILES`` to ``folder`` (default ``reports/<sheet>-<digest>``).

    ``lot`` cuts all of them to one lot (InputError where there is none of that name).
    The choices that led to ``screening`` are printed in lot.json and enter the digest. The
    same run in the same folder is left as it is;
    OutputError where the folder holds anything else, or cannot be written.
    """
    chosen = dict(screening.given)
    if lot is not None:
        chosen["lot"] = lot
    run = run_digest(screening, chosen, __version__)
    one = screening if lot is None else cut_to_lot(screening, lot)
    target = folder or DEFAULT_BASE / folder_name(one.intake.sources, run)
    json_text = lot_json(one, chosen, __version__, run)
    writers = _writers(one, lot, run, json_text)
    told = {name: partial(_told, name, write, progress) for name, write in writers.items()}
    already_there = publish(target, told)
    return Written(target, run, already_there, one, json_text)


def _writers(
    screening: Screening, lot: str | None, run: str, json_text: str
) -> dict[str, Callable[[Path], None]]:
    def table(
        frame: Callable[[Screening], pd.DataFrame], decimals: Mapping[str, int], path: Path
    ) -> None:
        write_text(csv_text(frame(screening), decimals), path)

    return {
        "report.pdf": lambda path: write_report(screening, lot, __version__, path),
        "coins.csv": partial(table, tables.coins_frame, tables.COIN_DECIMALS),
        "coins.xlsx": lambda path: write_workbook(screening, __version__, run, path),
        "readings.csv": partial(table, tables.readings_frame, tables.READING_DECIMALS),
        "groups.csv": partial(table, tables.groups_frame, tables.GROUP_DECIMALS),
        "left_out.csv": partial(table, tables.left_out_frame, {}),
        "lot.json": partial(write_text, json_text),
    }


def _told(
    name: str, write: Callable[[Path], None], progress: Callable[[str], None] | None, path: Path
) -> None:
    if progress is not None:
        progress(say("cli.writing", name=name))
    write(path)
