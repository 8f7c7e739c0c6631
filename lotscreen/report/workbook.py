"""``coins.xlsx``: the tables of a run in one workbook, with a sheet on how to read it.

No cell is a formula; texts are written as found. Findings are told by their words and
by bold type, never by colour. The same screening gives the same bytes: the date of
creation is a constant.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import xlsxwriter

from lotscreen.intake.corrections import NEW_COLUMNS
from lotscreen.records import DispositionKind, FindingKind, ItemKind
from lotscreen.report import tables
from lotscreen.report.csv_text import fixed
from lotscreen.words import say, table

if TYPE_CHECKING:
    from lotscreen.screening import Screening

ROWS_A_SHEET = 1_000_000  # a sheet of the format holds 1,048,576
LONGEST_TEXT = 32_767  # characters a cell of the format holds
MOST_READINGS = 200_000  # of a larger lot they are in readings.csv alone
_CREATED = datetime.datetime(2000, 1, 1)  # a constant, so that the same lot gives the same bytes
_WIDTHS = {
    "coin_id": 12, "source_file": 18, "group": 10, "type": 22, "finding": 16, "reason": 60,
    "doubts": 40, "disposition": 16, "item_id": 20, "explanations": 40, "next_test": 40,
    "metals_admitted": 40, "finding_moves_with": 40, "raw": 40, "why": 50, "proposal": 20,
}  # fmt: skip
_OTHER_WIDTH = 11

_OPTIONS = {
    "constant_memory": True,
    "strings_to_formulas": False,
    "strings_to_numbers": False,
    "strings_to_urls": False,
}


@dataclass(frozen=True, slots=True)
class _Sheet:
    """One table of the workbook; ``bold`` marks its rows, ``decimals`` its float columns."""

    name: str
    frame: pd.DataFrame
    decimals: Mapping[str, int]
    bold: Sequence[bool] | None = None


def write_workbook(screening: Screening, version: str, run: str, path: Path) -> None:
    """Write the workbook to ``path``; OSError where that cannot be done."""
    with path.open("wb") as file:  # first of all, before anything is made that must be undone
        book = xlsxwriter.Workbook(file, _OPTIONS)
        book.use_zip64()
        book.set_properties({"created": _CREATED, "title": say("outputs.title"), "author": ""})
        formats = _Formats(book)
        first, *others = _sheets(screening)
        _write_table(book, formats, first)
        _write_notes(book, formats, screening, version, run)
        for sheet in others:
            _write_table(book, formats, sheet)
        try:
            book.close()
        except xlsxwriter.exceptions.FileCreateError as error:
            reason = error.args[0]  # the library wraps the reason; the caller wants the reason
            raise (reason if isinstance(reason, OSError) else error) from None


class _Formats:
    """Cell formats of one book, made once each."""

    def __init__(self, book: Any) -> None:
        self._book = book
        self._made: dict[tuple[bool, int], Any] = {}
        self.header = book.add_format(
            {"bold": True, "text_wrap": True, "valign": "top", "bottom": 1}
        )
        self.title = book.add_format({"bold": True, "font_size": 14})
        self.heading = book.add_format({"bold": True, "bottom": 1})
        self.words = book.add_format({"text_wrap": True, "valign": "top"})
        self.name = book.add_format({"bold": True, "valign": "top"})

    def cell(self, bold: bool, decimals: int) -> Any:
        """The format of a cell; up to two decimals are always shown, further ones if any."""
        key = (bold, decimals)
        if key not in self._made:
            shown = min(decimals, 2)
            number = "0." + "0" * shown + "#" * (decimals - shown) if decimals else "General"
            self._made[key] = self._book.add_format({"bold": bold, "num_format": number})
        return self._made[key]


def _sheets(screening: Screening) -> Iterator[_Sheet]:
    names = table("outputs")["sheets"]
    coins = tables.coins_frame(screening)
    bold = [kind not in (FindingKind.CONSISTENT, "") for kind in coins["finding"]]
    densities = tables.densities_frame(screening)
    coins = pd.concat(
        [coins, to_fill_in(len(coins)), as_found_frame(screening), densities], axis="columns"
    )
    decimals = {**tables.COIN_DECIMALS, **tables.DENSITY_DECIMALS}
    for start in range(0, max(len(coins), 1), ROWS_A_SHEET):
        rows = slice(start, start + ROWS_A_SHEET)
        number = start // ROWS_A_SHEET + 1
        name = names["coins"]
        if number > 1:
            name = say("outputs.sheets.further", name=name, number=number)
        yield _Sheet(name, coins.iloc[rows], decimals, bold[rows])
    groups = tables.groups_frame(screening)
    if len(groups):
        yield _Sheet(names["groups"], groups, tables.GROUP_DECIMALS)
    left_out = tables.left_out_frame(screening)
    if len(left_out):
        yield _Sheet(names["left_out"], left_out, {})
    doubts = tables.doubts_frame(screening)
    if len(doubts):
        yield _Sheet(names["doubts"], doubts, {})
    corrections = screening.intake.corrections
    if len(corrections):
        yield _Sheet(names["corrections"], corrections, tables.CORRECTION_DECIMALS)
    if len(screening.intake.readings) <= MOST_READINGS:
        yield _Sheet(names["readings"], tables.readings_frame(screening), tables.READING_DECIMALS)
        others = tables.other_rows_frame(screening)
        if len(others):
            yield _Sheet(names["other_rows"], others, {})


def to_fill_in(coins: int) -> pd.DataFrame:
    """Empty columns for whoever measures a coin anew; they are read back as corrections."""
    return pd.DataFrame({name: [""] * coins for name in NEW_COLUMNS})


def as_found_frame(screening: Screening) -> pd.DataFrame:
    """What coins.csv has no column for: position, type and date as written, and every
    column of the sheet that was not understood, as found."""
    items = tables.aligned_items(screening)
    coins = np.asarray(screening.table.kind == ItemKind.COIN, dtype=np.bool_)
    items = items.loc[coins].reset_index(drop=True)
    headers = dict.fromkeys(header for carried in items["carried"] for header in carried)
    columns: dict[str, Any] = {
        "position": items["position"].astype("Float64").astype("Int64"),
        say("outputs.as_found", header="type"): items["type_text"],
        say("outputs.as_found", header="date"): items["date_text"],
    }
    for header in headers:
        name = say("outputs.as_found", header=header)
        while name in columns:
            name += " "
        columns[name] = [carried.get(header, "") for carried in items["carried"]]
    return pd.DataFrame(columns, index=items.index)


def _write_table(book: Any, formats: _Formats, sheet: _Sheet) -> None:
    page = book.add_worksheet(sheet.name)
    names = [str(name) for name in sheet.frame.columns]
    page.freeze_panes(1, 1)
    page.autofilter(0, 0, max(len(sheet.frame), 1), len(names) - 1)
    page.set_landscape()
    page.set_paper(9)
    page.fit_to_pages(1, 0)
    page.repeat_rows(0)
    for place, name in enumerate(names):
        page.set_column(place, place, _WIDTHS.get(name, _OTHER_WIDTH))
    for place, name in enumerate(names):
        page.write_string(0, place, name, formats.header)
    decimals = [sheet.decimals.get(name, 0) for name in names]
    columns = [sheet.frame[name].astype(object).tolist() for name in sheet.frame.columns]
    if "disposition" in names and len(sheet.frame):
        _offer_dispositions(page, names.index("disposition"), len(sheet.frame))
    bold = sheet.bold or [False] * len(sheet.frame)
    for row, (is_bold, values) in enumerate(zip(bold, zip(*columns, strict=True), strict=True), 1):
        for place, value in enumerate(values):
            _write_cell(page, row, place, value, formats.cell(is_bold, decimals[place]))


def _offer_dispositions(page: Any, place: int, rows: int) -> None:
    """The empty column offers what a person may decide; a blank stays allowed."""
    kinds = [kind.value for kind in DispositionKind]
    choice = {
        "validate": "list",
        "source": kinds,
        "ignore_blank": True,
        "error_title": say("outputs.disposition.title"),
        "error_message": say("outputs.disposition.other", kinds=", ".join(kinds)),
    }
    page.data_validation(1, place, rows, place, choice)


def _write_cell(page: Any, row: int, place: int, value: Any, clothes: Any) -> None:
    if isinstance(value, str):
        if value:
            page.write_string(row, place, _short_enough(value), clothes)
    elif not pd.isna(value) and np.isfinite(value):
        page.write_number(row, place, value, clothes)


def _short_enough(text: str) -> str:
    if len(text) <= LONGEST_TEXT:
        return text
    end = say("outputs.cut_short")
    return text[: LONGEST_TEXT - len(end)] + end


def _write_notes(
    book: Any, formats: _Formats, screening: Screening, version: str, run: str
) -> None:
    words = table("outputs")
    notes = words["notes"]
    floor = fixed(tables.P_VALUE_FLOOR, tables.COIN_DECIMALS["p_value"])
    made = notes["source"].format(
        version=version,
        sources=", ".join(source.name for source in screening.intake.sources),
        settings=screening.settings.digest(),
        run=run,
    )
    sentences = [
        notes[key] for key in ("what", "bold", "disposition", "anew", "empty", "rounded", "guard")
    ]
    page = book.add_worksheet(words["sheets"]["notes"])
    page.set_column(0, 0, 18)
    page.set_column(1, 1, 100)
    page.set_paper(9)
    page.fit_to_pages(1, 0)
    lines: list[tuple[str, str, Any]] = [("", notes["title"], formats.title)]
    lines += [("", sentence.format(floor=floor), formats.words) for sentence in sentences]
    lines += [("", made, formats.words), ("", "", None)]
    lines += _named(notes["findings"], words["findings"], formats)
    lines += _named(notes["cautions"], _cautions(), formats)
    lines += _named(notes["columns"], words["columns"], formats)
    for row, (name, text, clothes) in enumerate(lines):
        if name:
            page.write_string(row, 0, name, formats.name)
        if text:
            page.write_string(row, 1, text, clothes)


def _named(heading: str, pairs: Mapping[str, str], formats: _Formats) -> list[Any]:
    rows = [(name, text, formats.words) for name, text in pairs.items()]
    return [("", heading, formats.heading), *rows, ("", "", None)]


def _cautions() -> dict[str, str]:
    cautions = table("cautions")["cautions"]
    return {str(number): text for number, text in enumerate(cautions, 1)}
