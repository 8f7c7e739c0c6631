"""Coins that ways to stop take on average, as a table: at will, two lots fixed, one sample."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil

import numpy as np

from lotscreen.sequential.curve import curve_in_lot
from lotscreen.sequential.goal import lines_of_bets
from lotscreen.sequential.lines import lines_of_counts, lines_of_single_sample
from lotscreen.sequential.sampling_plan import SamplingPlan
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class AverageCoins:
    """Mean coins drawn by one way to stop where none, the clean and the bad number of coins
    would be set aside; ``test`` names the way."""

    test: str
    at_none: float
    at_clean: float
    at_bad: float


@lru_cache(maxsize=8)
def average_coins(plan: SamplingPlan) -> tuple[AverageCoins, ...]:
    """Bets that let one stop at will, the exact test of the same two lots, one sample
    stopped as soon as its answer is certain; computed exactly for the lot."""
    goal, lot = plan.goal, plan.lot_coins
    truths = np.array([0, goal.clean_coins, goal.bad_noticed])
    ways = {
        "at_will": lines_of_bets(goal, lot),
        "two_lots": lines_of_counts(goal.two_counts()),
        "one_sample": lines_of_single_sample(plan.sample_coins(), plan.allowed),
    }
    return tuple(
        AverageCoins(test, *(float(n) for n in curve_in_lot(lines, lot, truths).average_coins))
        for test, lines in ways.items()
    )


def average_heads(plan: SamplingPlan) -> tuple[str, ...]:
    """Heads of the table of :func:`average_coins`."""
    goal = plan.goal
    return (
        say("plan.average.test"),
        say("plan.average.none"),
        say("plan.average.clean", coins=goal.clean_coins),
        say("plan.average.bad", coins=goal.bad_noticed),
    )


def average_cells(plan: SamplingPlan) -> tuple[tuple[str, ...], ...]:
    """The rows of :func:`average_coins` as they are printed, coins rounded up."""
    return tuple(
        (
            say(f"plan.average.{row.test}"),
            *(f"{ceil(coins):,}" for coins in (row.at_none, row.at_clean, row.at_bad)),
        )
        for row in average_coins(plan)
    )


def average_lines(plan: SamplingPlan) -> list[str]:
    """The table in columns of text, heads first."""
    rows = [average_heads(plan), *average_cells(plan)]
    first, *others = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    return [
        "  ".join(
            ["", row[0].ljust(first)]
            + [cell.rjust(width) for cell, width in zip(row[1:], others, strict=True)]
        )
        for row in rows
    ]
