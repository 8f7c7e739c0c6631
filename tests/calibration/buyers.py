"""Buyers who follow the advice against buyers with a fixed limit, over invented lots.

Each lot is 60 half dollars, some of them something else: none in two lots of five, else 2 to
30 %. All are weighed, in a half of the lots also measured across and through, and judged by
the frozen fit of one earlier lot, so that a thousand lots are cheap. The buyer
who follows the advice pays, tests or refuses as his money says, makes the test advised with
an invented instrument (each day's balance has an offset of its own) and then pays or refuses.
The others pay for every coin whose weight is within a fixed share of the standard. Loss is
what a buyer who knew each coin would have earned more. Run by hand: python
tests/calibration/buyers.py [LOTS]
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lotscreen.evidence import judge
from lotscreen.evidence.blocks import with_blocks
from lotscreen.instruments import instruments_of
from lotscreen.intake import read_frame
from lotscreen.money.composition import composed
from lotscreen.money.limits import PAY, advice, kinds_at_hand
from lotscreen.money.rate import belief_of_coins
from lotscreen.money.stake import stake_at_melt
from lotscreen.money.terms import Terms, spot_of_texts
from lotscreen.money.worth import CoinsWorth, coins_worth
from lotscreen.quantities import TROY_OUNCE_G
from lotscreen.records import Findings, Intake, ItemTable
from lotscreen.screening import screen
from lotscreen.second_tests.explained import Explained, explained
from lotscreen.second_tests.results import KindOfTest, SecondResult
from lotscreen.second_tests.together import with_results
from lotscreen.settings import Settings
from lotscreen.simulate import CoinSpec, KindCount, LotSpec, SimulatedLot, Wear, draw_lot
from lotscreen.standards import load_standards
from lotscreen.summary import summarise
from lotscreen.wear import Fit
from lotscreen.wear.fit import with_types

Floats = NDArray[np.float64]
STANDARDS = load_standards()
HALF, FORTY = STANDARDS.get("us-half-1873"), STANDARDS.get("us-half-1965")
LOTS, COINS = 1000, 60
FIXED_LIMITS = (0.02, 0.03, 0.05, 0.08)
SPOT = spot_of_texts(("silver=30",), "USD", "2026-03-02 14:05", "mid")
TERMS = Terms(wage=10.0)
PRICE_G = SPOT.prices["silver"] / TROY_OUNCE_G

# What a kind is of: fine silver, density, tone against a sound coin; handbooks, from memory.
KINDS: dict[str, tuple[float, float, float]] = {
    "brass, right size": (0.0, 8.55, 1.25),
    "copper, right size": (0.0, 8.95, 1.32),
    "pewter, right size": (0.0, 7.3, 0.75),
    "lead alloy, right size": (0.0, 11.34, 0.4),
    "brass, right weight": (0.0, 8.55, 1.5),
    "nickel silver, right weight": (0.0, 8.7, 1.6),
    "light alloy": (0.70, 9.95, 1.0),
    "cast": (0.9, 10.05, 0.95),
    "clipped": (0.9, 10.31, 1.0),
    "filed": (0.9, 10.31, 1.02),
}
HONEST = (0.9, 10.31, 1.0)
OTHER_TYPE = (0.4, 9.52, 1.04)


@dataclass(frozen=True)
class Bought:
    """One lot: what buyers lost against one who knew, in money; tests made."""

    advised: float
    fixed: tuple[float, ...]
    tests: int
    departing: int


def drawn(number: int) -> SimulatedLot:
    """The lot of that number."""
    rng = np.random.default_rng(70_000 + number)
    count = 0 if rng.random() < 0.4 else round(COINS * rng.uniform(0.02, 0.3))
    names = [str(name) for name in rng.choice(list(KINDS), 2, replace=False)]
    first = int(rng.integers(0, count + 1))
    kinds = tuple(KindCount(n, c) for n, c in zip(names, (first, count - first), strict=True) if c)
    forty = int(rng.integers(0, 3))
    wear = Wear("gamma", depth_um_per_year=0.8, growth=0.8)
    halves = CoinSpec(HALF, "US half dollar", COINS - forty, tuple(range(1916, 1965)), 1965, wear,
                      kinds, designs=(1916, 1948))  # fmt: skip
    others = CoinSpec(FORTY, "US half dollar 1964", forty, tuple(range(1965, 1971)), 1980, wear,
                      label="40 % half")  # fmt: skip
    specs = (halves, others) if forty else (halves,)
    measured = None if number % 2 else 0
    lot = draw_lot(LotSpec(specs, measured=measured, slip_rate=0.01), number)
    lot.sheet["type"] = "US half dollar"
    passed_off = (lot.key["true_kind"] == "40 % half").to_numpy()
    lot.sheet.loc[passed_off, "date"] = "1964"
    return lot


@dataclass(frozen=True)
class Judged:
    """A lot judged by the frozen fit of an earlier one."""

    intake: Intake
    table: ItemTable
    findings: Findings
    fit: Fit
    settings: Settings


@cache
def earlier_fit() -> Fit:
    """The fit of one honest lot of 400, measured in all three readings."""
    wear = Wear("gamma", depth_um_per_year=0.8, growth=0.8)
    halves = CoinSpec(HALF, "US half dollar", 400, tuple(range(1916, 1965)), 1965, wear,
                      designs=(1916, 1948))  # fmt: skip
    return screen(draw_lot(LotSpec((halves,)), 69_999).sheet, again=False).fit


def judged(sheet: pd.DataFrame) -> Judged:
    """The sheet read, summarised and judged."""
    fit, settings = earlier_fit(), Settings()
    intake = read_frame(sheet)
    instruments = instruments_of(intake.readings, settings)
    table = with_types(summarise(intake.items, intake.readings, instruments), STANDARDS)
    findings = with_blocks(judge(table, fit, settings), table, fit, settings)
    return Judged(intake, table, findings, fit, settings)


def truths(key: pd.DataFrame) -> tuple[Floats, Floats, Floats]:
    """Value as metal in money, density, and tone of each coin."""
    told = [
        OTHER_TYPE if kind == "40 % half" else KINDS.get(str(kind), HONEST)
        for kind in key["true_kind"]
    ]
    fine, density, tone = (np.array(column) for column in zip(*told, strict=True))
    return key["true_weight_g"].to_numpy(float) * fine * PRICE_G, density, tone


def bought(number: int) -> Bought:
    """All buyers at one lot."""
    lot = drawn(number)
    value, density, tone = truths(lot.key)
    seen = judged(lot.sheet)
    rng = np.random.default_rng(80_000 + number)
    paid, pays, tests, spent = _follows_advice(seen, lot, density, tone, rng)
    # whoever buys pays for the weight on the scale, at most the standard's
    price = np.where(np.isfinite(paid), paid, 0.0)
    earned = float(np.where(pays, value - price, 0.0).sum()) - spent
    weight = seen.table.weight_g
    rate = 0.9 * PRICE_G * (1 - TERMS.spread_silver)
    by_scale = np.minimum(weight, HALF.weight_g) * rate
    true_g = lot.key["true_weight_g"].to_numpy(float)
    knew = float(np.maximum(value - np.minimum(true_g, HALF.weight_g) * rate, 0.0).sum())
    fixed = tuple(
        knew
        - float(np.where(np.abs(weight / HALF.weight_g - 1) <= limit, value - by_scale, 0.0).sum())
        for limit in FIXED_LIMITS
    )
    departing = int((~lot.key["true_kind"].isin(["honest"])).sum())
    return Bought(knew - earned, fixed, tests, departing)


def _follows_advice(
    seen: Judged, lot: SimulatedLot, density: Floats, tone: Floats,
    rng: np.random.Generator,
) -> tuple[Floats, NDArray[np.bool_], int, float]:  # fmt: skip
    """Price paid and whether paid (by coin), tests made and what they cost."""
    table, fit = seen.table, seen.fit
    coins = explained(table, fit, seen.findings, seen.settings)
    kinds = kinds_at_hand(())
    paid, pays = np.full(len(table), np.nan), np.zeros(len(table), np.bool_)
    tests, spent = 0, 0.0
    wanted: list[SecondResult] = []
    offsets = {"water_density": rng.normal(0, 0.014), "ring": rng.normal(0, 0.02)}
    for test, rows, cost in _advised(coins, seen, kinds):
        for row in rows:
            tests, spent = tests + 1, spent + cost
            wanted.append(_made(test, row, lot, seen, density, tone, offsets, rng))
    after = with_results(coins, seen.intake.items, table, fit, seen.settings, wanted)
    left = composed(after.coins, TERMS)
    for worth in _worths(left, seen):
        rate = belief_of_coins(TERMS, list(left.values())).mean
        told = advice(stake_at_melt(worth, SPOT, TERMS), rate, TERMS, ())
        price = worth.claimed_oz * SPOT.prices["silver"] * (1 - TERMS.spread_silver)
        paid[worth.coins.rows] = price
        pays[worth.coins.rows] = np.array([a == PAY for a in told.advised])
    return paid, pays, tests, spent


def _worths(coins: Mapping[str, Explained], seen: Judged) -> tuple[CoinsWorth, ...]:
    types = {key: own.coin_type for key, own in seen.fit.types.items()}
    return coins_worth(coins, seen.table, seen.findings, types)


def _advised(
    coins: Mapping[str, Explained], seen: Judged, kinds: Sequence[KindOfTest]
) -> Iterator[tuple[str, list[int], float]]:
    """Test, rows and cost of one such test, for every test advised."""
    known = composed(coins, TERMS)
    rate = belief_of_coins(TERMS, list(known.values())).mean
    for worth in _worths(known, seen):
        told = advice(stake_at_melt(worth, SPOT, TERMS), rate, TERMS, kinds)
        for test in sorted({t for t in told.test if t}):
            at = [i for i, t in enumerate(told.test) if t == test]
            yield test, worth.coins.rows[at].tolist(), float(told.cost[at[0]])


def _made(
    test: str, row: int, lot: SimulatedLot, seen: Judged, density: Floats, tone: Floats,
    offsets: dict[str, float], rng: np.random.Generator,
) -> SecondResult:  # fmt: skip
    """The test as the invented instrument reads it."""
    coin = str(seen.intake.items["item_id"].iloc[row])
    true_g = float(lot.key["true_weight_g"].iloc[row])
    if test == "water_density":
        displaced = true_g * 0.9982 / density[row] + offsets[test] + 0.01 * rng.normal()
        return SecondResult(coin, test, displaced_g=round(displaced, 2), step=0.01,
                            temperature_c=20.0)  # fmt: skip
    if test == "ring":
        heard = 5200.0 * tone[row] * (1 + offsets[test] + 0.03 * rng.normal())
        return SecondResult(coin, test, value=heard, reference=5200.0)
    if test == "magnet":
        return SecondResult(coin, test, word="no")
    if test != "re_weigh":
        raise ValueError(test)
    return SecondResult(coin, test, value=round(true_g + 0.01 * rng.normal(), 2), step=0.01)


@dataclass(frozen=True)
class Compared:
    """Mean loss a lot of one who follows the advice and of each fixed limit, and the mean
    difference (fixed less advised) with its 95 % interval."""

    lots: int
    advised: float
    fixed: tuple[float, ...]
    less: tuple[tuple[float, float, float], ...]
    tests: float

    def lines(self) -> list[str]:
        """One line a fixed limit."""
        return [
            f"{self.lots} lots: advice loses {self.advised:.2f} a lot ({self.tests:.1f} tests), "
            f"weight within {100 * limit:.0f} % loses {fixed:.2f}: {mean:.2f} more "
            f"(95 %: {low:.2f} to {high:.2f})"
            for limit, fixed, (mean, low, high) in zip(
                FIXED_LIMITS, self.fixed, self.less, strict=True
            )
        ]


def compared(lots: int) -> Compared:
    """The first so many lots."""
    found = [bought(number) for number in range(lots)]
    advised = np.array([b.advised for b in found])
    fixed = np.array([b.fixed for b in found])
    less = fixed - advised[:, None]
    half = 1.96 * less.std(axis=0, ddof=1) / np.sqrt(lots)
    return Compared(
        lots, float(advised.mean()), tuple(fixed.mean(axis=0).tolist()),
        tuple((float(m), float(m - h), float(m + h)) for m, h in zip(less.mean(axis=0), half,
                                                                    strict=True)),
        float(np.mean([b.tests for b in found])),
    )  # fmt: skip


if __name__ == "__main__":
    print("\n".join(compared(int(sys.argv[1]) if len(sys.argv) > 1 else LOTS).lines()))
