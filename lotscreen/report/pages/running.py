"""The running chart over the coins in measuring order."""

from __future__ import annotations

from lotscreen.report.blocks import Block, Heading, Items, Paragraph, Together
from lotscreen.report.figures.running import running_chart
from lotscreen.report.pages.to_do import some
from lotscreen.report.view import LotView
from lotscreen.words import say


def build(view: LotView) -> list[Block]:
    """The chart with its caution first, and the unsettled coins to settle first."""
    chart = view.running
    picture = None if chart is None or view.small else running_chart(chart)
    if chart is None or picture is None:
        return []
    blocks: list[Block] = [
        Heading(say("report.running.heading", mode=chart.mode)),
        Items(chart.notes, small=True),
        picture,
    ]
    unsettled = view.ids_shown(chart.settle_first)
    if unsettled:
        blocks.append(Paragraph(say("report.running.settle", coins=some(unsettled))))
    return [Together(tuple(blocks))]
