"""Bounds on the number of departing coins in a lot that hold whenever one stops.

A bet against each number of departing coins: fortune one at the start, never negative, fair
or worse if that number is the truth, so that it ever reaches 1 / risk with chance at most
``risk`` (Ville's inequality). The numbers whose bet has not reached 1 / risk are the
bound. Each bet is a mixture of fixed alternatives, the likelihood ratios of draws without
replacement: Waudby-Smith and Ramdas, Advances in Neural Information Processing Systems 33
(2020); Stark, Annals of Applied Statistics 17 (2023); our own weights.

Valid only when each coin is drawn at random from those left, in an order fixed before.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import log

import numpy as np

from lotscreen.records import Floats, Ints, SettingsError
from lotscreen.sequential.finite import log_chance_in_order, log_of_sum
from lotscreen.words import say

_WEIGHT_OF_SOME = 0.5
"""Weight of the alternative of k departing coins is this over k, that of none is 1: the
first is for the lot that is clean, the others so that one alarm does not ruin the bet."""
_SINGLE = 16  # alternatives up to here are taken one by one, the others in steps
_STEP = 1.2


@dataclass(frozen=True, slots=True)
class Bet:
    """What the bounds of a lot rest on: its coins, the risk that a bound is ever wrong, and
    the chance that a departing coin of the kinds bounded is noticed when it is measured.

    The bound holds too where coins are noticed oftener than that, or honest ones are set
    aside: both only make it larger. SettingsError where a figure is out of its range.
    """

    lot_coins: int
    risk: float
    notice: float = 1.0

    def __post_init__(self) -> None:
        if self.lot_coins < 1:
            raise SettingsError(say("plan.lot_coins_wrong", coins=self.lot_coins))
        if not 0.0 < self.risk < 1.0:
            raise SettingsError(say("plan.risk_wrong", risk=self.risk))
        if not 0.0 < self.notice <= 1.0:
            raise SettingsError(say("plan.notice_wrong", notice=self.notice))


@dataclass(frozen=True, slots=True)
class UpperBound:
    """After ``drawn`` coins of which ``found`` count against the lot: at most ``coins``
    departing coins in the lot, at the risk of ``bet``, whenever one stops."""

    bet: Bet
    drawn: int
    found: int
    coins: int


def no_coin_drawn(bet: Bet) -> UpperBound:
    """The bound before the first coin: the whole lot."""
    return UpperBound(bet, 0, 0, bet.lot_coins)


def after(bound: UpperBound, drawn: int, found: int) -> UpperBound:
    """The bound after ``drawn`` coins of which ``found`` are set aside; never above the one
    given, which must be of an earlier moment of the same draw."""
    bet = bound.bet
    most = min(bound.coins, bet.lot_coins - (drawn - found)) if bet.notice == 1.0 else bound.coins
    if most > found and against(bet, most, drawn, found):
        low, most = found, most - 1
        # the bet against a number grows with the number: halve the doubt
        while low < most:
            middle = (low + most + 1) // 2
            if against(bet, middle, drawn, found):
                most = middle - 1
            else:
                low = middle
    return replace(bound, drawn=drawn, found=found, coins=max(most, found))


def against(bet: Bet, departing: int, drawn: int, found: int) -> bool:
    """Whether the bet against ``departing`` coins in the lot, or more, stands at 1 / risk."""
    return log_fortune(bet, departing, drawn, found) >= -log(bet.risk) - 1e-12


def log_fortune(bet: Bet, departing: int, drawn: int, found: int) -> float:
    """Natural log of the fortune of the bet against ``departing`` >= 1 coins, or more."""
    if found > departing:  # they are more: nothing is left of a bet that they are fewer
        return -np.inf
    alternatives, weights = _alternatives(departing)
    counts = np.append(alternatives, departing)
    chances = log_chance_in_order(counts, bet.lot_coins, drawn, found, bet.notice)
    if chances[-1] == -np.inf:
        return np.inf
    best = log_of_sum(chances[:-1], weights)
    return float(best - chances[-1])


def log_fortune_above(lot_coins: int, most: int, drawn: int, found: int) -> float:
    """Natural log of the fortune of the bet that more than ``most`` coins of the lot would
    be set aside, after ``found`` of ``drawn`` were; fair where it is ``most``, worse where
    it is fewer. 0 <= most < lot_coins."""
    if found > most:
        return np.inf
    above = _edges(lot_coins)
    starts = np.unique(np.append(above[above > most], most + 1))
    starts = starts[starts <= lot_coins]
    weights = np.log(np.append(starts[1:], lot_coins + 1) / starts)
    chances = log_chance_in_order(np.append(starts, most), lot_coins, drawn, found)
    return float(log_of_sum(chances[:-1], weights / weights.sum()) - chances[-1])


@lru_cache(maxsize=4096)
def _alternatives(departing: int) -> tuple[Ints, Floats]:
    """Numbers below ``departing`` to bet on, and their weights, which sum to one."""
    edges = _edges(departing)
    below = edges[edges < departing]
    ends = np.append(below[1:], departing)
    weights = _weight_below(ends) - _weight_below(below)
    return below, weights / weights.sum()


def _edges(departing: int) -> Ints:
    edges = list(range(_SINGLE))
    while edges[-1] < departing:
        edges.append(int(edges[-1] * _STEP) + 1)
    return np.array(edges, dtype=np.int64)


def _weight_below(departing: Ints) -> Floats:
    """Total weight of all numbers below ``departing``, without a norm."""
    some = np.concatenate([[0.0, 0.0], np.cumsum(1.0 / np.arange(1, max(int(departing.max()), 2)))])
    return np.where(departing > 0, 1.0, 0.0) + _WEIGHT_OF_SOME * some[departing]
