"""A sampling plan in words: what to do, when it stops, what is then promised, what it costs."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np

from lotscreen.sequential.attributes import SinglePlan, plan_for_share, standard_plan
from lotscreen.sequential.clusters import ASSUMED_LIKENESS, design_effect
from lotscreen.sequential.curve import curve_in_lot
from lotscreen.sequential.goal import accepted_counts
from lotscreen.sequential.group_power import GroupDesign, Wearing, group_designs
from lotscreen.sequential.lines import Lines
from lotscreen.sequential.outlook import coins_in, expected, minutes_for, reached
from lotscreen.sequential.sampling_plan import Method, SamplingPlan, first_coins_set_aside
from lotscreen.sequential.variables import TwoPoints, plan_sd_known, plan_sd_of_sample
from lotscreen.sequential.wald import WaldPlan, wald_approximation
from lotscreen.words import say

GROUP_ALARM = 0.02
"""Share of honest groups that may look light (assumed)."""

_MOST_COUNTS = 4


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What the words rest on besides the plan: the time at hand, what a measurement takes,
    what the coins are (None: not said), a limit of the standard's table (None: not
    asked), and how much lighter the coin is that a group should show."""

    minutes: float | None = None
    seconds_all: float = 28.0
    seconds_per_group: float = 15.0
    coins: Wearing | None = None
    limit_percent: float | None = None
    lighter: float = 0.175


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
        sections.append((say("plan.says.groups"), _groups(plan, at, at.coins)))
    sections.append((say("plan.says.beside"), _beside(plan, at)))
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
            sure=_percent(plan.sure),
            share=_percent(plan.bad_share),
            bad=goal.bad_coins,
            notice=_percent(plan.notice),
        ),
        say(
            "plan.says.risks",
            clean=goal.clean_coins,
            bad=goal.bad_noticed,
            measure_all=_percent(float(curve.measure_all[0])),
            accept=_percent(float(curve.accept[1])),
            coins_clean=ceil(ahead.average_if_clean),
            coins_bad=ceil(ahead.average_if_bad),
        ),
        say("plan.says.clean", tolerated=plan.tolerated_coins(), alarm=_percent(plan.alarm_rate)),
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
                none_percent=_percent(found.none / plan.lot_coins),
                one=found.one,
                one_percent=_percent(found.one / plan.lot_coins),
                sure=_percent(plan.sure),
            )
        )
    said.append(say("plan.says.time_kinds", notice=_percent(plan.notice)))
    return said


def _groups(plan: SamplingPlan, at: Circumstances, coins: Wearing) -> list[str]:
    said = [
        say(
            "plan.says.group_lead",
            lighter=_percent(at.lighter),
            loss=_percent(coins.mean_loss),
            weight=coins.standard_g,
            alarm=_percent(GROUP_ALARM),
            sd=coins.balance_sd_g,
        )
    ]
    designs = group_designs(coins, plan.lot_coins, at.lighter, GROUP_ALARM)
    said += [_design(design, at) for design in designs]
    said.append(say("plan.says.group_blind"))
    return said


def _design(design: GroupDesign, at: Circumstances) -> str:
    key = "square" if design.rows_and_columns else "group"
    return say(
        f"plan.says.{key}",
        size=design.size,
        groups=design.groups,
        minutes=ceil(minutes_for(design.groups, at.seconds_per_group)),
        chance=_percent(design.chance),
    )


def _beside(plan: SamplingPlan, at: Circumstances) -> list[str]:
    """Samples of fixed size for the same lot, to compare with."""
    goal = plan.goal
    said = []
    for allowed in (0, 1):
        if allowed < goal.bad_coins:
            sample = plan_for_share(plan.lot_coins, goal.bad_coins, allowed, goal.risk_accept)
            said.append(
                say(
                    "plan.says.fixed",
                    coins=sample.coins,
                    allowed=allowed,
                    share=_percent(plan.bad_share),
                    risk=_percent(goal.risk_accept),
                )
            )
    if plan.roll_coins > 1:
        said.append(_whole_rolls(plan))
    if 0.0 < plan.tolerated_share < plan.bad_share < 0.5 and plan.risk_measure_all < 0.5:
        said.append(_by_measuring(plan))
    if at.limit_percent is not None:
        said += _standard(standard_plan(plan.lot_coins, at.limit_percent), plan, at.limit_percent)
    return said


def _whole_rolls(plan: SamplingPlan) -> str:
    effect = design_effect(plan.roll_coins, ASSUMED_LIKENESS)
    return say(
        "plan.says.whole_rolls",
        size=plan.roll_coins,
        likeness=ASSUMED_LIKENESS,
        effect=f"{effect:.1f}",
        worth=f"{plan.roll_coins / effect:.1f}",
    )


def _by_measuring(plan: SamplingPlan) -> str:
    points = TwoPoints(
        plan.tolerated_share, plan.risk_measure_all, plan.bad_share, plan.goal.risk_accept
    )
    known, unknown = plan_sd_known(points), plan_sd_of_sample(points)
    return say(
        "plan.says.variables",
        good=_percent(points.good),
        bad=_percent(points.bad),
        known=known.coins,
        k_known=f"{known.k:.3f}",
        unknown=unknown.coins,
        k_unknown=f"{unknown.k:.3f}",
    )


def _standard(sample: SinglePlan, plan: SamplingPlan, limit: float) -> list[str]:
    goal = plan.goal
    shares = (limit / 100.0, 2.0 * limit / 100.0, plan.bad_share)
    departing = np.array([min(round(s * plan.lot_coins), plan.lot_coins) for s in shares])
    chances = sample.chance_to_accept(departing)
    return [
        say(
            "plan.says.standard",
            limit=limit,
            letter=sample.letter,
            coins=sample.coins,
            allowed=sample.acceptance_number,
            at_limit=_percent(float(chances[0])),
            twice=_percent(shares[1]),
            at_twice=_percent(float(chances[1])),
            bad=goal.bad_coins,
            at_bad=_percent(float(chances[2])),
        )
    ]


def _percent(share: float) -> str:
    """A share in per cent with three figures."""
    return f"{100.0 * share:.3g}"
