"""One coin set aside: its profile drawing, and its place on the weight-thickness map."""

from __future__ import annotations

import numpy as np
import pandas as pd

from lotscreen.display import TypeDisplay
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.cloud import contours_of
from lotscreen.report.figures.marks import draw_marks
from lotscreen.report.figures.profile import TEXT_MM, Profile, alt, draw_profile, profile_of
from lotscreen.report.figures.style import GREY, HALF_WIDTH_MM, INK, PALE, Sheet
from lotscreen.report.numerals import fixed
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say

_MAP_MM = 27.0
_LEAST_HEIGHT_MM = 36.0
_ROOM = 0.12


def coin_drawing(view: LotView, coin: pd.Series, display: TypeDisplay) -> Picture:
    """Outline, edge and weight, and the map beside them where the type has one."""
    profile = profile_of(view, coin, display)
    largest = profile.expected_diameter_mm or 20.0
    height = max(1.12 * largest + TEXT_MM, _LEAST_HEIGHT_MM)
    sheet = Sheet(HALF_WIDTH_MM, height)
    draw_profile(sheet.paper, profile, 0.0, height - 0.56 * largest, largest)
    told = alt(profile, view.decimals)
    contours = contours_of(display)
    if contours and coin["thickness_mm"] == coin["thickness_mm"]:
        _draw_map(sheet, height, coin, display)
        told += " " + _told_of_map(profile, display)
    return sheet.picture(told)


def _draw_map(sheet: Sheet, height: float, coin: pd.Series, display: TypeDisplay) -> None:
    """Contours of honest coins and the coin alone, both always within the box."""
    contours = contours_of(display)
    weights = np.concatenate([[coin["weight_g"]], *(w for _, w, _ in contours)])
    lengths = np.concatenate([[coin["thickness_mm"]], *(t for _, _, t in contours)])
    top = min(height - 6.0, 9.0 + _MAP_MM)
    box = (HALF_WIDTH_MM - 2.0 - _MAP_MM, 9.0, HALF_WIDTH_MM - 4.0, top)
    area = Area(sheet.paper, box, _with_room(weights), _with_room(lengths))
    area.vertical(display.standard_weight_g, color=PALE, linewidth=0.5)
    for _, weight, thickness in contours:
        area.plot(weight, thickness, color=INK, linewidth=0.6)
    draw_marks(area, pd.DataFrame([coin]), "weight_g", "thickness_mm")
    area.x_axis(phrase("report.figure.weight_axis"), ticks=3)
    for at, text in ((area.bottom, area.y[0]), (area.top, area.y[1])):
        sheet.paper.text(area.left - 0.8, at, fixed(text, 2), ha="right", va="center_baseline",
                         fontsize=6.4, color=GREY)  # fmt: skip
    sheet.paper.plot([area.left] * 2, [area.bottom, area.top], color=GREY, linewidth=0.5)
    sheet.paper.text(area.left - 5.0, area.top + 1.6, phrase("report.figure.thickness_axis"),
                     va="bottom", fontsize=7.0)  # fmt: skip


def _with_room(values: np.ndarray) -> tuple[float, float]:
    low, high = float(values.min()), float(values.max())
    room = _ROOM * (high - low) or 0.05
    return low - room, high + room


def _told_of_map(profile: Profile, display: TypeDisplay) -> str:
    """Where the coin stands against the middle of the innermost contour."""
    _, weight, thickness = min(contours_of(display), key=lambda contour: contour[0])
    return say(
        "report_types.alt.on_map",
        weight=fixed(profile.weight_g - float(np.mean(weight)), 2, signed=True),
        thickness=fixed(profile.thickness_mm - float(np.mean(thickness)), 2, signed=True),
    )
