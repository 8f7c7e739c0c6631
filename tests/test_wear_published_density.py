"""The tables on which coins are judged against a distribution known to many digits."""

from __future__ import annotations

import numpy as np
import pytest
from reference import normal_minus_gamma as known
from scipy.stats import exponnorm, gamma, norm

from lotscreen.records import Floats
from lotscreen.wear import grid
from lotscreen.wear.struck import TAIL_SHARE, TAIL_TIMES, Struck, tails_given_wear

STRUCK = Struck(known.MEAN_G, 0.0, known.SD_G)
SPREADS = ((1 - TAIL_SHARE, known.SD_G), (TAIL_SHARE, TAIL_TIMES * known.SD_G))


def _below(x: Floats, sd: float) -> Floats:
    """The closed form for shape 3 (integration by parts)."""
    scale = known.LOST_G / known.SHAPE
    b = known.MEAN_G - x - sd**2 / scale
    p, height = norm.cdf(b / sd), norm.pdf(b / sd)
    moments = (p, b * p + sd * height, (b**2 + sd**2) * p + b * sd * height)
    grown = np.exp((x - known.MEAN_G) / scale + sd**2 / (2 * scale**2))
    terms = moments[0] + moments[1] / scale + moments[2] / (2 * scale**2)
    return np.asarray(norm.cdf((x - known.MEAN_G) / sd) + grown * terms)


def _wear(shape: float) -> Floats:
    """Probability at each wear of the grid, what lies below it at its first point."""
    loss = gamma(shape, scale=known.LOST_G / shape)
    lost = grid.WEAR * known.MEAN_G
    mass = loss.pdf(lost) * lost * grid.STEP
    mass[0] += 1 - mass.sum()
    return np.asarray(mass)


def test_the_closed_form_is_the_published_one() -> None:
    x = np.array(known.READING_G)
    np.testing.assert_allclose(_below(x, known.SD_G), known.BELOW, rtol=1e-11)
    slope = (_below(x + 1e-5, known.SD_G) - _below(x - 1e-5, known.SD_G)) / 2e-5
    np.testing.assert_allclose(slope, known.DENSITY, rtol=1e-6)
    cell = _below(np.array([6.205, 6.195]), known.SD_G)
    assert cell[0] - cell[1] == pytest.approx(known.READS_6_20, rel=1e-11)


def test_tables_hold_the_published_distribution_to_ten_digits() -> None:
    """Both tails and the cell of a reading; the struck weight's own tail is added to the
    reference by the same closed form."""
    x, sure = np.array(known.READING_G), np.zeros(len(known.READING_G))
    tails = tails_given_wear(x, x, sure, STRUCK)
    below = np.sum([share * _below(x, sd) for share, sd in SPREADS], axis=0)
    np.testing.assert_allclose(tails.up_to_high @ _wear(3.0), below, atol=2e-10, rtol=0)
    np.testing.assert_allclose(tails.from_low @ _wear(3.0), 1 - below, atol=2e-10, rtol=0)
    low, high = x - 0.005, x + 0.005
    cell = tails_given_wear(low, high, sure, STRUCK).cell @ _wear(3.0)
    wanted = np.sum([share * (_below(high, sd) - _below(low, sd)) for share, sd in SPREADS], axis=0)
    np.testing.assert_allclose(cell, wanted, atol=2e-10, rtol=0)


def test_shape_one_is_the_exponentially_modified_normal() -> None:
    """Five digits: three coins in a thousand have lost less than the grid's first wear."""
    x = np.array(list(known.EXPONENTIAL_BELOW))
    turned = [exponnorm(known.LOST_G / sd, loc=-known.MEAN_G, scale=sd).sf(-x) for _, sd in SPREADS]
    np.testing.assert_allclose(turned[0], list(known.EXPONENTIAL_BELOW.values()), rtol=1e-9)
    below = sum(share * part for (share, _), part in zip(SPREADS, turned, strict=True))
    found = tails_given_wear(x, x, np.zeros(len(x)), STRUCK).up_to_high @ _wear(1.0)
    np.testing.assert_allclose(found, below, atol=5e-6, rtol=0)


def test_tables_agree_with_random_coins(rng: np.random.Generator) -> None:
    """The third route: two million coins struck, worn and read."""
    n = 2_000_000
    sd = np.where(rng.random(n) < TAIL_SHARE, TAIL_TIMES, 1.0) * known.SD_G
    coin = rng.normal(known.MEAN_G, sd) - rng.gamma(known.SHAPE, known.LOST_G / known.SHAPE, n)
    reading = np.round(coin, 2)
    levels = np.array([6.0, 6.1, 6.2, 6.3])
    cell = tails_given_wear(levels - 0.005, levels + 0.005, np.zeros(4), STRUCK).cell @ _wear(3.0)
    seen = np.array([np.mean(np.abs(reading - x) < 0.001) for x in levels])
    assert np.all(np.abs(seen - cell) < 4 * np.sqrt(cell / n))
