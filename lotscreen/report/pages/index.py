"""The index of several lots, most in doubt on top."""

from __future__ import annotations

from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table
from lotscreen.report.numerals import whole
from lotscreen.report.view import ORDER_OF_FINDINGS, ReportView
from lotscreen.words import phrase, say, table


def build(view: ReportView) -> list[Block]:
    """One row a lot with its findings and page; nothing where there is one lot only."""
    if len(view.lots) < 2:
        return []
    heads = table("report_columns")["index"]
    columns = (
        Column(heads[0], share=1),
        Column(heads[1], "right"),
        *(Column(kind, "right") for kind in ORDER_OF_FINDINGS),
        Column(heads[2], "right", page_of_heading=True),
    )
    rows = tuple(
        (
            lot.title,
            whole(lot.statement.coins),
            *(whole(lot.statement.counts.get(kind, 0)) for kind in ORDER_OF_FINDINGS),
            lot.title,
        )
        for lot in view.lots
    )
    coins = sum(lot.statement.coins for lot in view.lots)
    lead = say("report.index.lead", lots=whole(len(view.lots)), coins=whole(coins))
    return [
        Heading(phrase("report.index.heading"), level=1, new_page=True),
        Paragraph(lead, "lead"),
        Paragraph(phrase("report.index.order"), "intro"),
        Table(columns, rows, phrase("report.index.summary")),
    ]
