"""Wald's test of two stated counts, cut off after a number of coins and curtailed: it answers
by then, and sooner where the answer is already certain."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from lotscreen.sequential.curve import curve_in_lot
from lotscreen.sequential.lines import Lines, TwoCounts, cut_off, lines_of_counts


@lru_cache(maxsize=16)
def lines_within(test: TwoCounts, most_coins: int) -> Lines:
    """The lines of the test, cut off after ``most_coins`` with the largest acceptance number
    that keeps the risk to accept (exactly); the whole test where it takes the whole lot."""
    whole = lines_of_counts(test)
    if most_coins >= test.lot_coins:
        return whole
    return cut_off(whole, most_coins, _acceptance_number(test, whole, most_coins))


def risk_of_cut(test: TwoCounts, most_coins: int) -> float:
    """Exact risk to measure all of the clean lot of the test so cut off."""
    clean = np.array([test.clean_coins])
    return float(curve_in_lot(lines_within(test, most_coins), test.lot_coins, clean).measure_all[0])


def keeps_its_risk(test: TwoCounts, most_coins: int) -> bool:
    """Whether the test so cut off measures all of the clean lot no oftener than promised."""
    return risk_of_cut(test, most_coins) <= test.risk_measure_all


def soonest_cut(test: TwoCounts, above: int) -> int:
    """A number of coins above ``above`` (which is too few) after which the test can be cut
    off; one coin fewer is too few."""
    low, high = above, test.lot_coins
    while high - low > 1:
        middle = (low + high) // 2
        if keeps_its_risk(test, middle):
            high = middle
        else:
            low = middle
    return high


def _acceptance_number(test: TwoCounts, whole: Lines, most_coins: int) -> int:
    bad = np.array([test.bad_coins])
    low, high = max(int(whole.accept[most_coins]), 0), int(whole.measure_all[most_coins]) - 1
    while low < high:
        middle = (low + high + 1) // 2
        curve = curve_in_lot(cut_off(whole, most_coins, middle), test.lot_coins, bad)
        if curve.accept[0] <= test.risk_accept:
            low = middle
        else:
            high = middle - 1
    return low
