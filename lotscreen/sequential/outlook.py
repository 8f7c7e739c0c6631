"""What is still to be expected of a plan: coins, minutes, risks, and what a budget buys."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.records import Ints
from lotscreen.sequential.anytime import after, no_coin_drawn
from lotscreen.sequential.curve import Curve, curve_in_lot
from lotscreen.sequential.lines import Lines
from lotscreen.sequential.sampling_plan import SamplingPlan

SECONDS_PER_MINUTE = 60.0


def rest_of(lines: Lines, drawn: int, found: int) -> Lines:
    """The same test seen from after ``drawn`` coins of which ``found`` were set aside."""
    accept = np.maximum(lines.accept[drawn:] - found, -1)
    refuse = np.maximum(lines.measure_all[drawn:] - found, accept + 1)
    return Lines(accept, refuse)


def curve_of_rest(
    plan: SamplingPlan, lines: Lines, drawn: int, found: int, set_aside: Ints
) -> Curve:
    """The exact curve of what is left of the test where the whole lot has ``set_aside``
    coins to be set aside (1-D, each at least ``found``)."""
    return curve_in_lot(rest_of(lines, drawn, found), plan.lot_coins - drawn, set_aside - found)


def plan_curve(plan: SamplingPlan, points: int = 61) -> Curve:
    """The exact curve of a plan, from a lot without a coin to be set aside to one with
    twice as many as the bad lot (at ``points`` whole numbers at most)."""
    most = min(2 * plan.goal.bad_coins, plan.lot_coins)
    departing = np.unique(np.linspace(0, most, points).round().astype(np.int64))
    return curve_in_lot(plan.lines(), plan.lot_coins, departing)


@dataclass(frozen=True, slots=True)
class Expected:
    """Coins still to draw: if no further coin is set aside (None: never enough, measure
    all), on average in a clean lot and in a bad one."""

    if_none_more: int | None
    average_if_clean: float
    average_if_bad: float


def expected(plan: SamplingPlan, lines: Lines, drawn: int, found: int) -> Expected:
    """What is expected after ``drawn`` coins of which ``found`` were set aside."""
    goal = plan.goal
    later = lines.accept[drawn:]
    accepting = np.flatnonzero(later >= found)
    truths = np.array([max(goal.clean_coins, found), max(goal.bad_noticed, found)])
    truths = np.minimum(truths, plan.lot_coins - drawn + found)
    curve = curve_of_rest(plan, lines, drawn, found, truths)
    return Expected(
        int(accepting[0]) if len(accepting) else None,
        float(curve.average_coins[0]),
        float(curve.average_coins[1]),
    )


@dataclass(frozen=True, slots=True)
class Reached:
    """What a number of coins reaches: at most ``none`` departing coins in the lot where none
    is set aside, at most ``one`` where one is (of the kinds noticed as the plan says)."""

    coins: int
    none: int
    one: int


def reached(plan: SamplingPlan, coins: int) -> Reached:
    """The bounds at the end of ``coins`` coins, by the plan's own bets."""
    start = no_coin_drawn(plan.goal.bet)
    drawn = min(coins, plan.lot_coins)
    one = after(start, drawn, 1).coins if drawn else plan.lot_coins
    return Reached(drawn, after(start, drawn, 0).coins, one)


def coins_in(minutes: float, seconds_per_coin: float) -> int:
    """Coins that can be measured in ``minutes``."""
    return int(minutes * SECONDS_PER_MINUTE / seconds_per_coin + 1e-9)


def minutes_for(coins: float, seconds_per_coin: float) -> float:
    """Minutes that ``coins`` coins take."""
    return coins * seconds_per_coin / SECONDS_PER_MINUTE
