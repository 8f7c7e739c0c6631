"""What is said of the coins of one type holds as often as it promises, over invented lots
drawn within the declared widths of scale, mint, wear and years."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binomtest
from type_lots import KEYS, Truth, drawn, said_of, share, table_of, truth

from lotscreen.instruments import ScaleBelief
from lotscreen.settings import Settings
from lotscreen.simulate import KindCount

pytestmark = pytest.mark.calibration
SETTINGS = Settings()
KNOWN = Settings(mint_bias_width=0.0, circulation_end_width=0.0)
NO_SCALE_ERROR = ScaleBelief(0.0, 1e-6, True)
NOTICED = 0.01
LOTS = 60
COINS = 200


def _within(hits: float, lots: int, low: float, high: float) -> None:
    """The promise lies within the exact 99 % interval of what was counted."""
    found = binomtest(round(hits * lots), lots).proportion_ci(0.99)
    print(f"{hits:.3f} of {lots} lots ({found.low:.3f} to {found.high:.3f})")
    assert found.high >= low
    assert found.low <= high


def _p(made: Truth, seed: int) -> float:
    return said_of(table_of(drawn(made, seed), made.key, lengths=False)).shift_p


def test_shifts_of_the_printed_size_are_noticed() -> None:
    """90 to 98 of 100 lots at exactly the printed size, whether the scale reads low or high,
    the alloy is lighter or wear is off; larger ones in 95 at least; honest lots in 1."""
    noticed: dict[str, int] = dict.fromkeys(("honest", "low", "alloy", "wear", "larger", "high"), 0)
    for number in range(LOTS):
        made = truth(number, COINS, SETTINGS)
        table = table_of(drawn(made, number), made.key, lengths=False)
        said = said_of(table)
        lighter, heavier = said.smallest_shift_percent / 100, said.smallest_heavier_percent / 100
        used = np.maximum(made.end - np.array(made.years), 0.5)
        typical = np.exp(np.mean(np.log(used)))
        years = typical * np.mean((used / typical) ** made.growth)
        off = {
            "low": replace(made, scale_error=(1 + made.scale_error) * (1 - lighter) - 1),
            "alloy": replace(made, mint_bias=(1 + made.mint_bias) * (1 - lighter) - 1),
            "wear": replace(made, loss_a_year=made.loss_a_year + lighter / years),
            "larger": replace(made, scale_error=(1 + made.scale_error) * (1 - 1.5 * lighter) - 1),
            "high": replace(made, scale_error=(1 + made.scale_error) * (1 + heavier) - 1),
        }
        noticed["honest"] += said.shift_p < NOTICED
        for name, lot in off.items():
            noticed[name] += _p(lot, number) < NOTICED
    print(noticed)
    for name in ("low", "alloy", "wear", "high"):
        _within(noticed[name] / LOTS, LOTS, 0.90, 0.98)
    _within(noticed["larger"] / LOTS, LOTS, 0.95, 1.0)
    _within(noticed["honest"] / LOTS, LOTS, 0.0, 0.01)


def _loss_a_year(number: int, known: bool, coins: int) -> tuple[float, float, float, float]:
    """True and told loss a year with the ends of its interval, per cent."""
    made = truth(number, coins, None if known else SETTINGS)
    lot = drawn(made, 500 + number)
    table = table_of(lot, made.key)
    said = said_of(table, KNOWN if known else SETTINGS, NO_SCALE_ERROR if known else None)
    rate = said.wear_rate
    assert rate is not None
    used = np.maximum(made.end - table.year, 0.5)
    true = float(lot.key["true_wear_percent"].astype(float).sum() / used.sum())
    if known:
        return true, rate.percent, rate.low_percent, rate.high_percent
    return true, rate.percent, rate.wide_low_percent, rate.wide_high_percent


@pytest.mark.parametrize("known", [True, False])
def test_the_interval_of_the_rate_of_wear_covers(known: bool) -> None:
    rates = [_loss_a_year(number, known, 200) for number in range(100)]
    covered = np.mean([low <= true <= high for true, _, low, high in rates])
    _within(float(covered), len(rates), 0.92, 0.98)


def test_the_rate_of_wear_is_near_when_the_rest_is_known() -> None:
    """Within 5 % in 90 % of lots of 2,000 honest coins."""
    errors = np.array([
        told / true - 1 for true, told, _, _ in (_loss_a_year(k, True, 2000) for k in range(20))
    ])  # fmt: skip
    print(f"median error {np.median(np.abs(errors)):.4f}")
    assert np.mean(np.abs(errors) < 0.05) >= 0.9


def _share_covered(number: int, lengths: bool, wide: bool) -> bool:
    """Whether the interval holds the share of pieces that are none of the type."""
    false = (0, 6, 30, 90)[number // 4 % 4]
    kinds = (
        (KindCount("brass, right size", false // 3), KindCount("cast", false // 3),
         KindCount("light alloy", false // 3))
        if false
        else ()
    )  # fmt: skip
    made = replace(truth(number, 300), kinds=kinds)
    told = said_of(table_of(drawn(made, number), made.key, lengths)).false_share
    assert told is not None
    low = told.wide_low_percent if wide else told.low_percent
    high = told.wide_high_percent if wide else told.high_percent
    return low <= 100 * false / 300 <= high


@pytest.mark.parametrize(("lengths", "wide"), [(True, False), (True, True), (False, True)])
def test_the_interval_of_the_share_covers(lengths: bool, wide: bool) -> None:
    """With all three readings the narrow one; by weight alone only the wider one can."""
    covered = share(48, lambda number: _share_covered(number, lengths, wide))
    _within(covered, 48, 0.90, 1.0)


def test_all_types_of_the_lots_are_there() -> None:
    assert {truth(number, 1).key for number in range(len(KEYS))} == set(KEYS)
