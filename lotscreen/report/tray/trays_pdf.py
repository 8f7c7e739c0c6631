"""All trays in printing order: tray after tray, each with its answer sheets behind it."""

from __future__ import annotations

from lotscreen.report.blocks import (
    Block,
    Column,
    Heading,
    Items,
    Paragraph,
    Table,
)
from lotscreen.report.tray.grid import tray_grid
from lotscreen.tray.built import BuiltSet
from lotscreen.tray.compose import Tray
from lotscreen.words import phrase, say, table

_BOX = "☐"


def tray_blocks(built: BuiltSet) -> list[Block]:
    """Front page, then for every tray its sheet and the answer sheets of all trainees."""
    blocks = _front(built)
    for tray in built.trays:
        blocks += _tray_sheet(tray)
        for trainee in built.trainees or ("",):
            blocks += _answer_sheet(tray, trainee, built)
    return blocks


def fairness(built: BuiltSet) -> list[str]:
    """What is said of permission, codes, appeal and retention, wherever it belongs."""
    until = built.keep_until or phrase("tray_building.fair.blank_date")
    lines = [
        phrase("tray_building.fair.codes"),
        say("tray_building.fair.kept", until=until),
        phrase("tray_building.fair.appeal"),
    ]
    if built.invented:
        lines.insert(0, phrase("tray_building.fair.invented"))
    return lines


def _front(built: BuiltSet) -> list[Block]:
    order = [say("tray_building.front.sheets", n=len(built.trays))]
    trainees = ", ".join(built.trainees) or phrase("tray_building.front.anybody")
    rules = table("tray_building")["front"]
    return [
        Heading(say("tray_building.front.title", name=built.order.name), level=1, new_page=True),
        Paragraph(say("tray_building.front.lead", trainees=trainees), "lead"),
        Items((*order, *rules["before"])),
        Heading(phrase("tray_building.front.same")),
        Items(tuple(rules["conditions"])),
        *_adjusted(built),
        Heading(phrase("tray_building.front.law")),
        Items((phrase("tray_building.fair.permission"), *fairness(built))),
    ]


def _adjusted(built: BuiltSet) -> list[Block]:
    """What was agreed for whom, and what anybody may ask for."""
    agreed = tuple(
        say("tray_building.front.agreed", trainee=code,
            what=", ".join(phrase(f"tray_building.sense.{sense}") for sense in senses))
        for code, senses in built.adjusted.items()
    )  # fmt: skip
    return [
        Heading(phrase("tray_building.front.adjustments")),
        Items((phrase("tray_building.fair.adjust"), *agreed)),
    ]


def _tray_sheet(tray: Tray) -> list[Block]:
    return [
        Heading(say("tray_building.sheet.tray", tray=tray.name), level=1, new_page=True),
        Paragraph(phrase("tray_building.sheet.lead")),
        tray_grid(tray),
        Paragraph(phrase("tray_building.sheet.count"), "note"),
    ]


def _answer_sheet(tray: Tray, trainee: str, built: BuiltSet) -> list[Block]:
    heads = table("tray_building")["columns"]["answers"]
    columns = (
        Column(heads[0], "right"), Column(heads[1], share=1), Column(heads[2]),
        *(Column(head, "center") for head in heads[3:6]),
        Column(heads[6], "center"), Column(heads[7], "center", share=0.55),
    )  # fmt: skip
    rows = tuple(
        (
            str(cell.number), cell.piece.type_text, cell.piece.date_text,
            _BOX, _BOX, _BOX, phrase("tray_building.sheet.scale"), "",
        )
        for cell in tray.cells
    )  # fmt: skip
    code = trainee or phrase("tray_building.sheet.blank_code")
    title = say("tray_building.sheet.answers", tray=tray.name, trainee=code)
    agreed = built.adjusted.get(trainee, ())
    note = say("tray_building.sheet.agreed", what=", ".join(agreed)) if agreed else ""
    return [
        Heading(title, level=1, new_page=True),
        Paragraph(" ".join(filter(None, (phrase("tray_building.sheet.how"), note)))),
        Table(columns, rows, say("tray_building.alt.answers", tray=tray.name), roomy=True),
        Paragraph(" ".join(fairness(built)), "note"),
    ]
