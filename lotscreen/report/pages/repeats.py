"""What coins measured twice say of repeatability, people, instruments and days."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lotscreen.repeats import Repeats, offset_figures, repeatability_line
from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table
from lotscreen.report.numerals import whole
from lotscreen.report.printable import shortened
from lotscreen.report.view import ReportView
from lotscreen.words import phrase, say, table

_MOST_SHOWN = 40


def build(view: ReportView) -> list[Block]:
    """A sentence a quantity and a table of offsets; nothing where no coin was read twice, or
    where the report is of one lot and people may have read coins of others."""
    studies = view.screening.repeats
    if not studies or view.screening.fitted_with_others:
        return []
    lines = dict.fromkeys(repeatability_line(study) for study in studies)
    return [
        Heading(phrase("repeats.page.heading")),
        *(Paragraph(f"{line}.") for line in lines),
        *_offsets(studies),
    ]


def _offsets(studies: Sequence[Repeats]) -> list[Block]:
    rows = tuple(_rows(studies))
    if not rows:
        return []
    heads = table("report_columns")["repeats"]
    columns = (
        Column(heads[0]), Column(heads[1]), Column(heads[2], share=1),
        *(Column(head, "right") for head in heads[3:]),
    )  # fmt: skip
    return [
        Paragraph(phrase("repeats.page.offsets"), "intro"),
        Table(columns, rows[:_MOST_SHOWN], phrase("repeats.page.summary"), small=True),
    ]


def _rows(studies: Sequence[Repeats]) -> Iterator[tuple[str, ...]]:
    for study in studies:
        for offset in study.offsets:
            quantity = say(f"repeats.quantity.{study.quantity}")
            factor = say(f"repeats.factor.{study.factor}")
            level = shortened(offset.level, 40)
            yield quantity, factor, level, whole(offset.readings), *offset_figures(study, offset)
