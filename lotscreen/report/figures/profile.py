"""Profile drawings of coins in doubt: outline and edge in true size, expected dashed,
measured solid, departures ten times enlarged, and a strip for the weight."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd
from matplotlib.patches import Ellipse, Rectangle

from lotscreen.display import TypeDisplay
from lotscreen.report.figures.marks import MARKS
from lotscreen.report.figures.style import (
    ACCENT,
    FAINT,
    GREY,
    Paper,
)
from lotscreen.report.numerals import THIN, fixed
from lotscreen.report.printable import shortened
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say

ENLARGED = 10
TEXT_MM = 6.0
"""Below outline and edge, for the strip of the weight."""
_WIDEST_EDGE_MM = 9.0
_STRIP_MM = 44.0


@dataclass(frozen=True, slots=True)
class Profile:
    """One coin to draw. Expected lengths in mm are None where no reference is at hand;
    ``across_mm`` are the greatest and least diameter measured, NaN where not measured."""

    title: str
    finding: str
    reason: str
    expected_diameter_mm: float | None
    expected_thickness_mm: float | None
    across_mm: tuple[float, float]
    thickness_mm: float
    weight_g: float
    expected_low_g: float
    expected_high_g: float


def profile_of(view: LotView, coin: pd.Series, display: TypeDisplay) -> Profile:
    """What is drawn of ``coin``."""
    low, high = coin["diameter_min_mm"], coin["diameter_max_mm"]
    if pd.isna(low) or pd.isna(high):
        low = high = coin["diameter_mm"]
    name = shortened(str(coin["coin_id"]), 18)
    return Profile(
        title=say("report.profiles.title", coin=name, place=shortened(view.place(coin), 24)),
        finding=str(coin["finding"]),
        reason=str(coin["reason"]),
        expected_diameter_mm=display.reference_diameter_mm or display.standard_diameter_mm,
        expected_thickness_mm=display.reference_thickness_mm,
        across_mm=(float(high), float(low)),
        thickness_mm=float(coin["thickness_mm"]),
        weight_g=float(coin["weight_g"]),
        expected_low_g=float(coin["expected_low_g"]),
        expected_high_g=float(coin["expected_high_g"]),
    )


def draw_profile(paper: Paper, p: Profile, left: float, middle: float, largest: float) -> None:
    """Outline and edge about ``middle`` mm from below, ``largest`` the room of a diameter;
    the strip of the weight below them."""
    _draw_lengths(paper, p, left, middle, largest)
    _draw_weight(paper, p, left, TEXT_MM - 3.5)


def _enlarged(measured: float, expected: float, least: float, most: float) -> float:
    """``expected`` with the departure ten times enlarged, kept inside the drawing."""
    return min(max(expected + ENLARGED * (measured - expected), least), most)


def _draw_lengths(paper: Paper, p: Profile, left: float, middle: float, room: float) -> None:
    diameter = p.expected_diameter_mm or 20.0
    centre = (left + room / 2 + 1.5, middle)
    dashed: dict[str, Any] = {
        "fill": False,
        "edgecolor": GREY,
        "linestyle": (0, (3, 2)),
        "linewidth": 0.7,
    }
    solid: dict[str, Any] = {"fill": False, "edgecolor": ACCENT, "linewidth": 1.0}
    paper.patch(Ellipse(centre, diameter, diameter, **dashed))
    edge_left = left + room + 5
    thickness = p.expected_thickness_mm
    if thickness is not None:
        paper.patch(Rectangle((edge_left, middle - diameter / 2), thickness, diameter, **dashed))
    least, most = 0.3 * diameter, 1.1 * room
    across = [_enlarged(d, diameter, least, most) for d in p.across_mm if d == d]
    if across:
        paper.patch(Ellipse(centre, across[0], across[-1], **solid))
    if p.thickness_mm == p.thickness_mm and thickness is not None:
        width = _enlarged(p.thickness_mm, thickness, 0.2, _WIDEST_EDGE_MM)
        tall = across[0] if across else diameter
        paper.patch(Rectangle((edge_left, middle - tall / 2), width, tall, **solid))
    if not across:
        paper.text(
            *centre, phrase("report.profiles.only_weighed"), ha="center", va="center",
            fontsize=7, color=GREY,
        )  # fmt: skip


def _draw_weight(paper: Paper, p: Profile, left: float, bottom: float) -> None:
    """The expected interval as a pale bar, the reading as a mark on the same scale."""
    width = p.expected_high_g - p.expected_low_g
    if not width > 0:
        return
    scale = 0.25 * _STRIP_MM / width
    start = left + 0.55 * _STRIP_MM
    paper.plot([left, left + _STRIP_MM], [bottom, bottom], color=FAINT, linewidth=0.6, zorder=0)
    paper.patch(
        Rectangle((start, bottom - 0.9), 0.25 * _STRIP_MM, 1.8, facecolor=FAINT, edgecolor=GREY,
                  linewidth=0.4, linestyle=(0, (3, 2)))
    )  # fmt: skip
    reading = start + (p.weight_g - p.expected_low_g) * scale
    inside = min(max(reading, left), left + _STRIP_MM)
    mark = next(mark for mark in MARKS if mark.finding == p.finding)
    shape = mark.shape if inside == reading else ("<" if reading < inside else ">")
    paper.plot(
        [inside], [bottom], linestyle="none", marker=shape, markersize=mark.size,
        markeredgecolor=mark.edge, markerfacecolor=mark.fill, markeredgewidth=0.8,
    )  # fmt: skip


def _figures(p: Profile, decimals: int) -> str:
    """Weight read and expected, and by how much the lengths differ."""
    parts = [
        say(
            "report.profiles.weight",
            weight=fixed(p.weight_g, decimals),
            low=fixed(p.expected_low_g, max(2, decimals)),
            high=fixed(p.expected_high_g, max(2, decimals)),
        )
    ]
    if p.expected_diameter_mm is not None and p.across_mm[1] == p.across_mm[1]:
        off = fixed(p.across_mm[1] - p.expected_diameter_mm, 2, signed=True)
        parts.append(f"Ø{THIN}{off}")
    if p.expected_thickness_mm is not None and p.thickness_mm == p.thickness_mm:
        off = fixed(p.thickness_mm - p.expected_thickness_mm, 2, signed=True)
        parts.append(say("report.profiles.thickness", off=off))
    return ", ".join(parts)


def alt(p: Profile, decimals: int) -> str:
    """The drawing in words."""
    return say(
        "report.alt.profile", title=p.title, finding=p.finding, figures=_figures(p, decimals)
    )
