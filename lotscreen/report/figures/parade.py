"""Twenty small histograms: the real lot among nineteen drawn from the fit."""

from __future__ import annotations

from lotscreen.display import TypeDisplay
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.style import FAINT, GREY, INK, PAGE_WIDTH_MM, Sheet
from lotscreen.report.numerals import whole
from lotscreen.words import phrase, say

_IN_A_ROW = 5
_HEIGHT_MM = 13.0
_GAP_MM = 3.0
_FOOT_MM = 2.5


def parade(display: TypeDisplay) -> Picture | None:
    """All lots on one scale, numbered from 1; None where none were drawn."""
    shown = display.parade
    if shown is None:
        return None
    lots, bars = shown.counts.shape
    rows = -(-lots // _IN_A_ROW)
    sheet = Sheet(PAGE_WIDTH_MM, rows * _HEIGHT_MM + _FOOT_MM)
    width = PAGE_WIDTH_MM / _IN_A_ROW
    span = (float(shown.edges_g[0]), float(shown.edges_g[-1]))
    top = 1.05 * max(float(shown.counts.max()), 1.0)
    for number, counts in enumerate(shown.counts):
        left = (number % _IN_A_ROW) * width
        bottom = (rows - 1 - number // _IN_A_ROW) * _HEIGHT_MM + _FOOT_MM
        box = (left + 5.0, bottom, left + width - _GAP_MM, bottom + _HEIGHT_MM - 3.0)
        area = Area(sheet.paper, box, span, (0.0, top))
        area.bars(shown.edges_g, counts, facecolor=FAINT, edgecolor=INK, linewidth=0.3)
        sheet.paper.plot([box[0], box[2]], [bottom, bottom], color=GREY, linewidth=0.5)
        sheet.paper.text(left + 0.5, box[3], str(number + 1), va="top", fontsize=7.4)
    alt = say("report_types.alt.parade", type=display.type_name, bars=whole(bars))
    return sheet.picture(alt, phrase("report_types.figure.parade"))
