"""Rolls and groups weighed together, which to open first on top: weight beside what is
expected."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lotscreen.lot.statement import GroupStatement
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.marks import MARKS
from lotscreen.report.figures.style import FAINT, GREY, PAGE_WIDTH_MM, Sheet, label
from lotscreen.report.numerals import fixed
from lotscreen.report.printable import shortened
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say

MOST_ROWS = 30
_ROW_MM = 3.9
_LEFT_MM, _RIGHT_MM = 40.0, 134.0


def rolls_to_open(
    view: LotView, groups: Sequence[GroupStatement], ranks: Mapping[str, int]
) -> Picture | None:
    """The first ``MOST_ROWS`` groups to open, in the order of ``ranks``; None for fewer than
    three, which the table shows as well."""
    shown = sorted((g for g in groups if g.item_id in ranks), key=lambda g: ranks[g.item_id])
    shown = shown[:MOST_ROWS]
    if len(shown) < 3:
        return None
    offs = [(g, 100.0 * (g.weight_g / g.expected_weight_g - 1.0)) for g in shown]
    half = [_half_percent(g) for g in shown]
    reach = 1.08 * max(max(abs(off) for _, off in offs), max(half))
    height = 10.0 + _ROW_MM * len(shown) + 1.0
    sheet = Sheet(PAGE_WIDTH_MM, height)
    box = (_LEFT_MM, 10.0, _RIGHT_MM, height - 1.0)
    area = Area(sheet.paper, box, (-reach, reach), (float(len(shown)), 0.0))
    area.vertical(0.0, color=GREY, linewidth=0.4)
    for place, (group, off) in enumerate(offs):
        _draw_row(area, view, group, off, place)
    area.x_axis(phrase("report_plan.rolls.axis"))
    told = "; ".join(
        say("report_plan.rolls.alt_roll", roll=view.weighed_together(g), off=fixed(off, 2))
        for g, off in offs[:5]
    )
    alt = say("report_plan.rolls.alt", n=len(shown), first=told)
    return sheet.picture(alt, phrase("report_plan.rolls.caption"))


def _half_percent(group: GroupStatement) -> float:
    return 50.0 * (group.expected_high_g - group.expected_low_g) / group.expected_weight_g


def _draw_row(area: Area, view: LotView, group: GroupStatement, off: float, place: int) -> None:
    y, half = place + 0.5, _half_percent(group)
    mark = next(mark for mark in MARKS if mark.finding == group.finding)
    area.horizontal(y, color=FAINT, linewidth=0.4)
    area.plot([-half, half], [y, y], color=GREY, linewidth=3.2, alpha=0.45, solid_capstyle="butt")
    area.plot(
        [off], [y], clip=False, linestyle="none", marker=mark.shape, markersize=mark.size,
        markeredgecolor=mark.edge if mark.edge != "none" else GREY, markerfacecolor=mark.fill,
        markeredgewidth=0.8,
    )  # fmt: skip
    name = say("report_plan.rolls.row", rank=place + 1, roll=_name(view, group))
    at = area.at_y(y)
    area.paper.text(_LEFT_MM - 2, at, label(name), ha="right", va="center_baseline", fontsize=7)
    text = f"{fixed(group.weight_g, 1)} g · {group.finding}"
    area.paper.text(_RIGHT_MM + 2, at, text, va="center_baseline", fontsize=7)


def _name(view: LotView, group: GroupStatement) -> str:
    return shortened(view.weighed_together(group), 20)
