"""Coins known by their weight alone: each reading beside what was expected of it."""

from __future__ import annotations

import pandas as pd

from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.marks import MARKS
from lotscreen.report.figures.style import FAINT, GREY, PAGE_WIDTH_MM, Sheet, label
from lotscreen.report.numerals import fixed
from lotscreen.report.printable import shortened
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say

MOST_ROWS = 46
_ROW_MM = 4.2
_LEFT_MM, _RIGHT_MM = 46.0, 134.0
_FARTHEST = 4.0


def weight_strips(view: LotView, coins: pd.DataFrame) -> Picture | None:
    """At most ``MOST_ROWS`` coins in the order given; None where none has an expectation."""
    rows = coins[coins["expected_low_g"].notna() & coins["weight_g"].notna()].head(MOST_ROWS)
    if rows.empty:
        return None
    height = 10 + _ROW_MM * len(rows) + 1
    sheet = Sheet(PAGE_WIDTH_MM, height)
    area = Area(sheet.paper, (_LEFT_MM, 10, _RIGHT_MM, height - 1), _span(rows), (len(rows), 0))
    for place, (_, coin) in enumerate(rows.iterrows()):
        _draw_row(area, view, coin, place + 0.5)
    area.x_axis(phrase("report.figure.weight_axis"))
    alt = say(
        "report.alt.strips", coins="; ".join(_told(view, coin) for _, coin in rows.iterrows())
    )
    return sheet.picture(alt, phrase("report.figure.strips_caption"))


def _span(rows: pd.DataFrame) -> tuple[float, float]:
    """All expectations, and readings as far as they do not squeeze these into a line."""
    low, high = float(rows["expected_low_g"].min()), float(rows["expected_high_g"].max())
    reach = _FARTHEST * (high - low)
    near = rows["weight_g"].clip(low - reach, high + reach)
    low, high = min(low, float(near.min())), max(high, float(near.max()))
    room = 0.04 * (high - low)
    return low - room, high + room


def _draw_row(area: Area, view: LotView, coin: pd.Series, y: float) -> None:
    mark = next(mark for mark in MARKS if mark.finding == coin["finding"])
    weight = float(coin["weight_g"])
    inside = min(max(weight, area.x[0]), area.x[1])
    shape = mark.shape if inside == weight else ("<" if weight < inside else ">")
    area.horizontal(y, color=FAINT, linewidth=0.4)
    area.plot(
        [coin["expected_low_g"], coin["expected_high_g"]], [y, y], color=GREY, linewidth=3.4,
        alpha=0.45, solid_capstyle="butt",
    )  # fmt: skip
    area.plot(
        [inside], [y], clip=False, linestyle="none", marker=shape, markersize=mark.size,
        markeredgecolor=mark.edge, markerfacecolor=mark.fill, markeredgewidth=0.8,
    )  # fmt: skip
    name = f"{shortened(str(coin['coin_id']), 14)} · {shortened(view.place(coin), 20)}"
    at = area.at_y(y)
    area.paper.text(_LEFT_MM - 2, at, label(name), ha="right", va="center_baseline", fontsize=7)
    text = say("report.figure.strip", weight=fixed(weight, view.decimals), finding=mark.finding)
    area.paper.text(_RIGHT_MM + 2, at, text, va="center_baseline", fontsize=7)


def _told(view: LotView, coin: pd.Series) -> str:
    return say(
        "report.alt.strip",
        coin=coin["coin_id"],
        weight=fixed(coin["weight_g"], view.decimals),
        low=fixed(coin["expected_low_g"], 2),
        high=fixed(coin["expected_high_g"], 2),
    )
