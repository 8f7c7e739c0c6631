"""What a plan promises of a lot, and the lines of the test that keeps the promise at any
moment (bets) or for two stated counts (Wald's test)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache, partial
from math import log

import numpy as np
from scipy.stats import binom

from lotscreen.records import Ints, SettingsError
from lotscreen.sequential.anytime import Bet, against, log_fortune_above
from lotscreen.sequential.finite import coins_below, coins_up_to
from lotscreen.sequential.lines import Lines, TwoCounts
from lotscreen.words import say

_SPENT_ON_CHANCE = 0.2  # of a risk: more alarms, or fewer coins noticed, than allowed for


@dataclass(frozen=True, slots=True)
class Goal:
    """*Accept* says: fewer than ``bad_share`` of the lot's coins are of the kinds that the
    screen notices at least ``notice`` of the time; wrong with chance ``risk_accept`` at
    most. A lot with up to ``tolerated_share`` of departing coins, whose honest coins are
    set aside with chance ``alarm_rate`` at most, is told *measure all* with chance
    ``risk_measure_all`` at most. SettingsError where the two lots cannot be told apart.
    """

    lot_coins: int
    bad_share: float
    notice: float
    risk_accept: float
    alarm_rate: float
    tolerated_share: float
    risk_measure_all: float

    def __post_init__(self) -> None:
        if not 0.0 < self.bad_share <= 1.0:
            raise SettingsError(say("plan.bad_share_wrong", share=self.bad_share))
        if not 0.0 <= self.alarm_rate < 1.0 or not 0.0 <= self.tolerated_share < 1.0:
            raise SettingsError(
                say("plan.rates_wrong", alarm=self.alarm_rate, tolerated=self.tolerated_share)
            )
        if not 0.0 < self.risk_measure_all < 1.0:
            raise SettingsError(say("plan.risk_wrong", risk=self.risk_measure_all))
        if self.bad_coins > self.lot_coins or self.bad_coins < 1:
            raise SettingsError(
                say("plan.no_bad_coin", share=100 * self.bad_share, coins=self.lot_coins)
            )
        if not self.clean_coins < self.bad_noticed:
            raise SettingsError(
                say(
                    "plan.not_told_apart",
                    clean=self.clean_coins,
                    bad=self.bad_noticed,
                    coins=self.lot_coins,
                    share=100 * self.bad_share,
                )
            )

    @property
    def bet(self) -> Bet:
        """The bet whose bound *accept* rests on."""
        return Bet(self.lot_coins, self.risk_accept, self.notice)

    @property
    def bad_coins(self) -> int:
        """The fewest departing coins that are no longer "fewer than the bad share"."""
        return coins_below(self.lot_coins, self.bad_share) + 1

    @property
    def bad_noticed(self) -> int:
        """How many of these the screen would set aside on average, rounded down."""
        return int(self.bad_coins * self.notice)

    @property
    def clean_coins(self) -> int:
        """The most coins that the screen would set aside in a clean lot, all measured: the
        tolerated ones, and honest alarms up to a number exceeded in a fifth of
        ``risk_measure_all`` of lots."""
        allowed = 1.0 - _SPENT_ON_CHANCE * self.risk_measure_all
        alarms = _most_alarms(self.lot_coins, self.alarm_rate, allowed)
        return min(coins_up_to(self.lot_coins, self.tolerated_share) + alarms, self.lot_coins - 1)

    @property
    def risk_of_bets(self) -> float:
        """What is left of ``risk_measure_all`` for the bets on more than the clean coins."""
        spent = _SPENT_ON_CHANCE if self.alarm_rate else 0.0
        return (1.0 - spent) * self.risk_measure_all

    def two_counts(self) -> TwoCounts:
        """Wald's two hypotheses for the same lot: the bad lot is the one of which fewer are
        noticed than chance allows but in a fifth of ``risk_accept``."""
        if self.notice == 1.0:
            bad, risk = self.bad_coins, self.risk_accept
        else:
            spent = _SPENT_ON_CHANCE * self.risk_accept
            bad = int(binom.ppf(spent, self.bad_coins, self.notice))
            risk = self.risk_accept - spent
        return TwoCounts(self.lot_coins, self.clean_coins, bad, self.risk_of_bets, risk)


@lru_cache(maxsize=64)
def _most_alarms(coins: int, rate: float, chance: float) -> int:
    """Honest alarms among ``coins`` that are not exceeded with ``chance``."""
    return int(binom.ppf(chance, coins, rate)) if rate else 0


def accepts(goal: Goal, drawn: int, found: int) -> bool:
    """Whether the bet against the bad lot is won with ``found`` of ``drawn`` set aside."""
    return against(goal.bet, goal.bad_coins, drawn, found)


def refuses(goal: Goal, drawn: int, found: int) -> bool:
    """Whether the bet on more than a clean lot's coins is won."""
    fortune = log_fortune_above(goal.lot_coins, goal.clean_coins, drawn, found)
    return fortune >= -log(goal.risk_of_bets) - 1e-12


def _accepts_with(goal: Goal, found: int, drawn: int) -> bool:
    return accepts(goal, drawn, found)


def _no_longer_refuses_with(goal: Goal, found: int, drawn: int) -> bool:
    return not refuses(goal, drawn, found)


@lru_cache(maxsize=32)
def lines_of_bets(goal: Goal, most: int) -> Lines:
    """The lines at which the two bets are won, for up to ``most`` coins drawn."""
    accept = np.full(most + 1, -1, dtype=np.int64)
    refuse = np.arange(1, most + 2, dtype=np.int64)
    first = last = 0
    gap = 0
    for found in range(most + 1):
        before = first
        first = _first(most, partial(_accepts_with, goal, found), max(first, found), first + gap)
        if first > most:
            break
        accept[first:] = found
        gap = first - before
    gap = 0
    for found in range(1, most + 1):
        before = last
        holds = partial(_no_longer_refuses_with, goal, found)
        last = _first(most, holds, max(last, found), last + gap)
        gap = last - before
        if last > found:
            refuse[found:last] = np.minimum(refuse[found:last], found)
        if last > most:
            break
    return Lines(accept, np.maximum(refuse, accept + 1))


def _first(most: int, holds: Callable[[int], bool], start: int, guess: int) -> int:
    """The first number drawn from ``start`` at which a condition holds that, once it does,
    holds on; ``most`` + 1 where it never does. Lines run nearly straight, so that the
    next one lies close to a ``guess``: steps from there double, then the doubt is halved."""
    low, high, step = start, most + 1, 1
    at, before, near = min(max(guess, start), most), None, False
    while low < high:
        true = holds(at)
        low, high = (low, at) if true else (at + 1, high)
        near = near or (before is not None and true != before)
        before = true
        if near:
            at = (low + high) // 2
        else:
            at = max(low, at - step) if true else min(high - 1, at + step)
            step *= 2
    return low


def accepted_counts(lines: Lines) -> Ints:
    """The coins after which 0, 1, 2 ... set aside first accept."""
    last = int(lines.accept[-1])
    return np.searchsorted(lines.accept, np.arange(last + 1)).astype(np.int64)
