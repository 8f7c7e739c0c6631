"""Which second test on which coin is worth its minutes or fee, through what one would then do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lotscreen.money.limits import PAY, TEST, Advice, advice
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
    stakes: Sequence[Stake], rate: float, terms: Terms, kinds: Sequence[KindOfTest],
    minutes: float | None = None,
) -> NextTests:  # fmt: skip
    """Tests by gain a minute; ``minutes`` at hand (None: as many as are worth it)."""
    found: list[NextTest] = []
    loss = {"all": 0.0, "tested": 0.0}
    left: dict[int, float] = {}
    for stake in stakes:
        advised = advice(stake, rate, terms, kinds)
        losses = stake.loss_if_accepted(rate)
        for place, row in enumerate(stake.coins.rows.tolist()):
            otherwise = advised.otherwise[place]
            own_loss = float(losses[place]) if otherwise == PAY else 0.0
            loss["all"] += own_loss
            left[row] = own_loss
            if advised.advised[place] == TEST:
                found.append(_next(advised, place, row))
    found.sort(key=lambda t: (-round(t.gain / max(t.minutes, 0.1), 9), t.row))
    planned = _fitting(found, minutes)
    chosen = found[:planned]
    loss["tested"] = sum(left[t.row] for t in chosen)
    return NextTests(
        tuple(found), planned, sum(t.minutes for t in chosen), sum(t.gain for t in chosen),
        loss["all"], loss["all"] - loss["tested"], sum(len(s.coins.rows) for s in stakes),
    )  # fmt: skip


def _next(advised: Advice, place: int, row: int) -> NextTest:
    key = advised.test[place]
    return NextTest(
        row, key, float(advised.departing[place]), advised.otherwise[place],
        float(advised.gain[place]), float(advised.cost[place]), kind_of_test(key).minutes,
    )  # fmt: skip


def _fitting(tests: Sequence[NextTest], minutes: float | None) -> int:
    """How many of the tests, in their order, find room in the minutes."""
    if minutes is None:
        return len(tests)
    used = np.cumsum([t.minutes for t in tests])
    return int(np.searchsorted(used, minutes + 1e-9, side="right"))
