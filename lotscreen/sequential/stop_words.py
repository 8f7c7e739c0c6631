"""What a plan says after the coins drawn so far, in sentences, the answer first."""

from __future__ import annotations

from math import ceil

from lotscreen.sequential.outlook import Expected, minutes_for
from lotscreen.sequential.stopping import Decision, StopState
from lotscreen.words import say


def answer(state: StopState) -> str:
    """Accept, go on or measure all, with what it means."""
    plan, goal = state.plan, state.plan.goal
    facts = {
        "coins": state.decided_at or state.drawn,
        "low": state.low,
        "high": state.high,
        "sure": _percent(plan.sure),
        "share": _percent(plan.bad_share),
        "bad": goal.bad_coins,
        "notice": _percent(plan.notice),
        "clean": goal.clean_coins,
        "risk": _percent(plan.risk_measure_all),
    }
    if state.decision == Decision.GO_ON:
        return say("plan.stop.go_on" if state.drawn else "plan.stop.begin", **facts)
    key = "accept" if state.decision == Decision.ACCEPT else "measure_all"
    return say(f"plan.stop.{key}", **facts)


def bounds(state: StopState) -> list[str]:
    """What holds whenever one stops: one sentence for each chance to notice."""
    lot = state.plan.lot_coins
    return [
        say(
            "plan.stop.bound",
            coins=bound.coins,
            percent=_percent(bound.coins / lot),
            notice=_percent(bound.bet.notice),
            sure=_percent(1.0 - bound.bet.risk),
        )
        for bound in state.bounds
        if state.drawn
    ]


def outlook(state: StopState, ahead: Expected) -> str:
    """Coins and minutes still expected."""
    seconds = state.plan.seconds_per_coin
    clean, bad = ceil(ahead.average_if_clean), ceil(ahead.average_if_bad)
    facts = {
        "clean": clean,
        "clean_minutes": ceil(minutes_for(clean, seconds)),
        "bad": bad,
        "bad_minutes": ceil(minutes_for(bad, seconds)),
    }
    if ahead.if_none_more is None:
        return say("plan.stop.never", **facts)
    more = ahead.if_none_more
    minutes = ceil(minutes_for(more, seconds))
    return say("plan.stop.expected", more=more, minutes=minutes, **facts)


def later_coins(state: StopState) -> list[str]:
    """An early answer must not hide what was measured since."""
    later = state.drawn - state.decided_at
    if not state.decided_at or not later:
        return []
    return [say("plan.stop.later", later=later, low=state.low, high=state.high, coins=state.drawn)]


def _percent(share: float) -> str:
    return f"{100.0 * share:.3g}"
