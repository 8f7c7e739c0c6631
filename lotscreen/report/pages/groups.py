"""Groups, rolls and bags that were weighed together."""

from __future__ import annotations

from lotscreen.lot.statement import GroupStatement
from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table
from lotscreen.report.numerals import fixed, whole
from lotscreen.report.printable import shortened
from lotscreen.report.view import DEPARTING, LotView
from lotscreen.words import phrase, say, table

MOST_ROWS = 60


def build(view: LotView) -> list[Block]:
    """One row a group, those to open first."""
    groups = view.statement.group_statements
    if not groups:
        return []
    ordered = sorted(groups, key=lambda group: group.finding not in DEPARTING)
    heads = table("report_columns")["groups"]
    columns = (
        Column(heads[0]), Column(heads[1], "right"), Column(heads[2], "right"),
        Column(heads[3], "right"), Column(heads[4], share=1),
    )  # fmt: skip
    rows = tuple(_row(group) for group in ordered[:MOST_ROWS])
    blocks: list[Block] = [
        Heading(phrase("report.groups.heading")),
        Table(columns, rows, phrase("report.groups.summary"), small=True),
    ]
    if len(ordered) > MOST_ROWS:
        text = say("report.groups.cut_short", shown=whole(MOST_ROWS), n=whole(len(ordered)))
        blocks.append(Paragraph(text, "note"))
    return blocks


def _row(group: GroupStatement) -> tuple[str, ...]:
    reason = f": {group.reason}" if group.reason else ""
    return (
        shortened(group.coin_id, 28),
        whole(group.count),
        f"{fixed(group.weight_g, 1)} g",
        f"{fixed(group.expected_low_g, 1)}–{fixed(group.expected_high_g, 1)} g",
        f"{group.finding}{reason}",
    )
