"""A sampling plan in words: what to do, when it stops, what is then promised, what it costs."""

from __future__ import annotations

from math import ceil

import numpy as np

from lotscreen.sequential.curve import curve_in_lot
from lotscreen.sequential.goal import accepted_counts
from lotscreen.sequential.lines import Lines
from lotscreen.sequential.outlook import coins_in, expected, minutes_for, reached
from lotscreen.sequential.plan_beside import Circumstances, beside, groups, percent
from lotscreen.sequential.roll_plan import RollStep, roll_step
from lotscreen.sequential.sampling_plan import Method, SamplingPlan, first_coins_set_aside
from lotscreen.sequential.wald import WaldPlan, wald_approximation
from lotscreen.words import say

_MOST_COUNTS = 4


def plan_sections(plan: SamplingPlan, at: Circumstances) -> list[tuple[str, list[str]]]:
    """Headings with their sentences, what to do first."""
    lines = plan.lines()
    sections = [
        (say("plan.says.to_do"), _to_do(plan, lines, at)),
        (say("plan.says.stops"), _stops(plan, lines)),
        (say("plan.says.promise"), _promise(plan, lines)),
    ]
    if at.minutes is not None:
        sections.append((say("plan.says.in_time", minutes=f"{at.minutes:g}"), _budget(plan, at)))
    if at.coins is not None:
        sections.append((say("plan.says.groups"), groups(plan, at, at.coins)))
    sections.append((say("plan.says.beside"), beside(plan, at)))
    return sections


def _to_do(plan: SamplingPlan, lines: Lines, at: Circumstances) -> list[str]:
    """The whole in one sentence, then step by step."""
    coins = first_accepting(lines)
    singly = minutes_for(coins, plan.seconds_per_coin)
    step = _rolls(plan, at)
    weighed = step if step is not None and step.worth_it else None
    facts = {"coins": coins, "minutes": ceil(singly + (weighed.minutes if weighed else 0.0))}
    if weighed:
        facts |= {"rolls": weighed.rolls, "odd": weighed.opened}
    said = [say(f"plan.says.{'rolls_then_coins' if weighed else 'only_coins'}", **facts)]
    if step is not None:
        said += _step_by_step(step, plan, at)
    said.append(
        say(
            "plan.says.coins_of_draw",
            coins=coins,
            batch=plan.batch_coins,
            minutes=ceil(singly),
            seconds=plan.seconds_per_coin,
        )
    )
    said.append(say("plan.says.seed", seed=plan.seed))
    return said


def _rolls(plan: SamplingPlan, at: Circumstances) -> RollStep | None:
    return roll_step(plan, at.coins, at.lighter, at.seconds_per_group)


def _step_by_step(step: RollStep, plan: SamplingPlan, at: Circumstances) -> list[str]:
    chance = "" if step.chance is None else percent(step.chance)
    facts = {"size": plan.roll_coins, "chance": chance, "lighter": percent(at.lighter)}
    if not step.worth_it:
        return [say("plan.says.rolls_not_worth", **facts)]
    return [
        say("plan.says.rolls_minutes", minutes=ceil(step.minutes_weighing),
            seconds=at.seconds_per_group),
        *([say("plan.says.rolls_chance", **facts)] if chance else []),
        say("plan.says.opened_minutes", coins=step.coins, seconds=plan.seconds_per_coin,
            minutes=ceil(step.minutes_opening)),
    ]  # fmt: skip


def first_accepting(lines: Lines) -> int:
    """After how many coins the lot is accepted if none is set aside."""
    accepting = np.flatnonzero(lines.accept >= 0)
    return int(accepting[0]) if len(accepting) else lines.most_coins


def _stops(plan: SamplingPlan, lines: Lines) -> list[str]:
    counts = accepted_counts(lines)
    accepting = ", ".join(
        say("plan.says.pair", found=found, coins=coins)
        for found, coins in enumerate(counts[:_MOST_COUNTS])
    )
    said = [say("plan.says.accept", pairs=accepting)]
    refusing = ", ".join(
        say("plan.says.pair_within", found=found, coins=coins)
        for found, coins in first_coins_set_aside(lines)[:_MOST_COUNTS]
    )
    if refusing:
        said.append(say("plan.says.measure_all", pairs=refusing))
    said.append(say("plan.says.unsettled"))
    if plan.method == Method.ANY_TIME:
        said.append(say("plan.says.any_time"))
    else:
        said.append(say("plan.says.only_at_lines"))
    return said


def _promise(plan: SamplingPlan, lines: Lines) -> list[str]:
    goal = plan.goal
    truths = np.array([goal.clean_coins, goal.bad_noticed])
    curve = curve_in_lot(lines, plan.lot_coins, truths)
    ahead = expected(plan, lines, 0, 0)
    said = [
        say(
            "plan.says.sure",
            sure=percent(plan.sure),
            share=percent(plan.bad_share),
            bad=goal.bad_coins,
            notice=percent(plan.notice),
        ),
        say(
            "plan.says.risks",
            clean=goal.clean_coins,
            bad=goal.bad_noticed,
            measure_all=percent(float(curve.measure_all[0])),
            accept=percent(float(curve.accept[1])),
            coins_clean=ceil(ahead.average_if_clean),
            coins_bad=ceil(ahead.average_if_bad),
        ),
        say("plan.says.clean", tolerated=plan.tolerated_coins(), alarm=percent(plan.alarm_rate)),
    ]
    if plan.method == Method.TWO_LOTS:
        said.append(_walds_own(plan))
    return said


def _walds_own(plan: SamplingPlan) -> str:
    goal = plan.goal
    test = goal.two_counts()
    wald = WaldPlan(
        max(test.clean_coins, 1) / plan.lot_coins,
        test.bad_coins / plan.lot_coins,
        test.risk_measure_all,
        test.risk_accept,
    )
    clean, bad = (wald_approximation(wald, s) for s in (wald.clean_share, wald.bad_share))
    return say(
        "plan.says.wald", coins_clean=ceil(clean.average_coins), coins_bad=ceil(bad.average_coins)
    )


def _budget(plan: SamplingPlan, at: Circumstances) -> list[str]:
    """What the time at hand reaches: all of it on single coins, or the rolls first."""
    minutes = at.minutes or 0.0
    step = _rolls(plan, at)
    said = []
    if step is not None and step.worth_it:
        left = max(minutes - step.minutes, 0.0)
        facts = {"rolls": step.rolls, "odd": step.opened}
        said.append(_in_time(plan, "rolls", left, plan.seconds_per_coin, **facts))
    said.append(_in_time(plan, "weight", minutes, plan.seconds_per_coin))
    said.append(_in_time(plan, "all", minutes, at.seconds_all))
    said.append(say("plan.says.time_kinds", notice=percent(plan.notice)))
    return said


def _in_time(plan: SamplingPlan, key: str, minutes: float, seconds: float, **facts: object) -> str:
    coins = min(coins_in(minutes, seconds), plan.lot_coins)
    if coins == 0:
        return say(f"plan.says.no_time_{key}", seconds=seconds, **facts)
    found = reached(plan, coins)
    return say(
        f"plan.says.time_{key}",
        coins=coins,
        seconds=seconds,
        none=found.none,
        none_percent=percent(found.none / plan.lot_coins),
        one=found.one,
        one_percent=percent(found.one / plan.lot_coins),
        sure=percent(plan.sure),
        **facts,
    )
