"""Which second test on which coin is worth its minutes or fee, through what one would then do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lotscreen.money.limits import PAY, TEST, Advice, advice
from lotscreen.money.rate import belief_of_coins
from lotscreen.money.stake import Stake
from lotscreen.money.terms import Terms
from lotscreen.second_tests.results import KindOfTest, kind_of_test


@dataclass(frozen=True, slots=True)
class NextTest:
    """One test worth making: ``row`` of the item table, its key, the chance that the coin
    departs, what one would do without it, and in money what it gains on the mean after
    its cost; its cost; its minutes."""

    row: int
    test: str
    departing: float
    otherwise: str
    gain: float
    cost: float
    minutes: float


@dataclass(frozen=True, slots=True)
class NextTests:
    """Tests worth making, the most gain a minute first; those that find room in the minutes
    given (``planned`` of them); the mean loss left in coins that are paid for untested,
    now and after the planned ones."""

    tests: tuple[NextTest, ...]
    planned: int
    minutes: float
    gain: float
    loss_now: float
    loss_after: float
    coins: int


def next_tests(
    stakes: Sequence[Stake], terms: Terms, kinds: Sequence[KindOfTest],
    minutes: float | None = None,
) -> NextTests:  # fmt: skip
    """Tests by gain a minute; ``minutes`` at hand (None: as many as are worth it). The rate
    of departing coins is that of all coins at stake."""
    rate = belief_of_coins(terms, [stake.coins for stake in stakes]).mean
    found: list[NextTest] = []
    loss: dict[int, float] = {}
    for stake in stakes:
        advised = advice(stake, rate, terms, kinds)
        losses = stake.loss_if_accepted(rate)
        for place, row in enumerate(stake.coins.rows.tolist()):
            loss[row] = float(losses[place]) if advised.otherwise[place] == PAY else 0.0
            if advised.advised[place] == TEST:
                found.append(_next(advised, place, row))
    found.sort(key=lambda t: (-round(t.gain / max(t.minutes, 0.1), 9), t.row))
    planned = how_many_fit([t.minutes for t in found], minutes)
    chosen = found[:planned]
    now, tested = sum(loss.values(), 0.0), sum(loss[t.row] for t in chosen)
    return NextTests(
        tuple(found), planned, sum(t.minutes for t in chosen), sum(t.gain for t in chosen),
        now, now - tested, sum(len(s.coins.rows) for s in stakes),
    )  # fmt: skip


def _next(advised: Advice, place: int, row: int) -> NextTest:
    key = advised.test[place]
    return NextTest(
        row, key, float(advised.departing[place]), advised.otherwise[place],
        float(advised.gain[place]), float(advised.cost[place]), kind_of_test(key).minutes,
    )  # fmt: skip


def how_many_fit(needed: Sequence[float], minutes: float | None) -> int:
    """How many things that need so many minutes each, in their order, find room in
    ``minutes`` (None: all)."""
    if minutes is None:
        return len(needed)
    used = np.cumsum(needed)
    return int(np.searchsorted(used, minutes + 1e-9, side="right"))
