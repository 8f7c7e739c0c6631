"""Coins of one date whose groups depart alike from it: strata of a date.

A date's level of wear is one; in a stratum that departs by k steps of the logarithmic grid
its coins are worn as those of a date whose level is k steps higher.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.records import Floats, Ints
from lotscreen.wear.group_levels import at_steps


@dataclass(frozen=True, slots=True)
class Strata:
    """``date`` (index of the date) and ``steps`` of departure of each stratum."""

    date: Ints
    steps: Ints

    def summed(self, values: Floats, dates: int) -> Floats:
        """Sums of ``values`` (strata,) by date."""
        return np.bincount(self.date, values, dates).astype(np.float64)

    def to_dates(self, log_likelihood: Floats, dates: int) -> Floats:
        """Log likelihood of each date's level (dates x levels) from that of each stratum's."""
        result = np.zeros((dates, log_likelihood.shape[1]))
        np.add.at(result, self.date, at_steps(log_likelihood, self.steps))
        return result

    def to_rows(self, posterior: Floats) -> Floats:
        """Level of each stratum (strata x levels) from that of each date."""
        moved = at_steps(posterior[self.date], -self.steps)
        return np.asarray(moved / np.maximum(moved.sum(axis=1, keepdims=True), 1e-300))


def strata_of(date: Ints, steps: Ints) -> tuple[Strata, Ints]:
    """The distinct pairs of ``date`` and ``steps`` of n coins, and which each coin is of."""
    pairs, which = np.unique(np.stack([date, steps], axis=1), axis=0, return_inverse=True)
    return Strata(pairs[:, 0], pairs[:, 1]), which.ravel()
