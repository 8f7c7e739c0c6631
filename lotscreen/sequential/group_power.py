"""What weighing coins in groups can see: the chance to notice one odd coin in a group.

Honest coins lose a gamma-distributed share of their weight (shape 2, mean by denomination:
common practice, no source), so that the loss of a whole group is gamma too; the odd coin
lacks a stated share of the standard and is itself unworn. No spread of the mint. The
limit of the group is that which honest groups exceed with the stated chance; in practice
the lot's other groups set it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from scipy.optimize import brentq
from scipy.special import gammainc, ndtr

from lotscreen.records import Floats, SettingsError
from lotscreen.words import say

SHAPE = 2.0
_POINTS = 801
_SDS = 8.0


@dataclass(frozen=True, slots=True)
class Wearing:
    """Coins of one kind: standard weight, mean loss by wear as a share of it, and one
    standard deviation of a weighing of the group (g)."""

    standard_g: float
    mean_loss: float
    balance_sd_g: float

    def __post_init__(self) -> None:
        if not (self.standard_g > 0 and 0 < self.mean_loss < 1 and self.balance_sd_g >= 0):
            raise SettingsError(
                say(
                    "plan.wearing_wrong",
                    weight=self.standard_g,
                    loss=self.mean_loss,
                    sd=self.balance_sd_g,
                )
            )


def chance_to_notice(coins: Wearing, group: int, lighter: float, alarm: float) -> float:
    """Chance that a group of ``group`` coins, one of which lacks ``lighter`` of the standard,
    is lighter than all but ``alarm`` of honest groups. 1 <= group; shares in (0, 1)."""
    limit = _limit(coins, group, alarm)
    return 1.0 - float(_loss_below(coins, group - 1, limit - lighter))


def chance_by_rows_and_columns(coins: Wearing, side: int, lighter: float, alarm: float) -> float:
    """The same for ``side`` x ``side`` coins laid out and weighed by rows and by columns: the
    chance that the odd coin's row and its column are both beyond the limit. The two share
    no other coin, so that their chances multiply."""
    return chance_to_notice(coins, side, lighter, alarm) ** 2


def _limit(coins: Wearing, group: int, alarm: float) -> float:
    """Loss of a group, in standards of one coin, that honest groups exceed with ``alarm``."""
    mean = group * coins.mean_loss
    reach = 40.0 * (coins.mean_loss * sqrt(group) + coins.balance_sd_g / coins.standard_g)

    def excess(limit: float) -> float:
        return 1.0 - alarm - float(_loss_below(coins, group, limit))

    return float(brentq(excess, mean - reach, mean + reach, xtol=1e-12))


def _loss_below(coins: Wearing, group: int, limit: float) -> Floats:
    """Chance that ``group`` honest coins together seem to have lost less than ``limit``."""
    sd = coins.balance_sd_g / coins.standard_g
    if group == 0:
        return np.asarray(ndtr(limit / sd) if sd else float(limit > 0))
    scale = coins.mean_loss / SHAPE
    if sd == 0:
        return np.asarray(gammainc(SHAPE * group, max(limit, 0.0) / scale))
    error = np.linspace(-_SDS, _SDS, _POINTS)
    weight = np.exp(-0.5 * np.square(error))
    below = gammainc(SHAPE * group, np.maximum(limit - sd * error, 0.0) / scale)
    return np.asarray(below @ weight / weight.sum())


@dataclass(frozen=True, slots=True)
class GroupDesign:
    """Groups of ``size`` weighed together: ``groups`` weighings and the chance to notice
    one odd coin in its group; ``rows_and_columns`` where every coin is weighed in two."""

    size: int
    groups: int
    chance: float
    rows_and_columns: bool = False


GROUP_SIZES = (5, 10, 20, 50)
_SIDE = 10


def chance_of(design: GroupDesign, coins: Wearing, lighter: float, alarm: float) -> float:
    """The chance to notice of the same groups with other ``coins`` in them."""
    if design.rows_and_columns:
        return chance_by_rows_and_columns(coins, design.size, lighter, alarm)
    return chance_to_notice(coins, design.size, lighter, alarm)


def group_designs(
    coins: Wearing, lot_coins: int, lighter: float, alarm: float, roll_coins: int = 0
) -> tuple[GroupDesign, ...]:
    """Groups of 5, 10, 20 and 50, the lot's own rolls of ``roll_coins`` (0: none), and squares
    of ten rows and ten columns, as far as the lot has so many coins."""
    sizes = sorted({*GROUP_SIZES, *([roll_coins] if roll_coins > 1 else [])})
    designs = [
        GroupDesign(size, -(-lot_coins // size), chance_to_notice(coins, size, lighter, alarm))
        for size in sizes
        if size <= lot_coins
    ]
    if lot_coins >= _SIDE**2:
        weighings = 2 * _SIDE * -(-lot_coins // _SIDE**2)
        both = chance_by_rows_and_columns(coins, _SIDE, lighter, alarm)
        designs.append(GroupDesign(_SIDE, weighings, both, True))
    return tuple(designs)
