"""Lines at which a sequential test of a lot stops: how few coins set aside accept it, how
many say *measure all*, after each number of coins drawn."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import log

import numpy as np
from scipy.special import gammaln

from lotscreen.records import Bools, Floats, Ints, SettingsError
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class Lines:
    """After n coins (n is the place in both arrays, from 0) accept where the coins set
    aside are at most ``accept[n]`` (-1: never), measure all where they are at least
    ``measure_all[n]`` (above n: never). Both never fall."""

    accept: Ints
    measure_all: Ints

    def __post_init__(self) -> None:
        if not np.all(self.accept < self.measure_all):
            raise ValueError("accept is not below measure_all everywhere")

    @property
    def most_coins(self) -> int:
        """The number of coins after which nothing is said any more."""
        return len(self.accept) - 1


@dataclass(frozen=True, slots=True)
class TwoCounts:
    """Two hypotheses on the number of coins in the lot that the screen would set aside, and
    the two risks (as in :class:`lotscreen.sequential.wald.WaldPlan`, which takes the lot
    as endless). 0 <= clean < bad <= lot; SettingsError otherwise."""

    lot_coins: int
    clean_coins: int
    bad_coins: int
    risk_measure_all: float
    risk_accept: float

    def __post_init__(self) -> None:
        if not 0 <= self.clean_coins < self.bad_coins <= self.lot_coins:
            raise SettingsError(
                say(
                    "plan.counts_wrong",
                    clean=self.clean_coins,
                    bad=self.bad_coins,
                    coins=self.lot_coins,
                )
            )
        risks = (self.risk_measure_all, self.risk_accept)
        if not (min(risks) > 0.0 and sum(risks) < 1.0):
            raise SettingsError(say("sequential.risks_wrong", first=risks[0], second=risks[1]))

    @property
    def log_upper(self) -> float:
        """Log likelihood ratio (bad over clean) at which the test says *measure all*."""
        return log((1.0 - self.risk_accept) / self.risk_measure_all)

    @property
    def log_lower(self) -> float:
        """Log likelihood ratio at which the test says *accept*."""
        return log(self.risk_accept / (1.0 - self.risk_measure_all))


def lines_of_counts(test: TwoCounts) -> Lines:
    """Wald's test with the exact likelihood ratio of draws without replacement."""
    drawn = np.arange(test.lot_coins + 1, dtype=np.int64)
    ratio = _ratio_of_counts(test)
    accept = _last_true(drawn, lambda found: ratio(drawn, found) <= test.log_lower)
    below = _last_true(drawn, lambda found: ratio(drawn, found) < test.log_upper)
    return Lines(accept, np.maximum(below, accept) + 1)


def lines_of_single_sample(coins: int, acceptance_number: int) -> Lines:
    """A sample of fixed size, stopped as soon as its outcome is certain (curtailed)."""
    drawn = np.arange(coins + 1, dtype=np.int64)
    accept = np.maximum(acceptance_number - (coins - drawn), -1)
    return Lines(accept, np.full(coins + 1, acceptance_number + 1, dtype=np.int64))


def cut_off(lines: Lines, coins: int, acceptance_number: int) -> Lines:
    """The same test truncated: after ``coins`` coins, at the latest, it accepts with up to
    ``acceptance_number`` set aside and says *measure all* with more; and it stops before
    that as soon as this outcome is certain."""
    end = lines_of_single_sample(coins, acceptance_number)
    accept = np.maximum(lines.accept[: coins + 1], end.accept)
    refuse = np.minimum(lines.measure_all[: coins + 1], end.measure_all)
    return replace(lines, accept=np.minimum(accept, refuse - 1), measure_all=refuse)


def _ratio_of_counts(test: TwoCounts) -> Callable[[Ints, Ints], Floats]:
    table = gammaln(np.arange(test.lot_coins + 2, dtype=np.float64) + 1.0)
    clean, bad = test.clean_coins, test.bad_coins
    good_if_clean, good_if_bad = test.lot_coins - clean, test.lot_coins - bad

    def falling(top: int, steps: Ints) -> Floats:
        return np.asarray(table[top] - table[np.maximum(top - steps, 0)])

    def ratio(drawn: Ints, found: Ints) -> Floats:
        good = drawn - found
        value = falling(bad, found) - falling(clean, found)
        value = value + falling(good_if_bad, good) - falling(good_if_clean, good)
        value = np.where(good > good_if_bad, -np.inf, value)
        return np.asarray(np.where(found > clean, np.inf, value))

    return ratio


def _last_true(drawn: Ints, holds: Callable[[Ints], Bools]) -> Ints:
    """For each number drawn the largest count 0 .. drawn at which a condition holds that
    turns false once as the count grows; -1 where it never holds."""
    low, high = np.full(len(drawn), -1, dtype=np.int64), drawn.copy()
    while np.any(low < high):
        middle = (low + high + 1) // 2
        true: Bools = holds(np.maximum(middle, 0)) | (middle < 0)
        low, high = np.where(true, middle, low), np.where(true, high, middle - 1)
    return low
