"""The pages to look at: one run of drawings for every type of the lot."""

from __future__ import annotations

from lotscreen.display import TypeDisplay
from lotscreen.lot.statement import TypeStatement
from lotscreen.lot.types import RIDGE_NOTES
from lotscreen.report.blocks import (
    Block,
    Column,
    Heading,
    Items,
    Paragraph,
    Picture,
    SideBySide,
    Table,
    Together,
)
from lotscreen.report.figures.cloud import weight_thickness_map
from lotscreen.report.figures.histogram import histogram, weighed
from lotscreen.report.figures.loss import loss_by_year
from lotscreen.report.figures.parade import parade
from lotscreen.report.figures.residuals import quantiles, residuals_by_year, residuals_in_order
from lotscreen.report.figures.sight import sight
from lotscreen.report.figures.style import HALF_WIDTH_MM, PAGE_WIDTH_MM
from lotscreen.report.numerals import whole
from lotscreen.report.printable import sentence
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say, table

FEWEST_TO_DRAW = 5


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
        blocks.append(Items(statement.notes[: len(statement.notes) - _own(statement)], small=True))
    blocks.append(histogram(view, display))
    if view.small:
        return [*blocks, *_one_mean(statement)]
    cloud = weight_thickness_map(view, display)
    width = PAGE_WIDTH_MM if cloud is None else HALF_WIDTH_MM
    blocks.extend(_pair(loss_by_year(view, display, width), cloud))
    seen = sight(display)
    if seen is not None:
        blocks += [Heading(phrase("report.type.sight"), level=3), seen]
    return [*blocks, *_residuals(view, display, _one_mean(statement)), *_assumed(statement)]


def _residuals(view: LotView, display: TypeDisplay, one_mean: list[Block]) -> list[Block]:
    """Residuals in three ways, ``one_mean`` beside the third, and the lot among honest ones
    with the answer below."""
    blocks: list[Block] = []
    by_year, in_order = residuals_by_year(view, display), residuals_in_order(view, display)
    drawn = [Heading(phrase("report_types.heading.residuals"), level=3), *_pair(by_year, in_order)]
    if len(drawn) > 1:
        blocks.append(Together(tuple(drawn)))
    normal = quantiles(display)
    if normal is not None and one_mean:
        blocks.append(SideBySide((normal,), tuple(one_mean)))
    else:
        blocks += one_mean if normal is None else [normal]
    lots = parade(display)
    if lots is not None and display.parade is not None:
        answer = say("report_types.figure.parade_answer", real=display.parade.real + 1)
        heading = Heading(phrase("report_types.heading.parade"), level=3)
        blocks.append(Together((heading, lots, Paragraph(answer, "note"))))
    return blocks


def _own(statement: TypeStatement) -> int:
    """How many of the notes, at their end, stand under a heading of their own."""
    return 0 if statement.ridge is None else RIDGE_NOTES


def _one_mean(statement: TypeStatement | None) -> list[Block]:
    """What one mean may mean, what tells it apart, and what would have been seen."""
    if statement is None or statement.ridge is None:
        return []
    told = (*statement.ridge.told_apart_by, statement.notes[-1])
    return [
        Heading(phrase("report_types.heading.one_mean"), level=3),
        Items(tuple(sentence(text) for text in (statement.ridge.said, *told)), small=True),
    ]


def _assumed(statement: TypeStatement | None) -> list[Block]:
    if statement is None or not statement.assumed:
        return []
    heads = table("report_types")["heading"]["assumed_columns"]
    columns = tuple(Column(head, share=share) for head, share in zip(heads, (0, 1, 1), strict=True))
    rows = tuple((line.what, line.declared, line.lot_said) for line in statement.assumed)
    heading = Heading(phrase("report_types.heading.assumed"), level=3)
    summary = phrase("report_types.heading.assumed_summary")
    return [Together((heading, Table(columns, rows, summary, small=True)))]


def _pair(left: Picture | None, right: Picture | None) -> list[Block]:
    if left is not None and right is not None:
        return [SideBySide((left,), (right,))]
    return [picture for picture in (left, right) if picture is not None]
