"""A simulated coin behaves as a disc of metal does.

Check values: plane geometry and densities, worked in each test by another route than the
simulator's; widths are common practice, no source.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from lotscreen.simulate.bodies import Bodies, strike, wear_down
from lotscreen.simulate.kinds import KINDS
from lotscreen.simulate.worlds import WORLDS
from lotscreen.standards import load_standards

HALF = load_standards().get("us-half-1873")
SOVEREIGN = load_standards().get("uk-sovereign-1817")
YEARS = np.full(4000, 1900)


def _new(coin_type=HALF, seed: int = 1) -> Bodies:
    return strike(coin_type, YEARS, (), 0.0, np.random.default_rng(seed))


def _made(kind: str, coin_type=HALF) -> tuple[Bodies, Bodies]:
    honest = _new(coin_type)
    return honest, KINDS[kind].make(honest, np.random.default_rng(2))


def _change_percent(before: np.ndarray, after: np.ndarray) -> np.ndarray:
    return 100.0 * (after / before - 1.0)


def test_new_coins_lie_within_the_remedy_about_the_standard():
    weight = _new().weight_g
    remedy = HALF.remedy_g(1900)
    assert remedy is not None
    assert np.all(np.abs(weight - HALF.weight_g) <= remedy * 1.001)
    assert abs(weight.mean() - HALF.weight_g) < 0.001 * HALF.weight_g
    assert weight.std() > 0.2 * remedy


def test_a_rim_stands_above_the_field_so_calipers_give_no_density():
    new = _new()
    cylinder = HALF.density_g_cm3 * math.pi / 4 * new.diameter_mm**2 * new.rim_mm / 1000
    assert np.mean(new.weight_g / cylinder) == pytest.approx(0.77, abs=0.04)


def test_twelve_micrometres_from_every_surface_cost_a_half_one_point_six_per_cent():
    """Surface times depth, by the surface of a cylinder of the same volume."""
    new = _new()
    depth = np.full(len(YEARS), 0.012)
    worn = wear_down(new, depth, np.random.default_rng(3))
    surface = math.pi / 2 * new.diameter_mm**2 + math.pi * new.diameter_mm * new.effective_mm
    lost = HALF.density_g_cm3 * surface * depth / 1000
    np.testing.assert_allclose(new.weight_g - worn.weight_g, lost, rtol=0.02)
    assert -_change_percent(new.weight_g, worn.weight_g).mean() == pytest.approx(1.6, abs=0.05)
    assert np.allclose(new.diameter_mm - worn.diameter_mm, 0.024)
    assert np.mean(new.rim_mm - worn.rim_mm) > 0.024


@pytest.mark.parametrize(
    ("kind", "density"),
    [("brass, right size", 8.55), ("copper, right size", 8.95), ("pewter, right size", 7.3),
     ("lead alloy, right size", 11.34)],
)  # fmt: skip
def test_another_metal_at_the_right_size_weighs_as_its_density(kind: str, density: float):
    honest, made = _made(kind)
    by_density = 100.0 * (density / HALF.density_g_cm3 - 1.0)
    assert _change_percent(honest.weight_g, made.weight_g).mean() == pytest.approx(
        by_density, abs=0.1
    )
    assert abs(np.mean(made.diameter_mm - honest.diameter_mm)) < 0.005


def test_tungsten_alloy_in_place_of_gold_is_one_per_cent_from_its_weight():
    honest, made = _made("tungsten alloy", SOVEREIGN)
    assert abs(_change_percent(honest.weight_g, made.weight_g).mean()) < 2.0


@pytest.mark.parametrize(
    ("kind", "density"),
    [("brass, right weight", 8.55), ("nickel silver, right weight", 8.7)],
)
def test_another_metal_at_the_right_weight_is_thicker(kind: str, density: float):
    honest, made = _made(kind)
    flat = np.mean(honest.weight_g) * 1000 / (HALF.density_g_cm3 * math.pi / 4 * 30.6**2)
    extra = flat * (HALF.density_g_cm3 / density - 1.0)
    assert np.mean(made.rim_mm - honest.rim_mm) == pytest.approx(extra, abs=0.005)
    assert abs(_change_percent(honest.weight_g, made.weight_g).mean()) < 0.1


def test_a_cast_is_smaller_across_and_light_in_proportion():
    honest, made = _made("cast")
    across = _change_percent(honest.diameter_mm, made.diameter_mm)
    lighter = _change_percent(honest.weight_g, made.weight_g)
    assert -2.0 <= across.min() < across.max() <= -1.0
    assert np.percentile(lighter, 1) > -11.0
    assert np.percentile(lighter, 90) < 0.0
    assert lighter.mean() == pytest.approx(2 * across.mean() + 1.5 - 2.5, abs=0.3)


def test_a_family_from_one_mould_shares_all_its_measures():
    _, made = _made("cast, one mould")
    assert made.diameter_mm.std() < 0.03
    assert made.weight_g.std() < 0.01 * made.weight_g.mean()


def test_a_clip_takes_the_segment_beyond_a_chord():
    """The area beyond a chord by summing thin strips, depth read off the short diameter."""
    honest, made = _made("clipped")
    depth = (made.diameter_mm - made.short_mm)[:20]
    for which, cut in enumerate(depth):
        radius = honest.diameter_mm[which] / 2
        strips = np.linspace(radius - cut, radius, 20001)
        segment = np.trapezoid(2 * np.sqrt(np.maximum(radius**2 - strips**2, 0)), strips)
        lost = honest.weight_g[which] * segment / (math.pi * radius**2)
        assert honest.weight_g[which] - made.weight_g[which] == pytest.approx(lost, rel=1e-4)
    assert np.allclose(made.diameter_mm, honest.diameter_mm)


def test_filing_a_tenth_of_a_millimetre_costs_a_half_one_point_three_per_cent():
    honest, made = _made("filed")
    filed = (honest.diameter_mm - made.diameter_mm) / 2
    near = np.abs(filed - 0.1) < 0.005
    lighter = _change_percent(honest.weight_g, made.weight_g)[near]
    assert lighter.mean() == pytest.approx(-1.3, abs=0.05)


def test_a_plug_stays_within_one_per_cent_and_a_bend_only_reads_thicker():
    honest, plugged = _made("plugged")
    assert np.all(np.abs(_change_percent(honest.weight_g, plugged.weight_g)) <= 1.0)
    honest, bent = _made("bent")
    assert np.all(bent.rim_mm > honest.rim_mm)
    assert np.array_equal(bent.weight_g, honest.weight_g)


def test_a_poorer_alloy_is_two_to_five_per_cent_lighter():
    honest, made = _made("light alloy")
    lighter = _change_percent(honest.weight_g, made.weight_g)
    assert -5.0 <= lighter.min() < lighter.max() <= -2.0


@pytest.mark.parametrize("world", sorted(WORLDS))
def test_every_world_of_wear_takes_metal_and_has_mean_one(world: str):
    drawn = WORLDS[world](np.random.default_rng(5), 200_000)
    assert np.all(drawn >= 0)
    assert drawn.mean() == pytest.approx(1.0, abs=4 * drawn.std() / math.sqrt(len(drawn)))


def test_the_worlds_differ_where_findings_are_made():
    """The loss that one coin in 500 exceeds, in means: by the distributions' own tables."""
    tail = {w: np.quantile(WORLDS[w](np.random.default_rng(6), 400_000), 0.998) for w in WORLDS}
    assert tail["gamma"] == pytest.approx(4.21, abs=0.1)
    assert tail["lognormal"] == pytest.approx(math.exp(0.6 * 2.878 - 0.18), abs=0.15)
    assert tail["weibull"] == pytest.approx(6.2146 ** (1 / 1.4) / math.gamma(1 + 1 / 1.4), abs=0.1)
    assert len({round(value, 1) for value in tail.values()}) == 4
