"""One coin worked by hand, so that a reader can follow every figure."""

from __future__ import annotations

from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table, Together
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say, table


def build(view: LotView) -> list[Block]:
    """Reading, standard with its statute, expected wear, standard error, z."""
    if not view.statement.worked:
        return []
    heads = table("report_columns")["worked"]
    columns = (Column(heads[0], share=3), Column(heads[1], share=4), Column(heads[2], share=3))
    rows = tuple((line.what, line.figures, line.source) for line in view.statement.worked)
    return [
        Together(
            (
                Heading(say("report.worked.heading", coin=view.statement.worked_coin_id)),
                Paragraph(phrase("report.worked.intro"), "intro"),
                Table(columns, rows, phrase("report.worked.summary")),
            )
        )
    ]
