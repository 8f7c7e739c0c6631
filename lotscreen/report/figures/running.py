"""The running chart: coins set aside against the test's lines, and the CUSUM below."""

from __future__ import annotations

import numpy as np

from lotscreen.records import Floats, Ints
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.style import ACCENT, FAINT, GREY, INK, PAGE_WIDTH_MM, Paper, Sheet
from lotscreen.report.numerals import fixed, whole
from lotscreen.sequential.running import RunningChart
from lotscreen.words import phrase, say

MOST_POINTS = 2_000
_RIGHT_MM = 134.0
_COUNTS_MM, SUMS_MM = 58.0, 38.0
_LINES = (("measure_all_line", "--"), ("accept_line", "-."))


def running_chart(chart: RunningChart) -> Picture | None:
    """Both panels over the coins counted; None where there are fewer than two."""
    if len(chart.coin) < 2:
        return None
    with_sums = bool(np.isfinite(chart.cusum_up).any() and np.isfinite(chart.cusum_limit))
    below = 9.0 + (SUMS_MM + 9 if with_sums else 0.0)
    sheet = Sheet(PAGE_WIDTH_MM, below + _COUNTS_MM + 5)
    _draw_counts(sheet.paper, chart, below, numbered=not with_sums)
    if with_sums:
        x, up = thinned(chart.coin, chart.cusum_up)
        down, last = thinned(chart.coin, chart.cusum_down)[1], float(chart.coin[-1])
        area = sums_area(sheet.paper, 9.0, last, x, up, down, chart.cusum_limit)
        area.x_axis(phrase("report.running.coin_axis"), decimals=0)
        area.y_axis(phrase("report.running.cusum_axis"))
    words = "caption_rule" if chart.decision else "caption_back"
    caption = phrase(f"report.running.{words}")
    if with_sums:
        caption += " " + phrase("report.running.caption_sums")
    return sheet.picture(_alt(chart, with_sums), caption)


def thinned(coin: Ints, values: Floats | Ints) -> tuple[Ints, Floats]:
    """At most ``MOST_POINTS`` points: the largest value of each run of coins."""
    step = -(-len(coin) // MOST_POINTS)
    if step == 1:
        return coin, np.asarray(values, dtype=np.float64)
    starts = np.arange(0, len(coin), step)
    ends = np.append(starts[1:], len(coin)) - 1
    return coin[ends], np.fmax.reduceat(np.asarray(values, dtype=np.float64), starts)


def _draw_counts(paper: Paper, chart: RunningChart, bottom: float, numbered: bool) -> None:
    x, low = thinned(chart.coin, chart.set_aside_low)
    _, high = thinned(chart.coin, chart.set_aside_high)
    limits = [thinned(chart.coin, getattr(chart, name))[1] for name, _ in _LINES]
    top = max(1.15 * float(high[-1]), 3.0)
    for limit in limits:
        if np.isfinite(limit).any():
            top = max(top, min(1.08 * float(np.nanmax(limit)), 3 * top))
    box = (9.0, bottom, _RIGHT_MM, bottom + _COUNTS_MM)
    area = Area(paper, box, (0, float(chart.coin[-1])), (0, top))
    area.band(*_stairs(x, low), _stairs(x, high)[1], facecolor=FAINT)
    area.plot(x, low, drawstyle="steps-post", color=INK, linewidth=1.2)
    area.plot(x, high, drawstyle="steps-post", color=INK, linewidth=0.6)
    beside = [(float(low[-1]), phrase("report.running.count_low"))]
    if high[-1] > low[-1]:
        beside.append((float(high[-1]), phrase("report.running.count_high")))
    rule = "rule" if chart.decision else "back"
    for (name, pattern), limit in zip(_LINES, limits, strict=True):
        known = np.isfinite(limit)
        if known.any():
            area.plot(x[known], limit[known], color=ACCENT, linestyle=pattern)
            beside.append((float(limit[known][-1]), phrase(f"report.running.{rule}.{name}")))
    if chart.decided_at > 0:
        area.vertical(chart.decided_at, color=GREY, linestyle=":")
    area.beside(beside)
    area.x_axis(phrase("report.running.coin_axis") if numbered else "", decimals=0)
    area.y_axis(phrase("report.running.count_axis"), decimals=0)


def _stairs(x: Ints, y: Floats) -> tuple[Floats, Floats]:
    """The corners of a line that rises at each point and is level between."""
    return np.repeat(x, 2)[1:].astype(np.float64), np.repeat(y, 2)[:-1]


def sums_area(
    paper: Paper, bottom: float, last: float, x: Ints, up: Floats, down: Floats, limit: float
) -> Area:
    """Both running sums after each coin ``x``, the downward one drawn downwards, with their
    limit; from 0 to ``last``, :data:`SUMS_MM` high. The axes are still to be named."""
    highest = float(np.nanmax([np.nanmax(up), np.nanmax(down)]))
    reach = max(1.3 * limit, min(1.1 * highest, 6 * limit))
    area = Area(paper, (9.0, bottom, _RIGHT_MM, bottom + SUMS_MM), (0.0, last), (-reach, reach))
    area.horizontal(0, color=GREY, linewidth=0.4)
    area.plot(x, up, color=INK, linewidth=0.8)
    area.plot(x, -down, color=ACCENT, linewidth=0.8)
    beside = [(limit, phrase("report.running.limit")), (-limit, phrase("report.running.limit"))]
    beside.append((0.45 * limit, phrase("report.running.heavier")))
    beside.append((-0.45 * limit, phrase("report.running.lighter")))
    for sign in (1, -1):
        area.horizontal(sign * limit, color=GREY, linestyle="--", linewidth=0.7)
    area.beside(beside)
    return area


def _alt(chart: RunningChart, with_sums: bool) -> str:
    counts = say(
        "report.alt.running",
        n=whole(len(chart.coin)),
        low=whole(int(chart.set_aside_low[-1])),
        high=whole(int(chart.set_aside_high[-1])),
    )
    if not with_sums:
        return counts
    beyond = np.flatnonzero(
        (chart.cusum_up > chart.cusum_limit) | (chart.cusum_down > chart.cusum_limit)
    )
    signal = whole(int(chart.coin[beyond[0]])) if len(beyond) else phrase("report.alt.never")
    limit = fixed(chart.cusum_limit, 1)
    return f"{counts} {say('report.alt.running_sums', limit=limit, signal=signal)}"
