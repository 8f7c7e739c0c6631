"""The histogram of one type: weights read, the honest curve, standard, limits, marks."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from lotscreen.display import TypeDisplay
from lotscreen.records import Floats
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.marks import MARKS
from lotscreen.report.figures.style import ACCENT, FAINT, GREY, INK, PAGE_WIDTH_MM, PALE, Sheet
from lotscreen.report.numerals import fixed, whole
from lotscreen.report.view import MARKED, LotView
from lotscreen.words import phrase, say

_WIDEST = (0.68, 1.16)
_BINS = 56
_HEIGHT_MM = 76.0


def histogram(view: LotView, display: TypeDisplay) -> Picture:
    """Weights of ``display``'s coins as bars, everything else drawn over them."""
    coins = weighed(view, display)
    low, high = weight_span(display, coins["weight_g"].to_numpy(dtype=float))
    sheet = Sheet(PAGE_WIDTH_MM, _HEIGHT_MM)
    axes = sheet.axes(12, 11, 24, 19)
    axes.set_xlim(low, high)
    _draw_bars(axes, display, coins, low, high)
    _draw_lines(axes, display, view.decimals)
    axes.set_xlabel(phrase("report.figure.weight_axis"))
    axes.set_ylabel(phrase("report.figure.coins_axis"))
    strip = sheet.axes(12, _HEIGHT_MM - 18, 24, 1)
    _draw_strip(strip, coins, low, high)
    return sheet.picture(_alt(view, display, coins), _caption(coins, low, high))


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
    low = min([display.limit_low_g, standard, *near])
    high = max([display.limit_high_g, standard, *near])
    room = 0.04 * (high - low)
    return max(low - room, floor), min(high + room, ceiling)


def _draw_bars(
    axes: Axes, display: TypeDisplay, coins: pd.DataFrame, low: float, high: float
) -> None:
    step = coins["weight_step_g"].min()
    width = (high - low) / _BINS
    if math.isfinite(step) and step > 0:
        width = max(1, round(width / step)) * step
        low = (math.floor(low / step) - 0.5) * step
    edges = np.arange(low, high + width, width)
    counts, _ = np.histogram(coins["weight_g"], edges)
    axes.bar(edges[:-1], counts, width, align="edge", color=FAINT, edgecolor=PALE, linewidth=0.4)
    curve = display.curve_density_per_g * len(coins) * width
    axes.plot(
        display.curve_weight_g, curve, color=INK, linewidth=1.1,
        label=phrase("report.figure.honest_curve"),
    )  # fmt: skip
    top = max([1.0, *counts, *curve])
    axes.set_ylim(0, 1.06 * top)


def _draw_lines(axes: Axes, display: TypeDisplay, decimals: int) -> None:
    decimals = max(decimals, 2)
    standard = display.standard_weight_g
    if display.remedy_g is not None:
        axes.axvspan(
            standard - display.remedy_g, standard + display.remedy_g,
            facecolor="none", edgecolor=PALE, hatch="/////", linewidth=0, zorder=0,
        )  # fmt: skip
    lines = [
        (display.limit_low_g, "limit_line", "--", GREY),
        (standard, "standard_line", "-", ACCENT),
        (display.limit_high_g, "limit_line", "--", GREY),
    ]
    if display.least_current_g is not None:
        lines.append((display.least_current_g, "least_current_line", ":", INK))
    for weight, _, pattern, colour in lines:
        axes.axvline(weight, color=colour, linestyle=pattern, linewidth=0.9)
    for height, (weight, name, pattern, colour) in enumerate(sorted(lines, reverse=True)):
        axes.annotate(
            say(f"report.figure.{name}", weight=fixed(weight, decimals)),
            xy=(weight, 0.98 - 0.09 * height), xycoords=("data", "axes fraction"),
            xytext=(1.015, 0.98 - 0.09 * height), textcoords="axes fraction",
            va="center", fontsize=7.5, color=INK, annotation_clip=False,
            arrowprops={"arrowstyle": "-", "linewidth": 0.4, "color": colour, "linestyle": pattern},
        )  # fmt: skip


def _draw_strip(axes: Axes, coins: pd.DataFrame, low: float, high: float) -> None:
    """One row a finding above the bars, every marked coin at its weight."""
    rows = [mark for mark in MARKS if mark.finding in MARKED]
    inside = coins[coins["weight_g"].between(low, high)]
    for row, mark in enumerate(rows):
        chosen = inside.loc[inside["finding"] == mark.finding, "weight_g"]
        count = int((coins["finding"] == mark.finding).sum())
        axes.axhline(row, color=FAINT, linewidth=0.5, zorder=0)
        axes.plot(
            chosen.to_numpy(dtype=float), np.full(len(chosen), row), linestyle="none",
            marker=mark.shape, markersize=mark.size, markeredgecolor=mark.edge,
            markerfacecolor=mark.fill, markeredgewidth=0.7, clip_on=False,
        )  # fmt: skip
        axes.annotate(
            f"{mark.finding}: {whole(count)}", xy=(1.015, row),
            xycoords=("axes fraction", "data"), va="center", fontsize=7.5,
        )  # fmt: skip
    axes.set_xlim(low, high)
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.set_axis_off()


def _caption(coins: pd.DataFrame, low: float, high: float) -> str:
    outside = int((~coins["weight_g"].between(low, high)).sum())
    text = phrase("report.figure.histogram_caption")
    return text + (" " + say("report.figure.off_drawing", n=whole(outside)) if outside else "")


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
