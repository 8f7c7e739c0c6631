"""Whole rolls drawn instead of single coins: what this costs, and what still holds.

Coins of a roll may be alike (one source, one drawer). The design effect is by how much the
variance of a share grows when rolls of m coins are drawn whole: 1 + (m - 1) rho, rho the
correlation of two coins of one roll (Kish, Survey Sampling, 1965, chapter 5). It is an
estimate. What holds whatever the rolls are like is a bound on rolls, the things drawn.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.records import Bools, Ints
from lotscreen.sequential.anytime import Bet, UpperBound, after, no_coin_drawn
from lotscreen.words import say

ASSUMED_LIKENESS = 0.1
"""Correlation of two coins of one roll before any was measured (assumed)."""


def design_effect(roll_coins: float, likeness: float) -> float:
    """By how much the variance of a share grows when whole rolls are drawn."""
    return 1.0 + (roll_coins - 1.0) * likeness


@dataclass(frozen=True, slots=True)
class RollDraw:
    """What a draw of whole rolls says. ``likeness`` is rho, estimated from the rolls drawn
    (0 where no coin or every coin is set aside: then nothing can be estimated and
    ``estimated`` is False). ``effective_coins`` is how many single coins would say as
    much. ``bound`` counts rolls that hold a coin to be set aside, out of all rolls."""

    rolls: int
    coins: int
    likeness: float
    estimated: bool
    design_effect: float
    effective_coins: float
    bound: UpperBound
    note: str


def roll_draw(set_aside: Bools, roll: Ints, lot_rolls: int, risk: float) -> RollDraw:
    """The statement on rolls drawn at random and measured whole.

    ``set_aside`` and ``roll`` (any whole numbers) are 1-D, one entry a coin; the rolls of
    the lot are ``lot_rolls``.
    """
    _, back, sizes = np.unique(roll, return_inverse=True, return_counts=True)
    aside = np.bincount(back, weights=set_aside.astype(np.float64)).astype(np.float64)
    likeness, estimated = _likeness(aside, sizes.astype(np.float64))
    mean_size = float(np.mean(np.square(sizes)) / np.mean(sizes))
    effect = design_effect(mean_size, likeness)
    bound = after(no_coin_drawn(Bet(lot_rolls, risk)), len(sizes), int(np.count_nonzero(aside)))
    coins = int(sizes.sum())
    key = "estimated" if estimated else "not_estimated"
    note = say(
        f"plan.rolls.{key}",
        rolls=len(sizes),
        coins=coins,
        effect=effect,
        effective=coins / effect,
        most=bound.coins,
        lot=lot_rolls,
        sure=100 * (1 - risk),
    )
    return RollDraw(len(sizes), coins, likeness, estimated, effect, coins / effect, bound, note)


def _likeness(aside: np.ndarray, size: np.ndarray) -> tuple[float, bool]:
    """Analysis of variance between and within rolls (Donner, International Statistical
    Review 54, 1986), held between 0 and 1."""
    coins, rolls = float(size.sum()), len(size)
    share = float(aside.sum()) / coins
    if rolls < 2 or share in (0.0, 1.0) or coins == rolls:
        return 0.0, False
    own = aside / size
    between = float(np.sum(size * np.square(own - share))) / (rolls - 1)
    within = float(np.sum(size * own * (1.0 - own))) / (coins - rolls)
    typical = (coins - float(np.sum(np.square(size))) / coins) / (rolls - 1)
    rho = (between - within) / (between + (typical - 1.0) * within)
    return min(max(rho, 0.0), 1.0), True
