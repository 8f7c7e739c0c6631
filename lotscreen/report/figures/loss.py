"""Loss of weight against the year struck, with the band that honest coins keep to."""

from __future__ import annotations

import numpy as np
import pandas as pd

from lotscreen.display import TypeDisplay
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.histogram import weighed, weight_span
from lotscreen.report.figures.marks import draw_marks
from lotscreen.report.figures.style import FAINT, GREY, HALF_WIDTH_MM, INK, PALE, Sheet
from lotscreen.report.numerals import percent, whole
from lotscreen.report.view import MARKED, LotView
from lotscreen.words import phrase, say

HEIGHT_MM = 60.0
_ROOM_MM = 4.0
BOX = (9.0, 9.0, HALF_WIDTH_MM - _ROOM_MM, HEIGHT_MM - 5)
_WITHOUT_DATE = 0.08


def loss_by_year(view: LotView, display: TypeDisplay, width_mm: float) -> Picture | None:
    """Every coin at its year and loss; None where no year of this type is expected."""
    coins = weighed(view, display)
    if coins.empty or not len(display.year):
        return None
    low, high = weight_span(display, coins["weight_g"].to_numpy(dtype=float))
    coins = coins[coins["weight_g"].between(low, high)]
    years, no_date_at = _years(coins, display)
    loss = 100 * (1 - coins["weight_g"] / display.standard_weight_g)
    least, most = (100 * (1 - edge / display.standard_weight_g) for edge in (high, low))
    sheet = Sheet(width_mm, HEIGHT_MM)
    box = (BOX[0], BOX[1], width_mm - _ROOM_MM, BOX[3])
    area = Area(
        sheet.paper, box, years, (min(least, float(np.min(display.year_low_percent))), most)
    )
    _draw_band(area, display)
    area.horizontal(0, color=GREY, linewidth=0.5)
    if no_date_at is not None:
        _draw_without_date(area, no_date_at)
    placed = coins.assign(x=coins["year"].fillna(no_date_at), y=loss)
    draw_marks(area, placed, "x", "y", shrink=0.9)
    area.x_axis(phrase("report.figure.year_axis"), decimals=0, ticks=6)
    area.y_axis(phrase("report.figure.loss_axis"))
    return sheet.picture(_alt(display, coins), phrase("report.figure.loss_caption"))


def _years(coins: pd.DataFrame, display: TypeDisplay) -> tuple[tuple[float, float], float | None]:
    """The years shown, and where to the right of them coins without date stand."""
    known = np.concatenate([display.year, coins["year"].dropna().to_numpy(dtype=float)])
    first, last = float(known.min()) - 1, float(known.max()) + 1
    if not coins["year"].isna().any():
        return (first, last), None
    room = max(4.0, _WITHOUT_DATE * (last - first))
    return (first, last + 2 * room), last + room


def _draw_band(area: Area, display: TypeDisplay) -> None:
    """Expected loss; a single year becomes a short level line."""
    year = display.year
    if len(year) == 1:
        year = np.array([year[0] - 0.5, year[0] + 0.5])
    curves = (display.year_low_percent, display.year_high_percent, display.year_loss_percent)
    low, high, mean = (np.broadcast_to(curve, len(year)) for curve in curves)
    area.band(year, low, high, facecolor=FAINT)
    area.plot(year, mean, color=INK, linewidth=1.0, zorder=3)


def _draw_without_date(area: Area, at: float) -> None:
    area.vertical(at - 0.5 * (area.x[1] - at), color=PALE, linewidth=0.5, linestyle=":")
    area.text(at, area.y[1], phrase("report.figure.no_date"), ha="center", va="bottom", fontsize=7)


def _alt(display: TypeDisplay, coins: pd.DataFrame) -> str:
    return say(
        "report.alt.loss",
        type=display.type_name,
        n=whole(len(coins)),
        first=f"{display.year[0]:.0f}",
        last=f"{display.year[-1]:.0f}",
        early=percent(float(display.year_loss_percent[0])),
        late=percent(float(display.year_loss_percent[-1])),
        marked=whole(int(coins["finding"].isin(MARKED).sum())),
    )
