"""The benchmark's ratio with dates' wear to be learned, by two other routes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from benchmarks.engine import learned, oracle
from benchmarks.engine.lots import Levels, Lot, Plan, draw
from scipy.integrate import trapezoid

from lotscreen.records import Floats


def _lot(date_log_sd: float) -> Lot:
    plan = Plan(
        "half", "weibull", 60, 0.1, "weight only", coins_a_date=(20, 20), date_log_sd=date_log_sd
    )
    return draw(plan, 5)


def _without(lot: Lot, coin: int) -> Lot:
    keep = np.arange(len(lot.table)) != coin
    of = lot.levels
    levels = Levels(of.coin_type, of.depth_mm[keep], of.stand_mm[keep])
    return replace(lot, table=lot.table.rows(keep), kind=lot.kind[keep], levels=levels)


def _densities(lot: Lot, depth_mm: Floats) -> tuple[Floats, Floats]:
    truth, parts = oracle.known_of(lot)
    dates = replace(truth.dates, depth_mm=depth_mm)
    return oracle.log_densities(lot, replace(truth, dates=dates), parts)


def test_without_luck_nothing_is_to_be_learned() -> None:
    lot = _lot(1e-9)
    np.testing.assert_allclose(learned.log_ratio(lot), oracle.log_ratio(lot), atol=1e-6)


@pytest.mark.slow
@pytest.mark.parametrize("coin", [3, 41])
def test_a_dates_wear_is_learned_from_its_other_coins(coin: int) -> None:
    """The coin taken out of the lot, its date's level integrated on a grid twice as fine."""
    lot = _lot(0.15)
    truth, _ = oracle.known_of(lot)
    years = np.unique(lot.table.year)
    used = 1965 - years[:, None]
    line = used * np.exp(np.mean(np.log(truth.dates.depth_mm / used)))
    luck = np.linspace(-3.6, 3.6, 37)
    rest = _without(lot, coin)
    mates = rest.table.year == lot.table.year[coin]
    log_weight, false, honest = [], [], []
    for z in luck:
        at = line * np.exp(0.15 * z)
        log_false, log_honest = _densities(rest, at)
        mixed = np.log(0.1 * np.exp(log_false[mates]) + 0.9 * np.exp(log_honest[mates]))
        log_weight.append(-0.5 * z**2 + mixed.sum())
        log_false, log_honest = _densities(lot, at)
        false.append(np.exp(log_false[coin]))
        honest.append(np.exp(log_honest[coin]))
    weight = np.exp(np.array(log_weight) - max(log_weight))
    over = [trapezoid(weight * np.array(side), luck) for side in (false, honest)]
    assert learned.log_ratio(lot)[coin] == pytest.approx(np.log(over[0] / over[1]), abs=2e-3)
