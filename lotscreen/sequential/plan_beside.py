"""What stands beside a plan to compare: groups weighed together, the mean, samples of fixed
size, the standard's table, whole rolls, mean and spread instead of counting."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np

from lotscreen.sequential.attributes import SinglePlan, plan_for_share, standard_plan
from lotscreen.sequential.clusters import ASSUMED_LIKENESS, design_effect
from lotscreen.sequential.group_power import SHAPE, GroupDesign, Wearing, group_designs
from lotscreen.sequential.mean_test import MeanTest, mean_curve
from lotscreen.sequential.outlook import minutes_for
from lotscreen.sequential.sampling_plan import SamplingPlan
from lotscreen.sequential.variables import TwoPoints, plan_sd_known, plan_sd_of_sample
from lotscreen.words import say

GROUP_ALARM = 0.02
"""Share of honest groups that may look light (assumed)."""

_MEAN_SHIFT = 0.5  # of the mean loss


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


def groups(plan: SamplingPlan, at: Circumstances, coins: Wearing) -> list[str]:
    said = [
        say(
            "plan.says.group_lead",
            lighter=percent(at.lighter),
            loss=percent(coins.mean_loss),
            weight=coins.standard_g,
            alarm=percent(GROUP_ALARM),
            sd=coins.balance_sd_g,
        )
    ]
    designs = group_designs(coins, plan.lot_coins, at.lighter, GROUP_ALARM)
    said += [_design(design, at) for design in designs]
    said += [say("plan.says.group_blind"), _mean(plan, coins)]
    return said


def _mean(plan: SamplingPlan, coins: Wearing) -> str:
    """What telling a mean loss half as much again takes."""
    sd = float(np.hypot(coins.mean_loss / np.sqrt(SHAPE), coins.balance_sd_g / coins.standard_g))
    shift = _MEAN_SHIFT * coins.mean_loss
    test = MeanTest(shift / sd, plan.risk_measure_all, plan.goal.risk_accept)
    clean, bad = mean_curve(test, 0.0), mean_curve(test, test.shift_sd)
    return say(
        "plan.says.mean",
        loss=percent(coins.mean_loss),
        off=percent(coins.mean_loss + shift),
        clean=ceil(clean.average_coins),
        bad=ceil(bad.average_coins),
        wrong_off=percent(1.0 - clean.passes),
        wrong_pass=percent(bad.passes),
    )


def _design(design: GroupDesign, at: Circumstances) -> str:
    key = "square" if design.rows_and_columns else "group"
    return say(
        f"plan.says.{key}",
        size=design.size,
        groups=design.groups,
        minutes=ceil(minutes_for(design.groups, at.seconds_per_group)),
        chance=percent(design.chance),
    )


def beside(plan: SamplingPlan, at: Circumstances) -> list[str]:
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
                    share=percent(plan.bad_share),
                    risk=percent(goal.risk_accept),
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
        good=percent(points.good),
        bad=percent(points.bad),
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
            at_limit=percent(float(chances[0])),
            twice=percent(shares[1]),
            at_twice=percent(float(chances[1])),
            bad=goal.bad_coins,
            at_bad=percent(float(chances[2])),
        )
    ]


def percent(share: float) -> str:
    """A share in per cent with three figures."""
    return f"{100.0 * share:.3g}"
