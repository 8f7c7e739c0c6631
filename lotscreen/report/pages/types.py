"""The pages to look at: one run of drawings for every type of the lot."""

from __future__ import annotations

from lotscreen.display import TypeDisplay
from lotscreen.report.blocks import Block, Heading, Items, Picture, SideBySide
from lotscreen.report.figures.cloud import weight_thickness_map
from lotscreen.report.figures.histogram import histogram, weighed
from lotscreen.report.figures.loss import loss_by_year
from lotscreen.report.figures.sight import sight
from lotscreen.report.figures.style import HALF_WIDTH_MM, PAGE_WIDTH_MM
from lotscreen.report.numerals import whole
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say

FEWEST_TO_DRAW = 5
MOST_NOTES = 4


def build(view: LotView) -> list[Block]:
    """Every type that has something to draw, in the order of the lot's statement."""
    blocks: list[Block] = []
    for display in view.displays:
        if len(weighed(view, display)) >= FEWEST_TO_DRAW:
            blocks.extend(_one_type(view, display))
    return blocks


def _one_type(view: LotView, display: TypeDisplay) -> list[Block]:
    heading = say("report.type.heading", type=display.type_name, n=whole(display.coins))
    blocks: list[Block] = [Heading(heading, new_page=not view.small)]
    statement = next((t for t in view.statement.types if t.type_key == display.type_key), None)
    if statement is not None:
        blocks.append(Items(statement.notes[:MOST_NOTES], small=True))
    blocks.append(histogram(view, display))
    if view.small:
        return blocks
    cloud = weight_thickness_map(view, display)
    width = PAGE_WIDTH_MM if cloud is None else HALF_WIDTH_MM
    blocks.extend(_pair(loss_by_year(view, display, width), cloud))
    seen = sight(display)
    if seen is not None:
        blocks += [Heading(phrase("report.type.sight"), level=3), seen]
    return blocks


def _pair(left: Picture | None, right: Picture | None) -> list[Block]:
    if left is not None and right is not None:
        return [SideBySide((left,), (right,))]
    return [picture for picture in (left, right) if picture is not None]
