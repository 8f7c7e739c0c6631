"""What this screen can see: the chance to notice a departure against its size."""

from __future__ import annotations

import numpy as np

from lotscreen.display import SightLine, SightMark, TypeDisplay
from lotscreen.records import Floats
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.style import ACCENT, FAINT, GREY, INK, PAGE_WIDTH_MM, Sheet, label
from lotscreen.report.numerals import fixed
from lotscreen.words import phrase, say

HEIGHT_MM = 48.0
_RIGHT_MM = 112.0
_SEEN = 0.5
_PATTERNS = ("-", "--", "-.", ":")


def sight(display: TypeDisplay) -> Picture | None:
    """Chance to notice by readings taken; None where it was not computed."""
    lines = display.sight_lines
    if not lines:
        return None
    grid = np.unique(np.concatenate([line.departure_percent for line in lines]))
    farthest = float(grid[np.argmax(np.abs(grid))])
    sheet = Sheet(PAGE_WIDTH_MM, HEIGHT_MM)
    area = Area(sheet.paper, (9, 9, _RIGHT_MM, HEIGHT_MM - 7), (0, farthest), (0, 101))
    _shade_unseen(area, lines, grid)
    for place, line in enumerate(lines):
        _draw_line(area, line, place)
    weighed_only = len(lines) == 1
    _draw_marks(area, display.sight_marks, weighed_only)
    area.x_axis(say("report.figure.departure_axis", departure=lines[0].departure))
    area.y_axis("", decimals=0)
    sheet.paper.text(0, HEIGHT_MM - 0.5, phrase("report.figure.chance_axis"), va="top")
    caption = (
        "report.figure.sight_caption_weighed" if weighed_only else "report.figure.sight_caption"
    )
    return sheet.picture(_alt(display, weighed_only), phrase(caption))


def _draw_line(area: Area, line: SightLine, place: int) -> None:
    colour, pattern = (ACCENT if place % 2 else INK), _PATTERNS[place % len(_PATTERNS)]
    area.plot(line.departure_percent, 100 * line.chance, color=colour, linestyle=pattern,
              linewidth=1.1)  # fmt: skip
    at = area.top - 2 - 5 * place
    area.paper.plot([area.right + 3, area.right + 11], [at] * 2, color=colour, linestyle=pattern,
                    linewidth=1.1)  # fmt: skip
    area.paper.text(area.right + 12.5, at, line.readings, va="center_baseline", fontsize=7.4)


def _shade_unseen(area: Area, lines: tuple[SightLine, ...], grid: Floats) -> None:
    """Grey up to the departure from which on the best line rather notices than misses."""
    best = np.max([_at(line, grid) for line in lines], axis=0)
    by_size = np.argsort(np.abs(grid))
    seen = np.flatnonzero(best[by_size] >= _SEEN)
    end = area.x[1] if not len(seen) else float(grid[by_size[seen[0]]])
    area.columns(0, end, facecolor=FAINT, linewidth=0)


def _at(line: SightLine, grid: Floats) -> Floats:
    order = np.argsort(line.departure_percent)
    return np.interp(grid, line.departure_percent[order], line.chance[order], left=0, right=0)


def _draw_marks(area: Area, marks: tuple[SightMark, ...], weighed_only: bool) -> None:
    """Known departures as lines with letters, explained with their chances at the right."""
    for place, mark in enumerate(marks):
        letter = chr(ord("a") + place)
        at = area.top - 18 - 4 * place
        text = say(
            "report.figure.sight_mark_weighed" if weighed_only else "report.figure.sight_mark",
            letter=letter, name=label(mark.name),
            weight=fixed(100 * mark.chance_weight_only, 0), all=fixed(100 * mark.chance_all, 0),
        )  # fmt: skip
        area.paper.text(area.right + 3, at, text, va="center_baseline", fontsize=7.4)
        if not min(area.x) <= mark.departure_percent <= max(area.x):
            continue
        area.vertical(mark.departure_percent, color=GREY, linewidth=0.6, linestyle=":")
        area.paper.text(
            area.at_x(mark.departure_percent), area.top + 0.8, letter, ha="center", va="bottom",
            fontsize=7.4,
        )  # fmt: skip
        area.plot(
            [mark.departure_percent] * 2,
            [100 * mark.chance_weight_only, 100 * mark.chance_all], clip=False,
            linestyle="none", marker="o", markersize=3.4, markerfacecolor="white",
            markeredgecolor=INK, markeredgewidth=0.7,
        )  # fmt: skip


def _alt(display: TypeDisplay, weighed_only: bool) -> str:
    marks = "; ".join(
        say(
            "report.alt.sight_mark_weighed" if weighed_only else "report.alt.sight_mark",
            name=mark.name,
            departure=fixed(mark.departure_percent, 1, signed=True),
            weight=fixed(100 * mark.chance_weight_only, 0), all=fixed(100 * mark.chance_all, 0),
        )
        for mark in display.sight_marks
    )  # fmt: skip
    return say("report.alt.sight", type=display.type_name, marks=marks)
