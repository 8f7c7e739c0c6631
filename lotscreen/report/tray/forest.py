"""Trainees beside each other, in the order of codes: d', hits, false alarms, each with its
interval."""

from __future__ import annotations

from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.style import ACCENT, FAINT, GREY, INK, PAGE_WIDTH_MM, Sheet
from lotscreen.tray.marking.crossed import Estimate
from lotscreen.tray.marking.marked import Marked
from lotscreen.tray.marking.people import PersonMarks
from lotscreen.tray.marking.wording import number
from lotscreen.words import phrase, say

_ROW_MM = 5.4
_AXIS_MM = 11.0
_TOP_MM = 7.0
_PANELS = (("skill", 16.0, 74.0), ("hit", 88.0, 122.0), ("alarm", 130.0, 164.0))
_SHAPES = {"skill": "o", "hit": "s", "alarm": "^"}


def forest(marked: Marked) -> Picture:
    """Three panels over one row a trainee; the class's hits and false alarms as bands."""
    rows = len(marked.people)
    sheet = Sheet(PAGE_WIDTH_MM, _AXIS_MM + rows * _ROW_MM + _TOP_MM)
    people = [p for p in marked.people if p.skill.low == p.skill.low]
    top = max((p.skill.high for p in people), default=1.0)
    low = min((p.skill.low for p in people), default=0.0)
    spans = {"skill": (min(0.0, low), top * 1.02), "hit": (0.0, 1.0), "alarm": (0.0, 1.0)}
    bands = {"hit": marked.whole.hit, "alarm": marked.whole.alarm}
    for name, left, right in _PANELS:
        box = (left, _AXIS_MM, right, _AXIS_MM + rows * _ROW_MM)
        area = Area(sheet.paper, box, spans[name], (0.0, float(rows)))
        if name in bands and bands[name].low == bands[name].low:
            area.columns(bands[name].low, bands[name].high, facecolor=FAINT, linewidth=0)
        for n, person in enumerate(marked.people):
            _bar(area, getattr(person, name), rows - n - 0.5, name)
        area.x_axis(phrase(f"tray_marking.axis.{name}"), ticks=5)
    for n, person in enumerate(marked.people):
        height = _AXIS_MM + (rows - n - 0.5) * _ROW_MM
        sheet.paper.text(0.0, height, person.code, va="center_baseline", fontsize=8.5)
        named = bool(marked.named(person.code))
        if named:
            sheet.paper.plot([11.5], [height], marker="<", markersize=5, color=INK)
    return sheet.picture(_alt(people), phrase("tray_marking.caption.forest"))


def _bar(area: Area, estimate: Estimate, height: float, name: str) -> None:
    if estimate.low != estimate.low:
        return
    area.plot([estimate.low, estimate.high], [height, height], color=GREY, linewidth=1.2)
    area.plot(
        [estimate.value], [height], clip=False, linestyle="none", marker=_SHAPES[name],
        markersize=5.0, markeredgecolor=ACCENT, markerfacecolor="white", markeredgewidth=1.1,
    )  # fmt: skip


def _alt(people: list[PersonMarks]) -> str:
    rows = [
        say("tray_marking.alt.forest_row", code=p.code, value=number(p.skill.value),
            low=number(p.skill.low), high=number(p.skill.high))
        for p in people
    ]  # fmt: skip
    return say("tray_marking.alt.forest", rows=" ".join(rows))
