"""Coins too worn to be told by type and date: the cut that they leave in a lot."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import softmax
from scipy.stats import binomtest
from type_lots import STANDARDS, table_of

from lotscreen.evidence import judge
from lotscreen.records import Floats, ItemTable
from lotscreen.settings import Settings
from lotscreen.simulate import CoinSpec, LotSpec, Wear, draw_lot
from lotscreen.wear import fit, grid
from lotscreen.wear.allowance import slick_wear
from lotscreen.wear.known import Known, known_of
from lotscreen.wear.shape import default_shape

DIME = STANDARDS.get("us-dime-1873")
SETTINGS = Settings()


@pytest.mark.parametrize("slick", [0.0, 0.2, 1.0])
def test_the_cut_matrix_equals_plain_sums(slick: float) -> None:
    known = known_of(DIME, slick)
    matrix, seen = known.matrix(default_shape())
    np.testing.assert_allclose(matrix.sum(axis=0), 1.0, rtol=1e-12)
    for level in (20, 120, 150):
        part = np.zeros(len(grid.WEAR))
        for offset, chance in zip(grid.OFFSETS, default_shape(), strict=True):
            at = min(max(level + int(offset), 0), len(grid.WEAR) - 1)
            part[at] += chance * (slick + (1 - slick) * known.legible[at])
        assert seen[level] == pytest.approx(part.sum(), rel=1e-12)
        np.testing.assert_allclose(matrix[:, level], part / part.sum(), rtol=1e-12, atol=1e-300)
    if slick == 1.0:
        np.testing.assert_allclose(matrix, grid.shape_matrix(default_shape()), rtol=1e-12)


@pytest.mark.parametrize("there", [0.0, 1.0])
def test_shape_and_share_are_learned_from_what_the_cut_leaves(
    there: float, rng: np.random.Generator
) -> None:
    """Coins of fifteen known levels, those beyond legible left out or not: the shape of all is
    found again, and which of both it was."""
    true = softmax(-0.5 * np.square((np.log(grid.FACTOR) + 0.18) / 0.6))
    level = rng.choice(np.arange(100, 145, 3), 60_000)
    at = np.clip(level + rng.choice(grid.OFFSETS, 60_000, p=true), 0, len(grid.WEAR) - 1)
    stays = rng.random(60_000) < Known(known_of(DIME).legible, there).of_wear[at]
    table = np.zeros((len(grid.WEAR), grid.LEVELS))
    np.add.at(table, (at[stays], level[stays]), 1.0)
    known, shape = known_of(DIME), default_shape()
    for _ in range(200):
        matrix, seen = known.matrix(shape)
        before = np.where(matrix > 0, table / np.maximum(matrix, 1e-290), 0.0)
        at_level = (before * matrix).sum(axis=0)
        counts = known.shape_counts(shape, seen, before, at_level)
        known = known.learned((before * matrix).sum(axis=1), known.missing(matrix, at_level))
        shape = counts / counts.sum()
    assert counts.sum() == pytest.approx(table.sum())
    assert known.slick == pytest.approx(there, abs=0.07)
    assert _log_sd(shape) == pytest.approx(0.6, rel=0.02)
    uncut = np.bincount(at[stays] - level[stays] - grid.OFFSETS[0], minlength=len(grid.FACTOR))
    assert _log_sd(uncut / uncut.sum()) < (0.575 if there == 0.0 else 0.61)


def _log_sd(shape: Floats) -> float:
    mean = float(shape @ np.log(grid.FACTOR))
    return float(np.sqrt(shape @ np.square(np.log(grid.FACTOR) - mean)))


@pytest.mark.slow
@pytest.mark.parametrize("cut", [True, False])
def test_worn_lots_are_alarmed_as_stated_whether_slick_coins_are_there_or_not(cut: bool) -> None:
    """Dimes by weight alone that have lost 6 % on average, those worn slick taken out as
    coins of no date, or left in: honest coins alarmed at 1 in 100 by the limit, the lot's
    share of coins that are none stays small, and the fit tells which it was."""
    alarms, coins, departing, slick = 0, 0, [], []
    for seed in range(1, 7):
        table = _worn_dimes(seed, cut)
        fitted = fit(table, STANDARDS, SETTINGS, 0)
        found = judge(table, fitted, SETTINGS)
        alarms, coins = alarms + int((found.p_value <= 0.01).sum()), coins + len(table)
        departing.append(fitted.types[DIME.key].departing_share)
        slick.append(fitted.types[DIME.key].slick_known)
    assert binomtest(alarms, coins).proportion_ci(0.99).low <= 0.015
    assert np.mean(departing) < 0.015
    assert (np.mean(slick) < 0.1) if cut else (np.mean(slick) > 0.4)


def _worn_dimes(seed: int, cut: bool) -> ItemTable:
    years = tuple(range(1900, 1960))
    spec = CoinSpec(DIME, DIME.key, 2000, years, 1965, Wear("lognormal", 1.0, 1.0))
    lot = draw_lot(LotSpec((spec,)), seed)
    table = table_of(lot, DIME.key, lengths=False)
    if not cut:
        return table
    lost = lot.key["true_wear_percent"].astype(float).to_numpy() / 100
    return table.rows(np.flatnonzero(lost <= slick_wear(DIME)))
