"""The histogram of one type: weights read, the honest curve, standard, limits, marks."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
from matplotlib.patches import Rectangle

from lotscreen.display import TypeDisplay
from lotscreen.records import Floats
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.marks import MARKS
from lotscreen.report.figures.style import (
    ACCENT,
    FAINT,
    GREY,
    INK,
    PAGE_WIDTH_MM,
    PALE,
    Paper,
    Sheet,
)
from lotscreen.report.numerals import counted, fixed, percent, whole
from lotscreen.report.view import MARKED, LotView
from lotscreen.words import phrase, say

_WIDEST = (0.68, 1.16)
_MOST_BARS = 56
_HEIGHT_MM = 70.0
_LEFT_MM, _RIGHT_MM = 10.0, 138.0
_LABEL_APART_MM = 3.4
FALSE_PATTERN = (0, (4, 1, 1, 1))


def histogram(view: LotView, display: TypeDisplay) -> Picture:
    """Weights of ``display``'s coins as bars, everything else drawn over them."""
    coins = weighed(view, display)
    span = weight_span(display, coins["weight_g"].to_numpy(dtype=float))
    edges = _edges(coins["weight_step_g"].min(), span)
    counts, _ = np.histogram(coins["weight_g"], edges)
    each = len(coins) * float(edges[1] - edges[0])
    false = display.false_density_per_g
    honest = 1.0 if false is None else 1.0 - display.false_share
    curve = honest * display.curve_density_per_g * each
    top = 1.06 * max([1.0, *counts, *curve])
    sheet = Sheet(PAGE_WIDTH_MM, _HEIGHT_MM)
    area = Area(sheet.paper, (_LEFT_MM, 9, _RIGHT_MM, _HEIGHT_MM - 18), span, (0, top))
    if display.remedy_g is not None:
        low, high = (display.standard_weight_g + s * display.remedy_g for s in (-1, 1))
        area.columns(low, high, facecolor="none", edgecolor=PALE, hatch="/////", linewidth=0)
    area.bars(edges, counts, facecolor=FAINT, edgecolor=PALE, linewidth=0.4)
    area.plot(display.curve_weight_g, curve, color=INK, linewidth=1.1)
    if false is not None:
        area.plot(display.curve_weight_g, false * each, color=ACCENT, linewidth=1.1,
                  linestyle=FALSE_PATTERN)  # fmt: skip
    _draw_lines(area, display, max(view.decimals, 2))
    _name_false_part(area, display)
    area.x_axis(phrase("report.figure.weight_axis"))
    area.y_axis("", decimals=0)
    sheet.paper.text(0, _HEIGHT_MM - 17, phrase("report.figure.coins_axis"), va="bottom")
    _draw_strip(sheet.paper, area, coins)
    return sheet.picture(_alt(view, display, coins), _caption(coins, span))


def weighed(view: LotView, display: TypeDisplay) -> pd.DataFrame:
    """The coins of this type that were weighed."""
    coins = view.coins
    return coins[(coins["type_key"] == display.type_key) & coins["weight_g"].notna()]


def weight_span(display: TypeDisplay, weights: Floats) -> tuple[float, float]:
    """The weights a drawing of this type shows, in g: the lot's own, but never so wide that
    one slip of the pen squeezes all honest coins into a line."""
    standard = display.standard_weight_g
    floor, ceiling = _WIDEST[0] * standard, _WIDEST[1] * standard
    near = weights[(weights >= floor) & (weights <= ceiling)]
    low = min([display.limit_low_g, standard - (display.remedy_g or 0.0), *near])
    high = max([display.limit_high_g, standard + (display.remedy_g or 0.0), *near])
    room = 0.04 * (high - low)
    return max(low - room, floor), min(high + room, ceiling)


def _edges(step: float, span: tuple[float, float]) -> Floats:
    """Edges between the values that the balance can show, the bars of one width."""
    low, high = span
    width = (high - low) / _MOST_BARS
    if math.isfinite(step) and step > 0:
        width = max(1, math.ceil(width / step)) * step
        low = (math.floor(low / step) - 0.5) * step
    return np.arange(low, high + width, width)


def _draw_lines(area: Area, display: TypeDisplay, decimals: int) -> None:
    """Standard and limits as lines, each with its name right of the box."""
    lines = [
        (display.limit_low_g, "limit_low", "--", GREY),
        (display.standard_weight_g, "standard", "-", ACCENT),
        (display.limit_high_g, "limit_high", "--", GREY),
    ]
    if display.least_current_g is not None:
        lines.append((display.least_current_g, "least_current", ":", INK))
    area.paper.plot([area.right + 1, area.right + 5], [area.top - 1] * 2, color=INK, linewidth=1.1)
    text = phrase("report.figure.honest_curve")
    area.paper.text(area.right + 6, area.top - 1, text, va="center_baseline", fontsize=7.4)
    for place, (weight, name, pattern, colour) in enumerate(sorted(lines, reverse=True), start=1):
        area.vertical(weight, color=colour, linestyle=pattern)
        at = area.top - 1 - _LABEL_APART_MM * place
        area.paper.plot([area.right + 1, area.right + 5], [at] * 2, color=colour, linestyle=pattern)
        text = say(f"report.figure.line.{name}", weight=fixed(weight, decimals))
        area.paper.text(area.right + 6, at, text, va="center_baseline", fontsize=7.4)
    if display.remedy_g is not None:
        at = area.top - 1 - _LABEL_APART_MM * (len(lines) + 1)
        area.paper.patch(
            Rectangle((area.right + 1, at - 1), 4, 2, facecolor="none", edgecolor=PALE,
                      hatch="////////", linewidth=0)
        )  # fmt: skip
        text = say("report.figure.line.remedy", weight=fixed(display.remedy_g, 3))
        area.paper.text(area.right + 6, at, text, va="center_baseline", fontsize=7.4)


def _name_false_part(area: Area, display: TypeDisplay) -> None:
    """The name of the second curve, below those of the lines."""
    if display.false_density_per_g is None:
        return
    at = area.bottom + 2.0
    area.paper.plot([area.right + 1, area.right + 5], [at] * 2, color=ACCENT, linewidth=1.1,
                    linestyle=FALSE_PATTERN)  # fmt: skip
    text = say("report_types.figure.false_curve", share=percent(100 * display.false_share))
    area.paper.text(area.right + 6, at, text, va="center_baseline", fontsize=7.4)


def _draw_strip(paper: Paper, area: Area, coins: pd.DataFrame) -> None:
    """One row a finding above the bars, every marked coin at its weight."""
    rows = [mark for mark in MARKS if mark.finding in MARKED]
    strip = Area(
        paper,
        (area.left, area.top + 2.5, area.right, _HEIGHT_MM - 1),
        area.x,
        (-0.5, len(rows) - 0.5),
    )
    inside = coins[coins["weight_g"].between(*area.x)]
    for row, mark in enumerate(rows):
        chosen = inside.loc[inside["finding"] == mark.finding, "weight_g"].to_numpy(dtype=float)
        count = int((coins["finding"] == mark.finding).sum())
        strip.horizontal(row, color=FAINT, linewidth=0.5)
        strip.plot(
            chosen, np.full(len(chosen), row), clip=False, linestyle="none", marker=mark.shape,
            markersize=mark.size, markeredgecolor=mark.edge, markerfacecolor=mark.fill,
            markeredgewidth=0.7,
        )  # fmt: skip
        text = f"{mark.finding}: {whole(count)}"
        paper.text(area.right + 1.5, strip.at_y(row), text, va="center_baseline", fontsize=7.4)


def _caption(coins: pd.DataFrame, span: tuple[float, float]) -> str:
    outside = int((~coins["weight_g"].between(*span)).sum())
    text = phrase("report.figure.histogram_caption")
    if not outside:
        return text
    return text + " " + say("report.figure.off_drawing", coins=counted(outside, "coin"))


def _alt(view: LotView, display: TypeDisplay, coins: pd.DataFrame) -> str:
    peak = float(display.curve_weight_g[int(np.argmax(display.curve_density_per_g))])
    weights = coins["weight_g"]
    return say(
        "report.alt.histogram",
        n=whole(len(coins)),
        type=display.type_name,
        low=fixed(float(weights.min()), view.decimals),
        high=fixed(float(weights.max()), view.decimals),
        peak=fixed(peak, 2),
        standard=fixed(display.standard_weight_g, 2),
        limit_low=fixed(display.limit_low_g, 2),
        limit_high=fixed(display.limit_high_g, 2),
        marked=whole(int(coins["finding"].isin(MARKED).sum())),
    )
