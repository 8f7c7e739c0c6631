"""Rolls with their own wear and coins with a noted grade: honest rates, and power with and
without what rolls and grades say.

Counts on invented lots with seeds and exact binomial 95 % intervals (Clopper and Pearson,
Biometrika 26, 1934). A rate is refuted where the interval's lower end lies above one and a
half times the limit. Run with ``-m calibration -s`` to see the figures.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binomtest
from type_lots import STANDARDS, table_of

from lotscreen.evidence import judge
from lotscreen.records import ItemTable
from lotscreen.settings import Settings
from lotscreen.simulate import CoinSpec, KindCount, LotSpec, Wear, draw_lot
from lotscreen.simulate.worlds import WORLDS
from lotscreen.wear import fit

pytestmark = pytest.mark.calibration

SETTINGS = Settings()
HALF = "us-half-1873"
LIMITS = (0.01, SETTINGS.limit)
KINDS = (KindCount("light alloy", 40), KindCount("brass, right size", 40), KindCount("cast", 30))
BOTH_READINGS = pytest.mark.parametrize(
    "lengths", [True, False], ids=["all readings", "weight only"]
)


def _drawn(world: str, lengths: bool, seed: int, kinds: tuple[KindCount, ...] = (), **lot):
    coins = CoinSpec(STANDARDS.get(HALF), HALF, 2000, tuple(range(1900, 1961)), 1965,
                     Wear(world, 0.38), kinds=kinds)  # fmt: skip
    drawn = draw_lot(LotSpec((coins,), **lot), seed)
    return table_of(drawn, HALF, lengths), drawn.key["true_kind"].to_numpy()


def _judged(table: ItemTable) -> tuple[np.ndarray, np.ndarray]:
    found = judge(table, fit(table, STANDARDS, SETTINGS, 0), SETTINGS)
    return found.p_value, found.log10_lr


def _silent(table: ItemTable) -> ItemTable:
    """The same coins, rolls and grades not written down."""
    blank = np.full(len(table), "", object)
    return replace(table, group=blank, grade=blank)


def _keeps(name: str, p_value: np.ndarray) -> None:
    for limit in LIMITS:
        alarms = int((p_value <= limit).sum())
        interval = binomtest(alarms, len(p_value)).proportion_ci(method="exact")
        print(
            f"{name}, limit {limit:.1%}: {alarms} of {len(p_value)} = "
            f"{alarms / len(p_value):.2%} ({interval.low:.2%} to {interval.high:.2%})"
        )
        assert interval.low <= 1.5 * limit
        assert interval.high > 0.4 * limit


@BOTH_READINGS
@pytest.mark.parametrize(
    "lot",
    [{"roll_size": 20, "roll_log_sd": 0.3}, {"graded": 1.0}, {"graded": 0.5}],
    ids=["rolls", "graded", "half of them graded"],
)
def test_honest_coins_are_alarmed_at_the_stated_rate(lot: dict, lengths: bool) -> None:
    lots = [_drawn(world, lengths, 1, **lot)[0] for world in WORLDS]
    _keeps("honest", np.concatenate([_judged(table)[0] for table in lots]))


@BOTH_READINGS
@pytest.mark.parametrize(
    ("lot", "more"),
    [({"roll_size": 20, "roll_log_sd": 0.5}, 0.0), ({"graded": 1.0}, 0.08)],
    ids=["rolls", "graded"],
)
def test_what_rolls_and_grades_say_adds_power(lot: dict, more: float, lengths: bool) -> None:
    """Coins of light alloy found at one and the same realised rate of 1 %; ``more`` is how
    much more of them must be found than without rolls and grades."""
    shares = {"with": [], "without": []}
    honest_p = []
    for world in WORLDS:
        table, kind = _drawn(world, lengths, 2, KINDS, **lot)
        honest, light = kind == "honest", kind == "light alloy"
        for name, coins in (("with", table), ("without", _silent(table))):
            p_value, log10_lr = _judged(coins)
            at = np.quantile(log10_lr[honest], 0.99)
            shares[name].append(float((log10_lr[light] > at).mean()))
            if name == "with":
                honest_p.append(p_value[honest])
    _keeps("honest among others", np.concatenate(honest_p))
    power = {name: float(np.mean(each)) for name, each in shares.items()}
    print("light alloy found:", {name: f"{share:.1%}" for name, share in power.items()})
    assert power["with"] >= power["without"] + more - 0.02


def test_rolls_that_are_worn_alike_are_no_reason_for_anything() -> None:
    """Where rolls say nothing, coins are judged as if they lay loose: over four lots a world,
    since several coins of one date and reading cross a limit together."""
    for world in sorted(WORLDS):
        together, alone = [], []
        for seed in range(3, 7):
            table, _ = _drawn(world, False, seed, roll_size=20, roll_log_sd=0.0)
            together.append(_judged(table)[0])
            alone.append(_judged(_silent(table))[0])
        for limit in LIMITS:
            with_rolls, loose = (int((np.array(p) <= limit).sum()) for p in (together, alone))
            print(f"{world}, limit {limit:.1%}: {with_rolls} with rolls, {loose} loose")
            assert abs(with_rolls - loose) <= 8
