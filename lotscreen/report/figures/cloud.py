"""The weight-thickness map: where honest coins lie and the named ways to depart."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.patches import FancyArrowPatch

from lotscreen.display import TypeDisplay
from lotscreen.records import Floats
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.histogram import weighed, weight_span
from lotscreen.report.figures.loss import BOX, HEIGHT_MM
from lotscreen.report.figures.marks import draw_marks
from lotscreen.report.figures.style import GREY, HALF_WIDTH_MM, INK, PALE, Sheet
from lotscreen.report.numerals import counted, whole
from lotscreen.report.view import MARKED, LotView
from lotscreen.words import phrase, say

_LEAST_ARROW_MM = 2.5
_THICKEST = (0.6, 1.7)


def weight_thickness_map(view: LotView, display: TypeDisplay) -> Picture | None:
    """Coins measured in both, the honest contours and the directions; None without such."""
    coins = weighed(view, display)
    low, high = weight_span(display, coins["weight_g"].to_numpy(dtype=float))
    contours = contours_of(display)
    measured = coins[coins["thickness_mm"].notna()]
    if measured.empty or not contours:
        return None
    least, most = (factor * _centre(contours)[1] for factor in _THICKEST)
    both = measured[
        measured["weight_g"].between(low, high) & measured["thickness_mm"].between(least, most)
    ]
    sheet = Sheet(HALF_WIDTH_MM, HEIGHT_MM)
    area = Area(sheet.paper, BOX, *_spans(display, both, contours))
    area.vertical(display.standard_weight_g, color=PALE, linewidth=0.5)
    for level, weight, thickness in contours:
        area.plot(weight, thickness, color=INK, linewidth=0.7)
        left = int(np.argmin(weight))
        text = f"{100 * level:g}"
        area.text(
            weight[left], thickness[left], text, fontsize=6, ha="right", va="center", color=GREY
        )
    draw_marks(area, both, "weight_g", "thickness_mm", shrink=0.9)
    _draw_directions(area, display, _centre(contours))
    area.x_axis(phrase("report.figure.weight_axis"), ticks=6)
    area.y_axis(phrase("report.figure.thickness_axis"))
    return sheet.picture(_alt(display, both), _caption(display, len(measured) - len(both)))


def contours_of(display: TypeDisplay) -> list[tuple[float, Floats, Floats]]:
    """Level, weights and thicknesses of every contour that is there."""
    contours = zip(
        display.cloud_levels, display.cloud_weight_g, display.cloud_thickness_mm, strict=True
    )
    return [contour for contour in contours if len(contour[1])]


def _centre(contours: list[tuple[float, Floats, Floats]]) -> tuple[float, float]:
    """The middle of the innermost contour."""
    _, weight, thickness = min(contours, key=lambda contour: contour[0])
    return float(np.mean(weight)), float(np.mean(thickness))


def _draw_directions(area: Area, display: TypeDisplay, centre: tuple[float, float]) -> None:
    """An arrow a direction from the honest centre, numbered at its tip."""
    x0, y0 = area.at_x(centre[0]), area.at_y(centre[1])
    numbers = []
    for number, way in enumerate(display.directions, start=1):
        x1 = area.at_x(centre[0] + way.weight_g)
        y1 = area.at_y(centre[1] + way.thickness_mm)
        length = float(np.hypot(x1 - x0, y1 - y0))
        if length < _LEAST_ARROW_MM:
            continue
        area.paper.patch(
            FancyArrowPatch((x0, y0), (x1, y1), arrowstyle="-|>", mutation_scale=6, color=INK,
                            linewidth=0.8, shrinkA=0, shrinkB=0)
        )  # fmt: skip
        numbers.append((x1 + 1.8 * (x1 - x0) / length, y1 + 1.8 * (y1 - y0) / length, number))
    for x, y, number in numbers:
        area.paper.text(
            x, y, str(number), ha="center", va="center_baseline", fontsize=7.5, fontweight="bold",
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6}, zorder=6,
        )  # fmt: skip


def _spans(
    display: TypeDisplay, coins: pd.DataFrame, contours: list[tuple[float, Floats, Floats]]
) -> tuple[tuple[float, float], tuple[float, float]]:
    """What is shown: the coins, the contours and the tips of the arrows."""
    x0, y0 = _centre(contours)
    weights = [coins["weight_g"].to_numpy(dtype=float), *(weight for _, weight, _ in contours)]
    weights.append(np.array([x0 + way.weight_g for way in display.directions]))
    lengths = [
        coins["thickness_mm"].to_numpy(dtype=float),
        *(thickness for _, _, thickness in contours),
    ]
    lengths.append(np.array([y0 + way.thickness_mm for way in display.directions]))
    return _with_room(np.concatenate(weights)), _with_room(np.concatenate(lengths))


def _with_room(values: Floats) -> tuple[float, float]:
    low, high = float(values.min()), float(values.max())
    room = 0.07 * (high - low) or 0.05
    return low - room, high + room


def _caption(display: TypeDisplay, outside: int) -> str:
    ways = "; ".join(f"{n} {way.name}" for n, way in enumerate(display.directions, start=1))
    levels = ", ".join(f"{100 * level:g}" for level in display.cloud_levels)
    text = say("report.figure.cloud_caption", levels=levels, directions=ways)
    if not outside:
        return text
    return text + " " + say("report.figure.off_drawing", coins=counted(outside, "coin"))


def _alt(display: TypeDisplay, coins: pd.DataFrame) -> str:
    return say(
        "report.alt.cloud",
        n=whole(len(coins)),
        type=display.type_name,
        directions=", ".join(way.name for way in display.directions),
        marked=whole(int(coins["finding"].isin(MARKED).sum())),
    )
