"""The pages to look at: one run of drawings for every type of the lot."""

from __future__ import annotations

from lotscreen.display import TypeDisplay
from lotscreen.report.blocks import Block, Heading, Paragraph
from lotscreen.report.figures.histogram import histogram
from lotscreen.report.numerals import whole
from lotscreen.report.view import LotView
from lotscreen.words import say


def build(view: LotView) -> list[Block]:
    """Every type that has something to draw, in the order of the lot's statement."""
    blocks: list[Block] = []
    for display in view.displays:
        blocks.extend(_one_type(view, display))
    return blocks


def _one_type(view: LotView, display: TypeDisplay) -> list[Block]:
    heading = say("report.type.heading", type=display.type_name, n=whole(display.coins))
    blocks: list[Block] = [Heading(heading, new_page=True)]
    statement = next((t for t in view.statement.types if t.type_key == display.type_key), None)
    if statement is not None:
        blocks.extend(Paragraph(note) for note in statement.notes)
    return [*blocks, histogram(view, display)]
