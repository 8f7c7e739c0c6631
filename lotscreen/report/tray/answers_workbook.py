"""``answers.xlsx``: the answer sheets for typing in, with lists to choose from.

Everything but answer, confidence and seconds is locked (without a password: it guards
against slips of the hand, not against people). The same set gives the same bytes.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import xlsxwriter

from lotscreen.report.tray.trays_pdf import fairness
from lotscreen.tray.built import BuiltSet
from lotscreen.words import phrase, table

_CREATED = datetime.datetime(2000, 1, 1)  # a constant, so that the same set gives the same bytes
_OPTIONS = {"strings_to_formulas": False, "strings_to_numbers": False, "strings_to_urls": False}
HEADERS = ("trainee", "tray", "cell", "type", "date", "answer", "conf", "sec")
ANSWERS = ("accept", "set aside", "refuse")
_WIDTHS = (10, 10, 6, 26, 10, 14, 8, 8)
_MOST_SECONDS = 3600


def write_answers_workbook(built: BuiltSet, path: Path) -> None:
    """Write the workbook to ``path``; OSError where that cannot be done."""
    with path.open("wb") as file:
        book = xlsxwriter.Workbook(file, _OPTIONS)
        title = phrase("tray_building.workbook.title")
        book.set_properties({"created": _CREATED, "title": title, "author": ""})
        _answers(book, built)
        _notes(book, built)
        book.close()


def _answers(book: Any, built: BuiltSet) -> None:
    page = book.add_worksheet(phrase("tray_building.workbook.answers"))
    header = book.add_format({"bold": True, "bottom": 1})
    locked = book.add_format({"locked": True, "font_color": "#444444"})
    first = book.add_format({"locked": True, "font_color": "#444444", "top": 1})
    free = book.add_format({"locked": False, "border": 1, "border_color": "#bbbbbb"})
    for column, (name, width) in enumerate(zip(HEADERS, _WIDTHS, strict=True)):
        page.set_column(column, column, width)
        page.write_string(0, column, name, header)
    row = 0
    for row, (trainee, tray, number, kind, date) in enumerate(_rows(built), 1):
        clothes = first if number == 1 else locked
        page.write_string(row, 0, trainee, clothes if trainee else free)
        page.write_string(row, 1, tray, clothes)
        page.write_number(row, 2, number, clothes)
        page.write_string(row, 3, kind, clothes)
        page.write_string(row, 4, date, clothes)
        for column in (5, 6, 7):
            page.write_blank(row, column, None, free)
    _offer(page, row)
    page.freeze_panes(1, 3)
    page.repeat_rows(0)
    page.set_paper(9)
    page.fit_to_pages(1, 0)
    page.protect("", {"select_locked_cells": True, "format_columns": True})


def _rows(built: BuiltSet) -> Iterator[tuple[str, str, int, str, str]]:
    """Trainee, tray, cell, type and date, tray after tray for each trainee."""
    for trainee in built.trainees or ("",):
        for tray in built.trays:
            for cell in tray.cells:
                piece = cell.piece
                yield trainee, tray.name, cell.number, piece.type_text, piece.date_text


def _offer(page: Any, last: int) -> None:
    """Lists and limits of the three columns that are typed into; blank stays allowed."""
    words = table("tray_building")["workbook"]
    rules = (
        (5, {"validate": "list", "source": list(ANSWERS)}, "answer_only"),
        (6, {"validate": "list", "source": ["1", "2", "3", "4", "5"]}, "conf_only"),
        (7, {"validate": "decimal", "criteria": "between", "minimum": 0,
             "maximum": _MOST_SECONDS}, "sec_only"),
    )  # fmt: skip
    for column, rule, key in rules:
        told = {"ignore_blank": True, "error_title": words["only"], "error_message": words[key]}
        page.data_validation(1, column, last, column, {**rule, **told})


def _notes(book: Any, built: BuiltSet) -> None:
    page = book.add_worksheet(phrase("tray_building.workbook.notes"))
    words = book.add_format({"text_wrap": True, "valign": "top"})
    page.set_column(0, 0, 100)
    for row, text in enumerate((*table("tray_building")["workbook"]["how"], *fairness(built))):
        page.write_string(row, 0, text, words)
    page.protect()
