"""The honest distribution against slower, independent routes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import gamma, lognorm, norm, truncnorm

from lotscreen.records import Floats
from lotscreen.simulate.bodies import strike, wear_down
from lotscreen.standards import load_standards
from lotscreen.wear import grid
from lotscreen.wear.allowance import depth_at_loss, loss_at_depth, slick_wear
from lotscreen.wear.distinct import distinct_rows
from lotscreen.wear.levels import LinePrior, pool_levels, prior_line, spread_line
from lotscreen.wear.shape import default_shape, smooth_shape
from lotscreen.wear.struck import (
    TAIL_SHARE,
    TAIL_TIMES,
    Struck,
    cell_moments,
    cells_given_wear,
    tails_given_wear,
)
from lotscreen.wear.surface import diameter_per_wear, effective_thickness_mm

STRUCK = Struck(weight_g=6.25, shift=0.0, sd_g=0.028)


def _by_quadrature(low: float, high: float, u: float, level: float) -> float:
    """Cell probability at one level of wear, seven tenths gamma of shape 2, the rest the
    lognormal of the same variance: integral over the wear."""

    def given(loss_g: float) -> float:
        total = 0.0
        for share, times in ((1 - TAIL_SHARE, 1.0), (TAIL_SHARE, TAIL_TIMES)):
            sd = np.hypot(times * STRUCK.sd_g, u)
            mean = STRUCK.weight_g - loss_g
            total += share * (norm.cdf(high, mean, sd) - norm.cdf(low, mean, sd))
        return float(total)

    scale = level * STRUCK.weight_g / 2
    points = [scale * f for f in (0.5, 1, 2, 4, 8)]
    log_sd = float(np.sqrt(np.log(1.5)))

    def loss(x: float) -> float:
        other = lognorm.pdf(x, log_sd, scale=2 * scale * np.exp(-(log_sd**2) / 2))
        return float(0.7 * gamma.pdf(x, 2, scale=scale) + 0.3 * other)

    value, _ = quad(lambda x: given(x) * loss(x), 0, 60 * scale,
                    points=points, limit=400, epsabs=1e-13)  # fmt: skip
    return float(value)


@pytest.mark.parametrize("level", [0.002, 0.01, 0.04])
@pytest.mark.parametrize("reading", [5.70, 6.00, 6.15, 6.25, 6.33])
def test_cell_probability_equals_quadrature(level: float, reading: float) -> None:
    low, high, u = np.array([reading - 0.005]), np.array([reading + 0.005]), np.array([0.01])
    index = int(grid.level_index(level))
    by_level = cells_given_wear(low, high, u, STRUCK) @ grid.shape_matrix(default_shape())
    slow = _by_quadrature(float(low[0]), float(high[0]), 0.01, float(grid.LEVEL[index]))
    # Above full weight nearly unworn coins alone count, and the grid of wear ends at few of them.
    assert by_level[0, index] == pytest.approx(slow, rel=1e-2, abs=3e-7)


def test_cells_of_a_class_table_add_up_to_one() -> None:
    bounds = np.array([-np.inf, 6.0, 6.1, 6.2, 6.3, np.inf])
    tails = tails_given_wear(bounds[:-1], bounds[1:], np.full(5, 0.01), STRUCK)
    np.testing.assert_allclose(tails.cell.sum(axis=0), 1.0, atol=1e-12)
    np.testing.assert_allclose(tails.up_to_high + tails.from_low - tails.cell, 1.0, atol=1e-12)


@pytest.mark.parametrize(("low", "high"), [(-np.inf, 0.7), (1.2, np.inf), (-1.0, 2.5)])
def test_moments_of_wide_cells_are_those_of_a_truncated_normal(low: float, high: float) -> None:
    mean, sd = 0.3, 0.8
    first, second = (float(m) for m in cell_moments(
        np.array(low), np.array(high), np.array(mean), np.array(sd)))  # fmt: skip
    cut = truncnorm((low - mean) / sd, (high - mean) / sd, loc=mean, scale=sd)
    assert first == pytest.approx(cut.mean() - mean, rel=1e-9)
    assert second == pytest.approx(cut.var() + (cut.mean() - mean) ** 2, rel=1e-9)


@pytest.mark.parametrize("width", [0.1, 0.4, 0.8])
def test_narrow_cells_give_back_the_variance_they_were_rounded_from(width: float) -> None:
    """Rounding widens what is written (Sheppard's correction); what is left is not to be
    counted a second time."""
    sd = np.array(0.8)
    edges = width * (np.arange(-60, 61) + 0.3)
    chance = np.diff(norm.cdf(edges / sd))
    first, second = cell_moments(edges[:-1], edges[1:], np.array(0.0), sd)
    assert float(chance @ first) == pytest.approx(0.0, abs=1e-3)
    assert float(chance @ second) == pytest.approx(0.8**2, rel=0.02)


def test_shape_follows_its_counts_and_falls_back_on_the_default() -> None:
    many = 50_000 * norm.pdf(np.log(grid.FACTOR), 0.1, 0.4) * grid.STEP
    found = smooth_shape(many, default_shape(), newton_steps=30)
    middle = float(found @ np.log(grid.FACTOR))
    spread = float(np.sqrt(found @ np.square(np.log(grid.FACTOR)) - middle**2))
    assert middle == pytest.approx(0.1, abs=0.01)
    assert spread == pytest.approx(0.4, rel=0.03)
    alone = smooth_shape(np.zeros(len(grid.FACTOR)), default_shape(), newton_steps=30)
    assert float(alone @ grid.FACTOR) == pytest.approx(1.0, abs=0.05)


def test_light_pieces_do_not_pass_for_a_tail_of_heavy_wear() -> None:
    """A second hump far out, as light pieces leave it, is no wear: the tail goes on bending
    down. The tail of a lognormal is left as it is."""
    log_factor = np.log(grid.FACTOR)
    worn = 3_000 * norm.pdf(log_factor, -0.2, 0.6) * grid.STEP
    light = 60 * norm.pdf(log_factor, np.log(5.0), 0.15) * grid.STEP
    far = (grid.FACTOR > 1.6) & (grid.FACTOR < 5.0)

    def most_bent(counts: Floats) -> float:
        logs = np.log(smooth_shape(counts, default_shape(), newton_steps=30))
        return float(np.gradient(np.gradient(logs, grid.STEP), grid.STEP)[far].max())

    assert most_bent(worn) < most_bent(worn + light) < 0.0
    wide = norm.pdf(log_factor, -0.2, 0.7) * grid.STEP
    found = smooth_shape(4_000 * wide, default_shape(), newton_steps=30)
    heavy = grid.FACTOR > 3.5
    assert found[heavy].sum() == pytest.approx(wide[heavy].sum(), rel=0.06)


def _date_likelihoods(rng: np.random.Generator, dates: int) -> np.ndarray:
    centre = rng.normal(np.log(0.015), 0.3, dates)
    return -0.5 * np.square((np.log(grid.LEVEL)[None, :] - centre[:, None]) / 0.25)


def test_a_date_is_left_out_of_the_line_that_judges_it(rng: np.random.Generator) -> None:
    """The closed form against pooling again without that date."""
    log_likelihood = _date_likelihoods(rng, 6)
    years = np.array([10.0, 20.0, 30.0, 40.0, 60.0, 80.0])
    dated = np.ones(6, np.bool_)
    prior = LinePrior(float(np.log(0.015)), 0.7, 35.0)
    whole = pool_levels(log_likelihood, years, dated, prior)
    for left in range(6):
        others = np.arange(6) != left
        rest = pool_levels(log_likelihood[others], years[others], dated[others], prior)
        line = spread_line(rest.line, years[[left]], dated[[left]], prior)[0]
        slow = line * np.exp(log_likelihood[left])
        np.testing.assert_allclose(whole.posterior[left], slow / slow.sum(), atol=1e-9)


def test_without_coins_the_level_is_the_allowance() -> None:
    prior = LinePrior(float(np.log(0.015)), 0.3, 40.0)
    years = np.array([40.0, 80.0])
    levels = spread_line(prior_line(prior), years, np.ones(2, np.bool_), prior)
    centre = np.exp(levels @ np.log(grid.LEVEL))
    assert centre[0] == pytest.approx(0.015, rel=0.03)
    assert 0.018 < centre[1] < 0.03


@pytest.mark.parametrize(
    ("key", "slick"),
    [("us-dollar-1840", 0.08), ("us-half-1873", 0.10), ("us-quarter-1873", 0.13),
     ("us-dime-1873", 0.17)],
)  # fmt: skip
def test_slick_coins_have_lost_one_depth(key: str, slick: float) -> None:
    """Upper working values for slick coins (common practice, no source)."""
    assert slick_wear(load_standards().get(key)) == pytest.approx(slick, rel=0.15)


@pytest.mark.parametrize("key", ["us-dollar-1840", "us-dime-1873", "us-quarter-eagle-1837"])
def test_slick_coins_have_lost_what_the_simulated_body_loses(key: str) -> None:
    """By the simulator, which takes the depth from a body and shares no formula with this."""
    coin_type, rng = load_standards().get(key), np.random.default_rng(3)
    new = strike(coin_type, np.full(400, 1900), (), 0.0, rng)
    worn = wear_down(new, np.full(400, 0.08), rng)
    lost = float(np.mean(1 - worn.weight_g / new.weight_g))
    assert slick_wear(coin_type) == pytest.approx(lost, rel=0.01)


@pytest.mark.parametrize("key", ["us-dollar-1840", "us-dime-1873", "us-quarter-eagle-1837"])
@pytest.mark.parametrize("loss", [0.0, 0.005, 0.06, 0.3])
def test_coins_worn_to_a_loss_have_lost_it(key: str, loss: float) -> None:
    """By the simulated body, and by the way back; nothing is worn off new coins."""
    coin_type, rng = load_standards().get(key), np.random.default_rng(5)
    depth = depth_at_loss(coin_type, loss)
    assert loss_at_depth(coin_type, depth) == pytest.approx(loss, abs=1e-9)
    new = strike(coin_type, np.full(400, 1900), (), 0.0, rng)
    worn = wear_down(new, np.full(400, depth), rng)
    lost = float(np.mean(1 - worn.weight_g / new.weight_g))
    assert lost == pytest.approx(loss, rel=0.015, abs=1e-9)


def test_wear_of_a_type_without_diameter_is_in_proportion() -> None:
    unknown = replace(load_standards().get("us-dime-1873"), diameter_mm=None)
    assert depth_at_loss(unknown, 0.2) == pytest.approx(0.08)
    assert depth_at_loss(unknown, 0.05) == pytest.approx(0.02)


@pytest.mark.parametrize("n", [0, 1, 2, 500])
def test_distinct_rows_are_numpys(n: int) -> None:
    rows = np.random.default_rng(5).integers(0, 4, (n, 3)).astype(np.float64)
    found, which, counts = distinct_rows(rows)
    expected, back, number = np.unique(rows, axis=0, return_inverse=True, return_counts=True)
    np.testing.assert_array_equal(found, expected)
    np.testing.assert_array_equal(which, back.ravel())
    np.testing.assert_array_equal(counts, number)


@pytest.mark.parametrize(
    "key",
    ["us-dollar-1840", "us-half-1873", "us-quarter-1873", "us-dime-1873", "uk-sovereign-1817"],
)
@pytest.mark.parametrize("depth_mm", [0.012, 0.030, 0.046])
def test_a_worn_body_loses_diameter_as_its_flatness_says(key: str, depth_mm: float) -> None:
    """The body itself, a depth off every surface, against the slope used for diameters."""
    coin_type = load_standards().get(key)
    across, thick = coin_type.diameter_mm or 0.0, effective_thickness_mm(coin_type) or 0.0
    left = ((across - 2 * depth_mm) / across) ** 2 * (thick - 2 * depth_mm) / thick
    lost = 2 * depth_mm / across
    assert diameter_per_wear(coin_type) * (1 - left) == pytest.approx(lost, rel=0.01)


def test_a_half_worn_by_46_um_is_a_tenth_of_a_millimetre_smaller() -> None:
    """1.6, 4.0 and 6.2 % of the weight are 0.02, 0.06 and 0.09 mm (calculated, no source)."""
    half = load_standards().get("us-half-1873")
    smaller = [diameter_per_wear(half) * lost * 30.6 for lost in (0.016, 0.040, 0.062)]
    assert smaller == pytest.approx([0.02, 0.06, 0.09], abs=0.005)


def test_a_type_without_diameter_is_taken_as_flat_as_a_half() -> None:
    half = load_standards().get("us-half-1873")
    unknown = replace(half, diameter_mm=None)
    assert effective_thickness_mm(unknown) is None
    assert diameter_per_wear(unknown) == pytest.approx(diameter_per_wear(half), rel=0.01)
