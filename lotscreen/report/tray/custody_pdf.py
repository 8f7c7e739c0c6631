"""The custody list on paper: every piece out, every piece in, difference zero."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from lotscreen.report.blocks import (
    Block,
    Column,
    Heading,
    Items,
    Paragraph,
    SignLines,
    Table,
)
from lotscreen.tray.custody import BoxCount, Custody, custody_sentences
from lotscreen.words import phrase, say, table

_BOX = "☐"


def custody_blocks(custody: Custody, name: str) -> list[Block]:
    """The count by box, then every piece, then who signs."""
    heads = table("tray_building")["columns"]["boxes"]
    columns = (Column(heads[0]), *(Column(head, "right") for head in heads[1:]))
    answer, *others = custody_sentences(custody)
    return [
        Heading(say("tray_building.custody.title", name=name), level=1, new_page=True),
        Paragraph(answer, "lead" if custody.closed else "alert"),
        Items((*others, phrase("tray_building.custody.rule"),
               phrase("tray_building.fair.permission"))),
        Table(columns, _boxes(custody.boxes()), phrase("tray_building.alt.boxes")),
        SignLines(tuple(table("tray_building")["custody"]["sign"])),
        *_pieces(custody),
    ]  # fmt: skip


def _boxes(boxes: Sequence[BoxCount]) -> tuple[tuple[str, ...], ...]:
    rows = [(b.box, str(b.out), _count(b.back), _count(b.difference)) for b in boxes]
    total = BoxCount(
        phrase("tray_building.custody.all"),
        sum(b.out for b in boxes),
        None if any(b.back is None for b in boxes) else sum(b.back or 0 for b in boxes),
    )
    return (*rows, (total.box, str(total.out), _count(total.back), _count(total.difference)))


def _count(number: int | None) -> str:
    return phrase("tray_building.custody.blank") if number is None else str(number)


def _pieces(custody: Custody) -> list[Block]:
    """One table a box, each piece with room to tick."""
    heads = table("tray_building")["columns"]["custody"]
    columns = (
        Column(heads[0]), Column(heads[1], share=1), Column(heads[2]), Column(heads[3], "right"),
        Column(heads[4], "center"), Column(heads[5], "center"),
    )  # fmt: skip
    blocks: list[Block] = [Heading(phrase("tray_building.custody.pieces"))]
    ordered = sorted(custody.lines, key=lambda line: line.box)
    for box, lines in groupby(ordered, key=lambda line: line.box):
        rows = tuple(
            (
                line.piece, line.permission or phrase("tray_building.custody.no_permission"),
                line.tray, str(line.cell), _BOX if line.back is None else "1",
                _BOX if line.back is None else str(int(line.back)),
            )
            for line in lines
        )  # fmt: skip
        name = say("tray_building.custody.box", box=box)
        blocks += [
            Heading(name, level=3),
            Table(columns, rows, say("tray_building.alt.box", box=box), small=True),
        ]
    return blocks
