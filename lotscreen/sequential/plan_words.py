"""A sampling plan in words: what to do, when it stops, what is then promised, what it costs."""

from __future__ import annotations

from math import ceil

import numpy as np

from lotscreen.sequential.curve import curve_in_lot
from lotscreen.sequential.goal import accepted_counts
from lotscreen.sequential.lines import Lines
from lotscreen.sequential.outlook import coins_in, expected, minutes_for, reached
from lotscreen.sequential.plan_beside import GROUP_ALARM, Circumstances, beside, groups, percent
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
    first = first_accepting(lines)
    minutes = 0.0
    steps = []
    if plan.roll_coins:
        rolls = ceil(plan.lot_coins / plan.roll_coins)
        minutes = minutes_for(rolls, at.seconds_per_group)
        steps.append(
            say(
                "plan.says.weigh_rolls",
                rolls=rolls,
                odd=odd_groups(rolls),
                minutes=ceil(minutes),
                seconds=at.seconds_per_group,
            )
        )
    single = minutes_for(first, plan.seconds_per_coin)
    total = minutes + single
    steps.append(
        say(
            "plan.says.then_coins" if plan.roll_coins else "plan.says.weigh_coins",
            coins=first,
            batch=plan.batch_coins,
            minutes=ceil(single),
            seconds=plan.seconds_per_coin,
        )
    )
    steps.append(say("plan.says.total", minutes=ceil(total)))
    steps.append(say("plan.says.seed", seed=plan.seed))
    return steps


def first_accepting(lines: Lines) -> int:
    """After how many coins the lot is accepted if none is set aside."""
    accepting = np.flatnonzero(lines.accept >= 0)
    return int(accepting[0]) if len(accepting) else lines.most_coins


def odd_groups(groups: int) -> int:
    """How many groups to open: as many as look light by chance, and one more."""
    return min(ceil(GROUP_ALARM * groups) + 1, groups)


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
    said = []
    for key, seconds in (("weight", plan.seconds_per_coin), ("all", at.seconds_all)):
        coins = min(coins_in(at.minutes or 0.0, seconds), plan.lot_coins)
        if coins == 0:
            said.append(say(f"plan.says.no_time_{key}", seconds=seconds))
            continue
        found = reached(plan, coins)
        said.append(
            say(
                f"plan.says.time_{key}",
                coins=coins,
                seconds=seconds,
                none=found.none,
                none_percent=percent(found.none / plan.lot_coins),
                one=found.one,
                one_percent=percent(found.one / plan.lot_coins),
                sure=percent(plan.sure),
            )
        )
    said.append(say("plan.says.time_kinds", notice=percent(plan.notice)))
    return said
