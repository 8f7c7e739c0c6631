"""The wear that a weight shows, down to weights that no wear of the coin's date leads to."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from benchmarks.engine.lots import SETTINGS, STANDARDS, Plan, draw

from lotscreen.evidence import judge
from lotscreen.records import ItemTable
from lotscreen.wear import Fit, fit, grid
from lotscreen.wear.predict import predictor
from lotscreen.wear.standing import coin_rows

SHARES = np.linspace(0.94, 0.45, 26)


@pytest.fixture(scope="module")
def screened() -> tuple[ItemTable, Fit]:
    """One small gold coin at ever lower weights, and a fit whose dates' wear is known so well
    that the lower ones have no probability at all."""
    lot = draw(Plan("small gold", "gamma", 300), 5)
    fitted = fit(lot.table, STANDARDS, SETTINGS, 0)
    ((key, one),) = fitted.types.items()
    sharp = one.date_posterior**60
    sharp /= sharp.sum(axis=1, keepdims=True)
    known = replace(fitted, types={key: replace(one, date_posterior=sharp)})
    weight = np.round(one.coin_type.weight_g * SHARES, 2)
    coins = lot.table.rows(np.zeros(len(SHARES), np.int64))
    return replace(
        coins, weight_g=weight, weight_low_g=weight - 0.005, weight_high_g=weight + 0.005,
        item_id=np.array([f"new {k}" for k in range(len(SHARES))], object),
    ), known  # fmt: skip


def test_lighter_coins_show_more_wear_even_where_none_leads_to_them(
    screened: tuple[ItemTable, Fit],
) -> None:
    coins, fitted = screened
    (one,) = fitted.types.values()
    seen = predictor(one).predict(coin_rows(coins, one, np.zeros(len(coins), np.bool_)))
    none = seen.cell < grid.TRACE
    assert 3 < np.count_nonzero(none) < len(coins) - 3
    assert (np.diff(seen.wear) > 0).all()
    assert seen.wear[none] == pytest.approx(1 - SHARES[none], abs=0.01)
    assert (seen.wear_sd[none] > 0).all()


def test_a_lighter_coin_of_full_thickness_has_no_milder_finding(
    screened: tuple[ItemTable, Fit],
) -> None:
    """Its thickness speaks, too: no coin so worn would be as thick."""
    found = judge(*screened, SETTINGS)
    strict = found.finding == "not consistent"
    assert set(found.finding) == {"not consistent", "set aside"}
    assert (np.diff(strict.astype(int)) >= 0).all()
    assert (np.diff(found.z_thickness) > -0.01).all()
