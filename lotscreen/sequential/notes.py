"""The sentences of a running chart, the caution first."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil

import numpy as np

from lotscreen.sequential.exact import exact_curve
from lotscreen.sequential.plan import FALSE_SIGNAL_CHANCE, FixedRule
from lotscreen.sequential.run_length import average_run_length
from lotscreen.sequential.running import RunningChart
from lotscreen.sequential.samples import coins_of_share, zero_acceptance_coins
from lotscreen.sequential.wald import WaldPlan, wald_approximation
from lotscreen.words import say

_ONE_SD = 1.0


@dataclass(frozen=True, slots=True)
class RuleFigures:
    """What a fixed rule promises: risks at the two hypotheses and coins to expect."""

    measure_all_at_clean: float
    accept_at_bad: float
    coins_if_clean: float
    coins_if_clean_wald: float


@lru_cache(maxsize=64)
def rule_figures(plan: WaldPlan, coins: int) -> RuleFigures:
    """Exact figures of the test over ``coins`` coins, every coin settled, with Wald's
    approximation of the mean number of coins beside."""
    shares = np.array([plan.clean_share, plan.bad_share])
    curve = exact_curve(plan, shares, coins)
    return RuleFigures(
        measure_all_at_clean=float(curve.measure_all[0]),
        accept_at_bad=float(curve.accept[1]),
        coins_if_clean=float(curve.average_coins[0]),
        coins_if_clean_wald=wald_approximation(plan, plan.clean_share).average_coins,
    )


def fixed_rule_notes(chart: RunningChart, rule: FixedRule, signal_at: int) -> tuple[str, ...]:
    """Caution, decision, coins to settle, limits, risks, running sums, what to draw."""
    notes = [_draw_caution(rule), _decision(chart, rule)]
    notes += _later_coins(chart) + _unsettled(chart)
    notes += [_limits(rule), _risks(chart, rule)]
    notes += _fixed_sums(rule, signal_at)
    if not rule.draw:
        notes.append(_what_to_draw(rule))
    return tuple(notes)


def looking_back_notes(reason: str) -> tuple[str, ...]:
    """Caution, why no fixed rule, the limits drawn."""
    limits = say("sequential.back_limits")
    return tuple(note for note in (say("sequential.back_caution"), reason, limits) if note)


def _draw_caution(rule: FixedRule) -> str:
    if rule.draw:
        return say("sequential.drawn", draw=rule.draw)
    return say("sequential.not_drawn")


def _decision(chart: RunningChart, rule: FixedRule) -> str:
    if chart.decision == "go on":
        return say(
            "sequential.go_on",
            coins=len(chart.coin),
            low=chart.set_aside_low[-1],
            high=chart.set_aside_high[-1],
        )
    at = chart.decided_at - 1
    if chart.decision == "accept":
        return say(
            "sequential.accept",
            coin=chart.decided_at,
            count=chart.set_aside_high[at],
            clean=_percent(rule.wald.clean_share),
            bad=_percent(rule.wald.bad_share),
        )
    return say(
        "sequential.measure_all",
        coin=chart.decided_at,
        count=chart.set_aside_low[at],
        clean=_percent(rule.wald.clean_share),
        bad=_percent(rule.wald.bad_share),
    )


def _later_coins(chart: RunningChart) -> list[str]:
    """An early *accept* must not hide that the coins measured since then speak against it."""
    low = int(chart.set_aside_low[-1])
    if chart.decision != "accept" or not low >= chart.measure_all_line[-1]:
        return []
    return [say("sequential.later_coins", low=low, coins=len(chart.coin))]


def _unsettled_coins(chart: RunningChart) -> int:
    return int(chart.set_aside_high[-1] - chart.set_aside_low[-1])


def _unsettled(chart: RunningChart) -> list[str]:
    unsettled = _unsettled_coins(chart)
    if not unsettled:
        return []
    notes = [say("sequential.unsettled", coins=unsettled)]
    if chart.settle_first:
        notes.append(say("sequential.settle_first", coins=len(chart.settle_first)))
    return notes


def _limits(rule: FixedRule) -> str:
    return say(
        f"sequential.limits_from.{rule.limits_from.name.lower()}",
        first=rule.first_coins,
        clean=_percent(rule.wald.clean_share),
        alarm=_percent(rule.alarm_rate_upper),
        tolerated=_percent(rule.tolerated_share),
        bad=_percent(rule.wald.bad_share),
    )


def _risks(chart: RunningChart, rule: FixedRule) -> str:
    figures = rule_figures(rule.wald, rule.lot_coins - rule.first_coins)
    facts = {
        "clean": _percent(rule.wald.clean_share),
        "bad": _percent(rule.wald.bad_share),
        "coins": ceil(figures.coins_if_clean),
        "wald": ceil(figures.coins_if_clean_wald),
    }
    if _unsettled_coins(chart):
        return say(
            "sequential.risks_unsettled",
            measure_all=_percent(rule.wald.bound_measure_all),
            accept=_percent(rule.wald.bound_accept),
            **facts,
        )
    return say(
        "sequential.risks",
        measure_all=_percent(figures.measure_all_at_clean),
        accept=_percent(figures.accept_at_bad),
        **facts,
    )


def _fixed_sums(rule: FixedRule, signal_at: int) -> list[str]:
    if rule.cusum is None:
        return [say("sequential.sums_without_centre")]
    limit = rule.cusum.limit_sd
    seen = say("sequential.no_signal", limit=limit)
    if signal_at:
        seen = say("sequential.signal", coin=signal_at, limit=limit)
    promise = say(
        "sequential.sums_promise",
        chance=_percent(FALSE_SIGNAL_CHANCE),
        coins=rule.lot_coins - rule.first_coins,
        delay=ceil(average_run_length(rule.cusum, _ONE_SD)),
    )
    return [seen, promise]


def _what_to_draw(rule: FixedRule) -> str:
    bad_coins = coins_of_share(rule.lot_coins, rule.wald.bad_share)
    return say(
        "sequential.what_to_draw",
        lot=rule.lot_coins,
        bad=bad_coins,
        coins=zero_acceptance_coins(rule.lot_coins, bad_coins, rule.wald.risk_accept),
        sure=_percent(1.0 - rule.wald.risk_accept),
    )


def _percent(share: float) -> str:
    """A share in per cent with three figures, as in '0.8' or '18.6'."""
    return f"{100.0 * share:.3g}"
