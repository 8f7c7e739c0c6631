"""Residuals of the weights: against the year struck, in measuring order, and in order of
size against the normal with an envelope."""

from __future__ import annotations

import numpy as np
import pandas as pd

from lotscreen.display import QuantilePlot, TypeDisplay
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.histogram import weighed
from lotscreen.report.figures.marks import draw_marks
from lotscreen.report.figures.style import FAINT, GREY, HALF_WIDTH_MM, INK, PALE, Sheet
from lotscreen.report.numerals import fixed, whole
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say

_HEIGHT_MM = 51.0
_BOX = (9.0, 9.0, HALF_WIDTH_MM - 4.0, _HEIGHT_MM - 5.0)
_FARTHEST = 8.0
_LEAST_SPAN = 3.5
_DASHED = 2.0


def residuals_by_year(view: LotView, display: TypeDisplay) -> Picture | None:
    """Against the year struck; None where no coin has a year."""
    coins = _told(view, display)
    return _residuals(coins[coins["year"].notna()], display, "year", "year")


def residuals_in_order(view: LotView, display: TypeDisplay) -> Picture | None:
    """In measuring order, counted over the coins of the type."""
    coins = _told(view, display).sort_values("order", kind="stable")
    return _residuals(coins.assign(place=np.arange(1, len(coins) + 1)), display, "place", "order")


def _told(view: LotView, display: TypeDisplay) -> pd.DataFrame:
    coins = weighed(view, display)
    return coins[coins["z_weight"].notna()]


def _residuals(coins: pd.DataFrame, display: TypeDisplay, column: str, name: str) -> Picture | None:
    if coins.empty:
        return None
    z = coins["z_weight"].to_numpy(dtype=float)
    reach = min(max(_LEAST_SPAN, 1.06 * float(np.abs(z).max())), _FARTHEST)
    x = coins[column].to_numpy(dtype=float)
    sheet = Sheet(HALF_WIDTH_MM, _HEIGHT_MM)
    area = Area(sheet.paper, _BOX, (x.min() - 0.5, x.max() + 0.5), (-reach, reach))
    area.horizontal(0.0, color=GREY, linewidth=0.6)
    for side in (-_DASHED, _DASHED):
        area.horizontal(side, color=PALE, linewidth=0.5, linestyle="--")
    kept = 0.985 * reach  # what lies beyond is drawn at the rim
    draw_marks(area, coins.assign(at=np.clip(z, -kept, kept)), column, "at", shrink=0.9)
    year = name == "year"
    axis = "report.figure.year_axis" if year else "report_types.figure.order_axis"
    area.x_axis(phrase(axis), decimals=0, ticks=6)
    area.y_axis(phrase("report_types.figure.residual_axis"))
    told = say(
        f"report_types.alt.residuals_{name}", n=whole(len(coins)), type=display.type_name,
        low=fixed(float(z.min()), 1), high=fixed(float(z.max()), 1),
    )  # fmt: skip
    return sheet.picture(told, phrase(f"report_types.figure.residuals_{name}"))


def quantiles(display: TypeDisplay) -> Picture | None:
    """Ordered residuals against the normal; None where they were not computed."""
    plot = display.quantiles
    if plot is None:
        return None
    reach = float(np.abs(plot.normal).max()) + 0.3
    tall = min(max(reach, 1.04 * float(np.abs(plot.residual).max())), _FARTHEST)
    sheet = Sheet(HALF_WIDTH_MM, _HEIGHT_MM)
    area = Area(sheet.paper, _BOX, (-reach, reach), (-tall, tall))
    area.band(plot.normal, plot.low, plot.high, facecolor=FAINT)
    area.plot([-reach, reach], [-reach, reach], color=GREY, linewidth=0.5)
    _draw_places(area, plot, 0.985 * tall)
    area.x_axis(phrase("report_types.figure.normal_axis"), ticks=6)
    area.y_axis(phrase("report_types.figure.residual_axis"))
    facts = {"outside": whole(plot.outside), "n": whole(len(plot.normal))}
    return sheet.picture(
        say("report_types.alt.quantiles", type=display.type_name, **facts),
        say("report_types.figure.quantiles", **facts),
    )


def _draw_places(area: Area, plot: QuantilePlot, kept: float) -> None:
    """Places within the envelope as dots, those outside as rings."""
    at = np.clip(plot.residual, -kept, kept)
    out = (plot.residual < plot.low) | (plot.residual > plot.high)
    for chosen, shape, fill in ((~out, ".", INK), (out, "o", "white")):
        area.plot(
            plot.normal[chosen], at[chosen], linestyle="none", marker=shape, markersize=3.2,
            markeredgecolor=INK, markerfacecolor=fill, markeredgewidth=0.6,
        )  # fmt: skip
