"""The stop path: coins set aside against the plan's lines, and the bound below, with the
minutes under the coins."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lotscreen.records import Floats
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area, nice_ticks
from lotscreen.report.figures.style import ACCENT, FAINT, GREY, INK, PAGE_WIDTH_MM, Paper, Sheet
from lotscreen.report.numerals import fixed, whole
from lotscreen.sequential.lines import Lines
from lotscreen.sequential.outlook import coins_in, minutes_for
from lotscreen.sequential.sampling_plan import SamplingPlan
from lotscreen.sequential.stopping import Decision, StopState
from lotscreen.words import phrase, say

_RIGHT_MM = 128.0
_LEFT_MM = 9.0
_COUNTS_MM, _BOUND_MM = 50.0, 40.0
_AXIS_MM = 17.0
_LINES = (("measure_all", "--"), ("accept", "-."))


def stop_path(plan: SamplingPlan, moments: Sequence[StopState], lines: Lines) -> Picture | None:
    """Both panels over the coins that count; None before the first batch."""
    if len(moments) < 2:
        return None
    sheet = Sheet(PAGE_WIDTH_MM, _AXIS_MM + _BOUND_MM + 12 + _COUNTS_MM + 6)
    last = _last_coin(moments, lines)
    above = _AXIS_MM + _BOUND_MM + 12
    _draw_counts(sheet.paper, moments, lines, (0.0, last), above)
    area = _draw_bound(sheet.paper, plan, moments, (0.0, last))
    _draw_minutes(area, plan, last)
    return sheet.picture(_alt(plan, moments), _caption(moments))


def _caption(moments: Sequence[StopState]) -> str:
    """The line for kinds noticed more seldom is spoken of where there is one."""
    caption, bounds = phrase("report_plan.stop.caption"), moments[-1].bounds
    if len(bounds) == 1:
        return caption
    notice = f"{100 * bounds[-1].bet.notice:g}"
    return caption + " " + say("report_plan.stop.caption_seldom", notice=notice)


def _last_coin(moments: Sequence[StopState], lines: Lines) -> float:
    """The path, and as far as the first coin that could accept it as it stands."""
    state = moments[-1]
    accepting = np.flatnonzero(lines.accept >= state.high)
    first = int(accepting[0]) if len(accepting) and state.decision == Decision.GO_ON else 0
    return float(max(state.drawn, min(first, 3 * max(state.drawn, 20))) * 1.05)


def _draw_counts(
    paper: Paper, moments: Sequence[StopState], lines: Lines, x: tuple[float, float], bottom: float
) -> None:
    drawn = np.array([m.drawn for m in moments], dtype=np.float64)
    low = np.array([m.low for m in moments], dtype=np.float64)
    high = np.array([m.high for m in moments], dtype=np.float64)
    coins = np.arange(min(int(x[1]), lines.most_coins) + 1)
    top = max(1.4 * float(high[-1]), 1.6 * float(lines.accept[coins[-1]]), 4.0)
    area = Area(paper, (_LEFT_MM, bottom, _RIGHT_MM, bottom + _COUNTS_MM), x, (0.0, top))
    area.band(*_stairs(drawn, low), _stairs(drawn, high)[1], facecolor=FAINT)
    area.plot(drawn, low, drawstyle="steps-post", color=INK, linewidth=1.2)
    area.plot(drawn, high, drawstyle="steps-post", color=INK, linewidth=0.6)
    beside = [(float(low[-1]), phrase("report_plan.stop.low"))]
    if high[-1] > low[-1]:
        beside.append((float(high[-1]), phrase("report_plan.stop.high")))
    for name, pattern in _LINES:
        line = getattr(lines, name)[coins].astype(np.float64)
        line[(line < 0) | (line > coins)] = np.nan
        if np.isfinite(line).any():
            area.plot(coins, line, drawstyle="steps-post", color=ACCENT, linestyle=pattern)
            at = float(line[np.isfinite(line)][-1])
            beside.append((at, phrase(f"report_plan.stop.{name}")))
    _decision(area, moments[-1])
    area.beside(beside)
    area.x_axis("", decimals=0)
    area.y_axis(phrase("report_plan.stop.count_axis"), decimals=0)


def _draw_bound(
    paper: Paper, plan: SamplingPlan, moments: Sequence[StopState], x: tuple[float, float]
) -> Area:
    """What the lot can hold: from the coins found to the bound, in per cent of the lot."""
    known = [m for m in moments if m.drawn]
    drawn = np.array([m.drawn for m in known], dtype=np.float64)
    upper = _percent([m.bounds[0].coins for m in known], plan)
    lower = _percent([m.low for m in known], plan)
    wide = _percent([m.bounds[-1].coins for m in known], plan)
    bad, seldom = 100.0 * plan.bad_share, len(moments[-1].bounds) > 1
    top = min(max(4.0 * bad, 1.3 * float(upper[-1]), 1.15 * float(wide[-1])), 100.0)
    box = (_LEFT_MM, _AXIS_MM, _RIGHT_MM, _AXIS_MM + _BOUND_MM)
    area = Area(paper, box, x, (0.0, top))
    if len(known) > 1:
        area.band(drawn, lower, np.minimum(upper, top), facecolor=FAINT)
    marker = "." if len(known) == 1 else ""
    area.plot(drawn, upper, color=INK, marker=marker)
    if seldom:
        area.plot(drawn, wide, color=INK, linestyle=":", linewidth=0.8, marker=marker)
    area.horizontal(bad, color=ACCENT, linestyle="--", linewidth=0.8)
    _decision(area, moments[-1])
    notices = [f"{100 * b.bet.notice:g}" for b in moments[-1].bounds]
    beside = [(bad, say("report_plan.stop.goal", share=f"{bad:g}"))]
    beside.append((float(upper[-1]), say("report_plan.stop.bound", notice=notices[0])))
    if seldom:
        beside.append((float(wide[-1]), say("report_plan.stop.bound", notice=notices[-1])))
    area.beside(beside)
    area.x_axis(phrase("report_plan.stop.coin_axis"), decimals=0)
    area.y_axis(phrase("report_plan.stop.bound_axis"))
    return area


def _draw_minutes(area: Area, plan: SamplingPlan, last: float) -> None:
    """A second axis below the first: minutes at the plan's pace."""
    y = area.bottom - 11.0
    minutes = minutes_for(last, plan.seconds_per_coin)
    area.paper.plot([area.left, area.right], [y, y], color=GREY, linewidth=0.5)
    for value, text in nice_ticks((0.0, minutes), 7):
        at = area.at_x(coins_in(value, plan.seconds_per_coin))
        area.paper.plot([at, at], [y, y - 0.9], color=GREY, linewidth=0.5)
        area.paper.text(at, y - 1.4, text, ha="center", va="top", fontsize=7.4)
    area.paper.text(
        area.right + 1.5, y, phrase("report_plan.stop.minutes"), va="center", fontsize=7.4
    )


def _decision(area: Area, state: StopState) -> None:
    if state.decided_at:
        area.vertical(state.decided_at, color=GREY, linestyle=":")


def _percent(coins: Sequence[int], plan: SamplingPlan) -> Floats:
    return 100.0 * np.array(coins, dtype=np.float64) / plan.lot_coins


def _stairs(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """The corners of a line that rises at each point and is level between."""
    return np.repeat(x, 2)[1:], np.repeat(y, 2)[:-1]


def _alt(plan: SamplingPlan, moments: Sequence[StopState]) -> str:
    state = moments[-1]
    return say(
        "report_plan.stop.alt",
        coins=whole(state.drawn),
        low=whole(state.low),
        high=whole(state.high),
        decision=state.decision,
        bound=fixed(100.0 * state.bounds[0].coins / plan.lot_coins, 2),
    )
