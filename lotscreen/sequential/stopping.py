"""Where a plan stands after the coins drawn so far: accept, go on, or measure all."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from lotscreen.records import Bools, FindingKind, Texts
from lotscreen.sequential.anytime import Bet, UpperBound, after, no_coin_drawn
from lotscreen.sequential.goal import accepts, refuses
from lotscreen.sequential.sampling_plan import Method, SamplingPlan

_ALSO_NOTICED = (0.8, 0.5)
"""Besides the plan's own, chances to notice for which a bound is given."""


class Decision(StrEnum):
    """What a plan says."""

    ACCEPT = "accept"
    GO_ON = "go on"
    MEASURE_ALL = "measure all"


@dataclass(frozen=True, slots=True)
class StopState:
    """After ``drawn`` coins: ``low`` set aside with unsettled coins as agreeing, ``high``
    with unsettled coins as set aside. ``bounds`` hold at any moment, each for its own
    chance to notice, the plan's first; they count unsettled coins as set aside.
    ``decision`` is the first that was reached, after ``decided_at`` coins (0: none)."""

    plan: SamplingPlan
    drawn: int
    low: int
    high: int
    bounds: tuple[UpperBound, ...]
    decision: str
    decided_at: int


def start(plan: SamplingPlan) -> StopState:
    """Before the first coin."""
    bet = plan.goal.bet
    chances = [plan.notice, *(s for s in _ALSO_NOTICED if s < plan.notice)]
    bounds = tuple(no_coin_drawn(Bet(bet.lot_coins, bet.risk, s)) for s in chances)
    return StopState(plan, 0, 0, 0, bounds, Decision.GO_ON.value, 0)


def after_coins(
    state: StopState, set_aside: Bools, unsettled: Bools, *, bounded: bool = True
) -> StopState:
    """The state after further coins of the draw, taken together (1-D, one entry a coin):
    a whole batch, or a single coin where the batch is one. ``unsettled`` (to measure
    again, not judged, skipped) wins over ``set_aside``. Valid only when the coins are the
    next of a random draw. Without ``bounded`` the bounds stay as they were, which holds too,
    unless the plan decides here.
    """
    drawn = state.drawn + len(set_aside)
    low = state.low + int(np.count_nonzero(set_aside & ~unsettled))
    high = state.high + int(np.count_nonzero(set_aside | unsettled))
    decision, decided_at = state.decision, state.decided_at
    if decision == Decision.GO_ON:
        decision = decide(state.plan, drawn, low, high).value
        decided_at = 0 if decision == Decision.GO_ON else drawn
    bounds = state.bounds
    if bounded or decided_at == drawn:
        bounds = tuple(after(bound, drawn, high) for bound in bounds)
    return StopState(state.plan, drawn, low, high, bounds, decision, decided_at)


def decide(plan: SamplingPlan, drawn: int, low: int, high: int) -> Decision:
    """What the plan says with ``low`` to ``high`` of ``drawn`` coins set aside."""
    if plan.method == Method.ANY_TIME:
        if accepts(plan.goal, drawn, high):
            return Decision.ACCEPT
        return Decision.MEASURE_ALL if refuses(plan.goal, drawn, low) else Decision.GO_ON
    lines = plan.lines()
    at = min(drawn, lines.most_coins)
    if high <= lines.accept[at]:
        return Decision.ACCEPT
    return Decision.MEASURE_ALL if low >= lines.measure_all[at] else Decision.GO_ON


def as_counted(finding: Texts) -> tuple[Bools, Bools]:
    """Findings as (set aside, unsettled), one entry a coin."""
    aside = np.isin(finding, [FindingKind.SET_ASIDE.value, FindingKind.NOT_CONSISTENT.value])
    unsettled = np.isin(finding, [FindingKind.RE_MEASURE.value, FindingKind.NOT_JUDGED.value])
    return np.asarray(aside, np.bool_), np.asarray(unsettled, np.bool_)
