"""Rolls weighed whole before single coins are drawn: how many to open, what it takes, and
whether their weight can show one odd coin at all."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from lotscreen.sequential.group_power import Wearing, chance_to_notice
from lotscreen.sequential.outlook import minutes_for
from lotscreen.sequential.sampling_plan import SamplingPlan

GROUP_ALARM = 0.02
"""Share of honest groups that may look light (assumed)."""

WORTH_WEIGHING = 0.5
"""Rolls that show one odd coin less often than this are not weighed (assumed)."""


@dataclass(frozen=True, slots=True)
class RollStep:
    """Weigh ``rolls`` rolls, open the ``opened`` oddest and measure the ``coins`` in them;
    ``chance`` is that of one odd coin to show in its roll (None: the coins are not known)."""

    rolls: int
    opened: int
    coins: int
    minutes_weighing: float
    minutes_opening: float
    chance: float | None

    @property
    def worth_it(self) -> bool:
        """Whether the rolls are to be weighed."""
        return self.chance is None or self.chance >= WORTH_WEIGHING

    @property
    def minutes(self) -> float:
        """Minutes of it all; none where the rolls are not weighed."""
        return self.minutes_weighing + self.minutes_opening if self.worth_it else 0.0


def roll_step(
    plan: SamplingPlan, coins: Wearing | None, lighter: float, seconds_per_group: float
) -> RollStep | None:
    """The step for the plan's rolls; None for loose coins, and where so few rolls would all
    be opened: their weight picks none."""
    if plan.roll_coins < 2:
        return None
    rolls = ceil(plan.lot_coins / plan.roll_coins)
    opened = odd_groups(rolls)
    if opened == rolls:
        return None
    inside = min(opened * plan.roll_coins, plan.lot_coins)
    chance = None
    if coins is not None:
        chance = chance_to_notice(coins, plan.roll_coins, lighter, GROUP_ALARM)
    return RollStep(
        rolls=rolls,
        opened=opened,
        coins=inside,
        minutes_weighing=minutes_for(rolls, seconds_per_group),
        minutes_opening=minutes_for(inside, plan.seconds_per_coin),
        chance=chance,
    )


def odd_groups(groups: int) -> int:
    """How many groups to open: as many as look light by chance, and one more."""
    return min(ceil(GROUP_ALARM * groups) + 1, groups)
