"""Two limits from the user's money: pay below, test between, refuse above.

They advise a disposition and never change a finding. What is lost depends on what the coin
is: .800 silver keeps about seven eighths of the melt of .900, tungsten nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lotscreen.evidence.slips import SLIP_KEYS
from lotscreen.money.outcomes import Outcomes, outcomes, value_after, value_now
from lotscreen.money.stake import Stake
from lotscreen.money.terms import Spot, Terms
from lotscreen.money.worth import CoinsWorth
from lotscreen.records import Bools, Floats
from lotscreen.second_tests.results import TESTS, KindOfTest

PAY, TEST, REFUSE = "pay", "test", "refuse"
_CHANCES: Floats = 1 / (1 + np.exp(-np.linspace(-9.0, 9.0, 721)))
_MINUTES_AN_HOUR = 60.0


@dataclass(frozen=True, slots=True)
class Limits:
    """For a typical coin of a type: pay where its chance of departing is below ``pay``,
    refuse above ``refuse``, between them ``test`` first ('' where no test is worth its
    cost at any chance: one limit). ``keeps`` is the share of its melt that a departing
    coin keeps on average; ``melt`` in money."""

    type_key: str
    pay: float
    refuse: float
    test: str
    cost: float
    melt: float
    keeps: float


@dataclass(frozen=True, slots=True)
class Advice:
    """The coins of one type: chance of departing (n,), in money what the test that is worth
    most for each gains after its cost (n,), that test ('' none), its cost, the disposition
    advised (pay, test or refuse), and what is sensible without a test."""

    type_key: str
    departing: Floats
    gain: Floats
    test: tuple[str, ...]
    cost: Floats
    advised: tuple[str, ...]
    otherwise: tuple[str, ...]


def kinds_at_hand(names: Sequence[str]) -> tuple[KindOfTest, ...]:
    """The tests named, or where none is those that need no special instrument; a test that
    destroys is never among them unless named."""
    if names:
        return tuple(kind for kind in TESTS if kind.key in names)
    return tuple(kind for kind in TESTS if not kind.needs)


def cost_of_test(kind: KindOfTest, terms: Terms) -> float:
    """What one test costs: its minutes at the wage, and its fee."""
    return kind.minutes * terms.wage / _MINUTES_AN_HOUR + kind.fee


def advice(stake: Stake, rate: float, terms: Terms, kinds: Sequence[KindOfTest]) -> Advice:
    """What is sensible for each coin of a type, from this lot's ``rate`` of departing coins."""
    probability = stake.coins.at_rate(rate)
    profit, refusal = stake.accepted, stake.refused
    paying, refusing = value_now(probability, profit, refusal)
    now = np.maximum(paying, refusing)
    gain = np.zeros(len(paying))
    cost, best = np.zeros(len(paying)), [""] * len(paying)
    for kind in kinds:
        own_cost = cost_of_test(kind, terms)
        own = outcomes(kind, stake.coins.hypotheses, stake.coin_type)
        worth_it = value_after(probability, profit, own, refusal) - now - own_cost
        for at in np.flatnonzero(worth_it > np.maximum(gain, 1e-9)):
            gain[at], best[at], cost[at] = worth_it[at], kind.key, own_cost
    otherwise = tuple(np.where(paying >= refusing, PAY, REFUSE).tolist())
    advised = tuple(TEST if key else o for key, o in zip(best, otherwise, strict=True))
    departing = probability[:, stake.coins.departing].sum(axis=1)
    return Advice(stake.coin_type.key, departing, gain, tuple(best), cost, advised, otherwise)


def limits(worth: CoinsWorth, spot: Spot, terms: Terms, kinds: Sequence[KindOfTest]) -> Limits:
    """The two limits for an unworn coin of the type that departs, if it does, as this lot's
    departing coins do, and is honest, if it is, as its honest ones are."""
    melt = _typical_melt(worth, spot)
    kept = np.median(worth.kept(), axis=0)
    departs, honest = _sides(worth)
    probability = _CHANCES[:, None] * departs + (1 - _CHANCES[:, None]) * honest
    profit = np.tile(melt * kept - melt * (1 - terms.spread(worth.metal)), (len(_CHANCES), 1))
    good = ~worth.coins.departing
    refusal = np.tile(np.where(good, -terms.lost_custom, 0.0), (len(_CHANCES), 1))
    paying, refusing = value_now(probability, profit, refusal)
    now = np.maximum(paying, refusing)
    best: tuple[float, str, Bools] = (0.0, "", np.zeros(len(now), dtype=np.bool_))
    for kind in kinds:
        own: Outcomes = outcomes(kind, worth.coins.hypotheses, worth.coin_type)
        gained = value_after(probability, profit, own, refusal) - now - cost_of_test(kind, terms)
        if float(gained.max()) > best[0]:
            best = (float(gained.max()), kind.key, gained > 0)
    single = float(_CHANCES[int(np.argmax(refusing > paying))]) if (
        refusing > paying).any() else 1.0  # fmt: skip
    inside = np.flatnonzero(best[2])
    low, high = (float(_CHANCES[inside[0]]), float(_CHANCES[inside[-1]])) if len(
        inside) else (single, single)  # fmt: skip
    cost = next((cost_of_test(k, terms) for k in kinds if k.key == best[1]), 0.0)
    return Limits(worth.coin_type.key, low, high, best[1], cost, melt, float(departs @ kept))


def _typical_melt(worth: CoinsWorth, spot: Spot) -> float:
    return float(np.median(worth.claimed_oz)) * spot.prices[worth.metal]


def _sides(worth: CoinsWorth) -> tuple[Floats, Floats]:
    """How departing and honest coins of this lot are divided among hypotheses (h,), a coin
    as much as it belongs to the side. Slips are left out: they are of the entry."""
    slip = np.array([h.mechanism in SLIP_KEYS for h in worth.coins.hypotheses])
    shares = worth.coins.shares / worth.coins.shares.sum(axis=1, keepdims=True)
    side = worth.coins.departing
    departs = np.where(side, shares.sum(axis=0), 0.0)
    honest = np.where(side | slip, 0.0, shares.sum(axis=0))
    return departs / max(departs.sum(), 1e-300), honest / max(honest.sum(), 1e-300)


def sensitivity(
    worth: CoinsWorth, spot: Spot, terms: Terms, kinds: Sequence[KindOfTest]
) -> tuple[tuple[str, Limits], ...]:
    """The limits if one thing were otherwise: spread halved and doubled, wage doubled."""
    metal = "spread_gold" if worth.metal == "gold" else "spread_silver"
    spread = terms.spread(worth.metal)
    cases = (
        ("half_spread", replace(terms, **{metal: spread / 2})),
        ("double_spread", replace(terms, **{metal: min(2 * spread, 0.9)})),
        ("double_wage", replace(terms, wage=2 * terms.wage)),
    )
    return tuple((key, limits(worth, spot, own, kinds)) for key, own in cases)
