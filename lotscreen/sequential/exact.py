"""Exact operating characteristic and average sample number of Wald's test on a share.

Dynamic programming over the number of coins set aside: no formula of Wald's that
neglects the step over the line. Valid only when coins were drawn at random (each set
aside with the same chance, independently of the others).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.records import Floats
from lotscreen.sequential.wald import WaldPlan

_NOTHING_LEFT = 1e-15  # chance still undecided below which further coins change no digit


@dataclass(frozen=True, slots=True)
class ExactCurve:
    """At each true share set aside: chances to accept, to measure all, to be undecided
    when the coins run out, and the mean number of coins measured. Arrays of one length."""

    share: Floats
    accept: Floats
    measure_all: Floats
    undecided: Floats
    average_coins: Floats


def exact_curve(plan: WaldPlan, share: Floats, coins: int) -> ExactCurve:
    """The test cut off after ``coins`` coins, at every true ``share`` (1-D, in [0, 1]).

    ``coins`` of some thousands is as good as no end for the usual plans: see
    ``undecided``. One pass of ``coins`` steps for all shares at once.
    """
    true = np.atleast_1d(np.asarray(share, dtype=np.float64))
    number = np.arange(0, coins + 1, dtype=np.int64)
    lowest_open = plan.acceptance_number(number) + 1
    first_refused = plan.rejection_number(number)
    width = int((first_refused - lowest_open).max()) + 2
    open_chance = np.zeros((len(true), width))
    open_chance[:, 0] = 1.0
    accept, measure_all, average = (np.zeros(len(true)) for _ in range(3))
    chance = true[:, None]
    for n in range(1, coins + 1):
        average += open_chance.sum(axis=1)
        moved = open_chance * (1.0 - chance)
        moved[:, 1:] += open_chance[:, :-1] * chance
        refused_from = first_refused[n] - lowest_open[n - 1]
        measure_all += moved[:, refused_from:].sum(axis=1)
        moved[:, refused_from:] = 0.0
        accepted = lowest_open[n] - lowest_open[n - 1]
        if accepted:
            accept += moved[:, :accepted].sum(axis=1)
            moved = np.roll(moved, -accepted, axis=1)
            moved[:, width - accepted :] = 0.0
        open_chance = moved
        if open_chance.max() < _NOTHING_LEFT:
            break
    return ExactCurve(true, accept, measure_all, open_chance.sum(axis=1), average)
