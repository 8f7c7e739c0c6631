"""Skill against suspicion: d' over the criterion, both with their intervals."""

from __future__ import annotations

from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.style import ACCENT, FAINT, GREY, INK, PAGE_WIDTH_MM, PALE, Sheet
from lotscreen.tray.marking.marked import Marked
from lotscreen.tray.marking.people import PersonMarks
from lotscreen.tray.marking.wording import number
from lotscreen.words import phrase, say

_HEIGHT_MM = 80.0
_BOX = (10.0, 12.0, 160.0, 72.0)
_EVEN = 0.3


def skill_map(marked: Marked, only: str = "") -> Picture:
    """Every trainee as a cross of two intervals; whoever stands out as a filled square. With
    ``only`` that trainee alone."""
    people = [p for p in marked.people if p.skill.low == p.skill.low and only in ("", p.code)]
    sheet = Sheet(PAGE_WIDTH_MM, _HEIGHT_MM)
    wide = max([1.0, *(abs(v) for p in people for v in (p.line.low, p.line.high))]) * 1.05
    high = max([3.0, *(p.skill.high for p in people)]) * 1.03
    low = min([0.0, *(p.skill.low for p in people)])
    area = Area(sheet.paper, _BOX, (-wide, wide), (low, high))
    area.columns(-_EVEN, _EVEN, facecolor=FAINT, linewidth=0)
    area.vertical(0.0, color=GREY, linewidth=0.5, linestyle=":")
    for p in people:
        area.plot([p.line.low, p.line.high], [p.skill.value] * 2, color=PALE, linewidth=0.7)
        area.plot([p.line.value] * 2, [p.skill.low, p.skill.high], color=PALE, linewidth=0.7)
    _points(area, marked, people)
    for x, name in ((-wide, "suspicious"), (wide, "trusting")):
        side = "left" if x < 0 else "right"
        words = phrase(f"tray_marking.axis.{name}")
        area.text(x, high, words, ha=side, va="bottom", fontsize=7.6, color=GREY)
    area.x_axis(phrase("tray_marking.axis.line"))
    area.y_axis(phrase("tray_marking.axis.skill"))
    return sheet.picture(_alt(people), phrase("tray_marking.caption.map"))


def _points(area: Area, marked: Marked, people: list[PersonMarks]) -> None:
    placed: list[tuple[float, float]] = []
    for p in people:
        named = bool(marked.named(p.code))
        area.plot(
            [p.line.value], [p.skill.value], linestyle="none", marker="s" if named else "o",
            markersize=5.5, markeredgecolor=INK, markerfacecolor=ACCENT if named else "white",
            markeredgewidth=0.9, zorder=4,
        )  # fmt: skip
        x, y = area.at_x(p.line.value) + 1.8, area.at_y(p.skill.value) + 1.8
        while any(abs(x - a) < 7.0 and abs(y - b) < 2.9 for a, b in placed):
            y += 2.9
        placed.append((x, y))
        area.paper.text(x, y, p.code, va="center", fontsize=7.8)


def _alt(people: list[PersonMarks]) -> str:
    rows = [
        say("tray_marking.alt.map_row", code=p.code, skill=number(p.skill.value),
            line=number(p.line.value))
        for p in people
    ]  # fmt: skip
    return say("tray_marking.alt.map", rows=" ".join(rows))
