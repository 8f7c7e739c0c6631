"""What stands beside a plan to compare: groups weighed together, the mean, samples of fixed
size, the standard's table, whole rolls, mean and spread instead of counting."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import ceil

import numpy as np

from lotscreen.records import SettingsError
from lotscreen.sequential.attributes import (
    SinglePlan,
    coins_at_chance,
    plan_for_share,
    standard_plan,
)
from lotscreen.sequential.clusters import ASSUMED_LIKENESS, design_effect
from lotscreen.sequential.curve import curve_of_shares
from lotscreen.sequential.draw import draw_order
from lotscreen.sequential.finite import coins_below
from lotscreen.sequential.group_power import (
    GROUP_SIZES,
    SHAPE,
    GroupDesign,
    Wearing,
    chance_of,
    chance_to_notice,
    group_designs,
)
from lotscreen.sequential.lines import lines_of_single_sample
from lotscreen.sequential.mean_test import MeanTest, mean_curve
from lotscreen.sequential.outlook import minutes_for
from lotscreen.sequential.roll_plan import GROUP_ALARM
from lotscreen.sequential.sampling_plan import SamplingPlan
from lotscreen.sequential.variables import TwoPoints, plan_sd_known, plan_sd_of_sample
from lotscreen.words import say

_MEAN_SHIFT = 0.5  # of the mean loss
_WEAR_TIMES = (0.5, 2.0)
_ENOUGH = 0.8
"""A way to weigh in groups is proposed where it shows the odd coin so often (assumed)."""

_MOSTLY, _SELDOM = 0.95, 0.1
_MOST_ROLLS = 40


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What the words rest on besides the plan: the time at hand, what a measurement takes,
    what the coins are (None: not said), coins of other kinds in use beside them, by name,
    a limit of the standard's table (None: not asked), and how much lighter the coin is
    that a group should show. SettingsError where a time is not above 0."""

    minutes: float | None = None
    seconds_all: float = 28.0
    seconds_per_group: float = 15.0
    coins: Wearing | None = None
    others: Mapping[str, Wearing] = field(default_factory=dict)
    limit_percent: float | None = None
    lighter: float = 0.175

    def __post_init__(self) -> None:
        if (self.minutes is not None and not self.minutes > 0.0) or not self.seconds_all > 0.0:
            raise SettingsError(
                say("plan.time_wrong", minutes=self.minutes, seconds=self.seconds_all)
            )


def groups(plan: SamplingPlan, at: Circumstances, coins: Wearing) -> list[str]:
    """Groups weighed together: what each design shows and takes, the one to choose, other
    denominations, and the lot's mean."""
    designs = group_designs(coins, plan.lot_coins, at.lighter, GROUP_ALARM, plan.roll_coins)
    said = [
        say(
            "plan.says.group_lead",
            lighter=percent(at.lighter),
            loss=percent(coins.mean_loss),
            weight=coins.standard_g,
            alarm=percent(GROUP_ALARM),
            sd=coins.balance_sd_g,
        ),
        *(_design(design, at, coins) for design in designs),
        _chosen(designs, at),
    ]
    if at.others:
        others = "; ".join(_other(name, other, at) for name, other in at.others.items())
        said.append(say("plan.says.group_others", others=others))
    said += [say("plan.says.group_blind"), _mean(plan, coins)]
    return said


def _chosen(designs: Sequence[GroupDesign], at: Circumstances) -> str:
    """The design with fewest weighings among those that show enough."""
    enough = [design for design in designs if design.chance >= _ENOUGH]
    if not enough:
        return say("plan.says.group_none", enough=percent(_ENOUGH))
    best = min(enough, key=lambda design: (design.groups, -design.chance))
    key = "square" if best.rows_and_columns else "group"
    return say(
        "plan.says.group_best",
        enough=percent(_ENOUGH),
        design=say(f"plan.says.name_{key}", size=best.size),
        groups=best.groups,
        minutes=ceil(minutes_for(best.groups, at.seconds_per_group)),
    )


def _other(name: str, coins: Wearing, at: Circumstances) -> str:
    chances = ", ".join(
        percent(chance_to_notice(coins, size, at.lighter, GROUP_ALARM)) for size in GROUP_SIZES
    )
    return say("plan.says.group_other", name=name, loss=percent(coins.mean_loss), chances=chances)


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


def _design(design: GroupDesign, at: Circumstances, coins: Wearing) -> str:
    """One line: the chance at the wear that is expected, at half of it and at twice."""
    key = "square" if design.rows_and_columns else "group"
    half, twice = (
        chance_of(
            design, replace(coins, mean_loss=times * coins.mean_loss), at.lighter, GROUP_ALARM
        )
        for times in _WEAR_TIMES
    )
    return say(
        f"plan.says.{key}",
        size=design.size,
        groups=design.groups,
        minutes=ceil(minutes_for(design.groups, at.seconds_per_group)),
        chance=percent(design.chance),
        half=percent(half),
        twice=percent(twice),
    )


def beside(plan: SamplingPlan, at: Circumstances) -> list[str]:
    """Samples of fixed size for the same lot, to compare with."""
    goal = plan.goal
    said: list[str] = []
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
        said += _whole_rolls(plan)
    if 0.0 < plan.tolerated_share < plan.bad_share < 0.5 and plan.risk_measure_all < 0.5:
        said.append(_by_measuring(plan))
    if at.limit_percent is not None:
        said += _standard(standard_plan(plan.lot_coins, at.limit_percent), plan, at.limit_percent)
    return said


def _whole_rolls(plan: SamplingPlan) -> list[str]:
    """Rolls as the things drawn: what a roll is worth in coins, and how many rolls, drawn by
    the same seed and measured whole, bound the share of rolls whatever the rolls are like."""
    effect = design_effect(plan.roll_coins, ASSUMED_LIKENESS)
    said = [
        say(
            "plan.says.whole_rolls",
            size=plan.roll_coins,
            likeness=ASSUMED_LIKENESS,
            effect=f"{effect:.1f}",
            worth=f"{plan.roll_coins / effect:.1f}",
        )
    ]
    rolls = ceil(plan.lot_coins / plan.roll_coins)
    bad = coins_below(rolls, plan.bad_share) + 1
    sample = plan_for_share(rolls, bad, 0, plan.goal.risk_accept)
    if sample.coins < rolls:
        drawn = np.sort(draw_order(rolls, plan.seed)[: sample.coins])
        said.append(
            say(
                "plan.says.rolls_drawn",
                rolls=sample.coins,
                of=rolls,
                share=percent(plan.bad_share),
                sure=percent(plan.sure),
                named=", ".join(str(roll) for roll in drawn[:_MOST_ROLLS]),
                more=say("plan.says.rolls_more", n=len(drawn) - _MOST_ROLLS)
                if len(drawn) > _MOST_ROLLS
                else "",
            )
        )
    return said


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
    shares = np.array([limit / 100.0, 2.0 * limit / 100.0, plan.bad_share])
    departing = np.minimum(np.round(shares * plan.lot_coins), plan.lot_coins).astype(np.int64)
    chances = sample.chance_to_accept(departing)
    whole = lines_of_single_sample(sample.coins, sample.acceptance_number)
    series = curve_of_shares(whole, shares).accept
    mostly, seldom = (coins_at_chance(sample, chance) for chance in (_MOSTLY, _SELDOM))
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
        ),
        say(
            "plan.says.standard_series",
            limit=limit,
            in_series=percent(float(series[0])),
            mostly=percent(_MOSTLY),
            most=mostly,
            seldom=percent(_SELDOM),
            least=seldom,
        ),
    ]


def percent(share: float) -> str:
    """A share in per cent with three figures."""
    return f"{100.0 * share:.3g}"
