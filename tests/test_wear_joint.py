"""The joint likelihood ratio, its null distribution, and thickness by date, each against
a second route."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad, trapezoid
from scipy.special import softmax
from scipy.stats import binomtest, gamma, norm

from lotscreen.records import Floats
from lotscreen.standards import load_standards
from lotscreen.wear import GaugeFit, grid
from lotscreen.wear.components import box_cells, box_density, boxes, components
from lotscreen.wear.date_wear import DateWear, date_wear
from lotscreen.wear.gauge_fit import refine
from lotscreen.wear.joint import (
    Ground,
    Lengths,
    component_terms,
    effective_sd,
    gauge_density,
    honest_length_sd,
    honest_terms,
    left_out,
    length_terms,
    weight_terms,
)
from lotscreen.wear.null import NullTable, Readings, null_tables
from lotscreen.wear.relief import Relief, counts, fit_relief, offsets
from lotscreen.wear.shares import departing_shares, score_shares, within_groups
from lotscreen.wear.struck import TAIL_SHARE, TAIL_TIMES, VARIANCE_FACTOR, Struck, cells_given_wear
from lotscreen.wear.type_fit import UNLIKE_LOG_SD

QUARTER = load_standards().get("us-quarter-1873")
STRUCK = Struck(6.25, 0.0, 0.026)
DIAMETER = GaugeFit(24.3, -1.14, 0.031, 0.001, 500.0, 500, "", False, 0.01)
THICKNESS = GaugeFit(1.80, -1.4, 0.040, 0.001, 500.0, 500, "", True, 0.02)
GROUND = Ground(STRUCK, DIAMETER, THICKNESS, boxes(QUARTER))
WEAR = softmax(-0.5 * np.square((grid.LOG_WEAR - np.log(0.02)) / 0.7))
STEP, U = 0.01, 0.01


def test_box_densities_are_densities() -> None:
    soft = np.array(0.3)
    total, _ = quad(lambda x: float(box_density(np.array(x), np.array(-1.0), np.array(2.0), soft)),
                    -5, 6, limit=200)  # fmt: skip
    assert total == pytest.approx(1.0, rel=1e-7)
    cell = float(box_cells(np.array(0.1), np.array(0.4), np.array(-1.0), np.array(2.0), soft)[0])
    slow, _ = quad(lambda x: float(box_density(np.array(x), np.array(-1.0), np.array(2.0), soft)),
                   0.1, 0.4)  # fmt: skip
    assert cell == pytest.approx(slow, rel=1e-9)
    edges = np.array([-np.inf, -0.5, 0.7, np.inf])
    cells, rise, _ = box_cells(edges[:-1], edges[1:], np.array(-1.0), np.array(2.0), soft)
    assert cells.sum() == pytest.approx(1.0, abs=1e-12)
    assert rise.sum() == pytest.approx(0.0, abs=1e-12)  # what leaves one cell enters another
    assert GROUND.box.equal.sum() == pytest.approx(1.0)


@pytest.mark.parametrize("gauge", [DIAMETER, THICKNESS], ids=["diameter", "thickness"])
def test_lengths_under_each_component_are_densities_about_its_range(gauge: GaugeFit) -> None:
    """Area one; mean and variance those of the range (evenly spread) and the gauge."""
    date = DateWear(np.array([0.03]), np.array([0.01]), np.zeros(1))
    weight = weight_terms(GROUND, np.array([6.0]), np.array([6.01]), np.array([U]), date)
    ranges = GROUND.box.diameter if gauge is DIAMETER else GROUND.box.thickness
    value = np.linspace(0.2 * gauge.reference_mm, 2.5 * gauge.reference_mm, 60_001)
    density = length_terms(value[None, :], gauge, ranges, weight)[0]
    near = {c.diameter if gauge is DIAMETER else c.thickness: k
            for k, c in enumerate(components(QUARTER)) if c.group != "gross"}  # fmt: skip
    for (low, high), k in near.items():
        area = trapezoid(density[:, k], value)
        mean = trapezoid(density[:, k] * value, value)
        variance = trapezoid(density[:, k] * np.square(value - mean), value)
        wear, wear_sd = weight.wear[0, k], weight.wear_sd[0, k]
        base = gauge.reference_mm + gauge.slope_mm * wear
        spread = gauge.reference_mm * (high - low) / np.sqrt(12)
        doubt = gauge.slope_mm * np.hypot(wear_sd, gauge.wear_spread * wear)
        assert area == pytest.approx(1.0, abs=1e-6)
        middle = base + gauge.reference_mm * (low + high) / 2
        assert mean == pytest.approx(middle, abs=1e-4 * gauge.reference_mm)
        known = effective_sd(gauge) ** 2 + doubt**2 + spread**2
        assert variance == pytest.approx(known, rel=1e-3)
    assert len(near) >= 5


@pytest.mark.parametrize("reading", [5.35, 5.60, 5.85, 6.05])
def test_wear_shown_under_each_component_equals_quadrature(reading: float) -> None:
    """Tweedie's formula against the integral over the wear (normal) of each component."""
    low, high = np.array([reading - 0.005]), np.array([reading + 0.005])
    date = DateWear(np.array([0.03]), np.array([0.01]), np.zeros(1))
    terms = weight_terms(GROUND, low, high, np.array([U]), date)
    soft = np.sqrt(VARIANCE_FACTOR * STRUCK.sd_g**2 + U**2)
    box, compared = GROUND.box, 0
    for k in range(len(box.equal)):
        if box.weight_high[k] > 1.5 or terms.cell[0, k] < 1e-6:
            continue
        mean, sd = 0.03 * box.worn[k], 0.01 * box.worn[k]
        wear = np.linspace(mean - 7 * sd, mean + 7 * sd, 1401)
        prior = np.exp(-0.5 * np.square((wear - mean) / sd))
        # The range itself is taken at the component's mean wear, as the engine does.
        at, to = (STRUCK.mean_g(np.array(mean)) * x[k] for x in (box.weight_low, box.weight_high))
        middle = 0.5 * (box.weight_low[k] + box.weight_high[k]) * STRUCK.weight_g
        moved = middle * (wear - mean)
        given = prior * box_cells(low, high, at - moved, to - moved, np.array(soft))[0]
        slow = float(given @ wear / given.sum())
        if abs(slow - mean) > 2.9 * sd:
            assert abs(terms.wear[0, k] - mean) == pytest.approx(3 * sd, rel=0.1)  # held there
            continue
        spread = float(np.sqrt(given @ np.square(wear - slow) / given.sum()))
        assert terms.wear[0, k] == pytest.approx(slow, abs=0.05 * sd)
        assert terms.wear_sd[0, k] == pytest.approx(spread, rel=0.06)
        compared += 1
    assert compared >= 3


@pytest.mark.parametrize("skew", [0.0, 0.3, 1.0, 1.7])
def test_two_normals_have_the_moments_of_the_wear(skew: float) -> None:
    date = DateWear(np.array([0.03]), np.array([0.02]), np.array([skew]))
    parts = [(share, float(mean[0]), float(sd[0])) for share, mean, sd in date.two_normals()]
    wear = np.linspace(-0.15, 0.25, 40_001)
    density = sum(share * norm.pdf(wear, mean, sd) for share, mean, sd in parts)
    assert trapezoid(density, wear) == pytest.approx(1.0, abs=1e-9)
    assert trapezoid(density * wear, wear) == pytest.approx(0.03, abs=1e-9)
    assert trapezoid(density * (wear - 0.03) ** 2, wear) == pytest.approx(0.02**2, rel=2e-3)
    third = trapezoid(density * (wear - 0.03) ** 3, wear) / 0.02**3
    assert third == pytest.approx(skew, abs=0.02)


def test_moments_of_wear_are_those_of_a_gamma_law() -> None:
    edges = np.exp(np.append(grid.LOG_WEAR, grid.LOG_WEAR[-1] + grid.STEP) - grid.STEP / 2)
    found = date_wear(3.0 * np.diff(gamma.cdf(edges, 2.0, scale=0.01))[None, :])
    assert float(found.mean[0]) == pytest.approx(0.02, rel=2e-3)
    assert float(found.sd[0]) == pytest.approx(0.01 * np.sqrt(2), rel=5e-3)
    assert float(found.skew[0]) == pytest.approx(np.sqrt(2), rel=0.02)


@pytest.mark.parametrize("by_weight", [False, True], ids=["lengths", "by weight alone"])
def test_light_coins_of_skewed_wear_against_quadrature(by_weight: bool) -> None:
    """The probability of a light coin's cell, two normals standing in for wear that follows
    a gamma law: off by a fifth at most on average, where one normal is off by twice that."""
    ground = replace(GROUND, box=boxes(QUARTER, by_weight))
    reading = np.linspace(3.6, 6.2, 105)
    wear = np.linspace(0.0, 0.25, 2001)[1:]
    prior = gamma.pdf(wear, 2.0, scale=0.01) * (wear[1] - wear[0])
    soft = np.array(np.sqrt(VARIANCE_FACTOR * STRUCK.sd_g**2 + U**2))
    low, high, u = reading - STEP / 2, reading + STEP / 2, np.full(len(reading), U)
    two, one = (
        weight_terms(ground, low, high, u, DateWear(*(np.full(len(reading), m) for m in moments)))
        for moments in ((0.02, 0.01 * np.sqrt(2), np.sqrt(2)), (0.02, 0.01 * np.sqrt(2), 0.0))
    )
    for k in ground.box.skewed:
        at, to = (
            STRUCK.mean_g(ground.box.worn[k] * wear) * x[k]
            for x in (ground.box.weight_low, ground.box.weight_high)
        )
        exact = box_cells(low[:, None], high[:, None], at, to, soft)[0] @ prior
        counts = exact > 1e-3
        off_two, off_one = (np.abs(np.log(t.cell[counts, k] / exact[counts])) for t in (two, one))
        assert off_two.max() < 0.4
        assert off_two.mean() < 0.22
        assert off_one.mean() > 2 * off_two.mean()
        assert np.count_nonzero(counts) > 5


def test_slope_of_thickness_is_not_the_dates(rng: np.random.Generator) -> None:
    """Old designs stand higher and are more worn: coins of one date give the slope."""
    year = np.repeat(np.arange(1900.0, 1940.0), 25)
    typical = 0.05 * (1940 - year) / 40
    wear = typical * rng.gamma(2.0, 0.5, len(year))
    thickness = 1.8 - 1.4 * wear + 1.5 * typical + rng.normal(0, 0.04, len(year))
    start = GaugeFit(1.80, 0.0, 0.05, 0.001, 500.0, 500, "", True, 0.02)
    found = refine(start, thickness, wear, 0 * wear, np.ones(len(year)), 0.02, year)
    assert found.slope_mm == pytest.approx(-1.4, abs=0.2)
    assert np.polyfit(wear, thickness, 1)[0] > -1.0


@pytest.mark.parametrize(("unequal", "mean_wear"), [(0.05, 0.04), (0.2, 0.04), (0.17, 0.015)])
def test_rims_worn_unequally_are_told_from_a_wide_gauge(
    rng: np.random.Generator, unequal: float, mean_wear: float
) -> None:
    wear = rng.gamma(2.0, mean_wear / 2, 3000)
    slope = -1.5 * (1 + unequal * rng.normal(size=3000))
    thickness = 1.8 + slope * wear + rng.normal(0, 0.03, 3000)
    start = GaugeFit(1.80, -1.4, 0.05, 0.001, 500.0, 500, "", True, 0.02, 0.1)
    for _ in range(3):
        start = refine(start, thickness, wear, 0 * wear, np.ones(3000), 0.02, np.full(3000, 1900.0))
    assert start.sd_mm == pytest.approx(0.03, rel=0.06)
    assert start.wear_spread == pytest.approx(unequal, abs=0.035)


def test_the_reference_of_readings_in_steps_is_their_mean_near_the_standard(
    rng: np.random.Generator,
) -> None:
    """Half of the coins read 24.30 or less, and so does a median; the mean is 24.312."""
    wear = np.zeros(2000)
    value = np.round((24.312 + rng.normal(0, 0.03, 2000)) / 0.05) * 0.05
    start = GaugeFit(24.3, -1.14, 0.03, 0.001, 500.0, 2000, "")
    known = (wear, wear, np.ones(2000), 0.02, np.full(2000, 1900.0))
    assert float(np.median(value)) == pytest.approx(24.3)
    assert refine(start, value, *known, 24.26).reference_mm == pytest.approx(24.312, abs=0.003)
    assert refine(start, value, *known, 24.2).reference_mm == pytest.approx(24.3)  # 0.10 off


def test_few_mates_leave_more_unknown_of_the_thickness_of_worn_coins(
    rng: np.random.Generator,
) -> None:
    """New coins of 8 % of wear against lines learned from lots of 60 worn 2 % on average,
    whose rims wear more unequally than is assumed before a lot is seen: beyond 2.58 sd
    about 1 in 100, where without the doubt of slope and spread more than twice as many."""
    lots, new = 300, 40
    beyond, sure = 0, 0
    for _ in range(lots):
        learned = replace(_learned(60, rng), tail_share=0.0)
        thickness = 1.8 - 1.5 * (1 + 0.17 * rng.normal(size=new)) * 0.08
        thickness += rng.normal(0, 0.03, new)
        for gauge in (learned, replace(learned, wear_doubt=0.0)):
            wear = np.full(new, 0.08)
            off = thickness - gauge.reference_mm - gauge.slope_mm * wear
            far = int((np.abs(off) > 2.58 * honest_length_sd(gauge, wear, 0 * wear)).sum())
            beyond, sure = (beyond + far, sure) if gauge.wear_doubt else (beyond, sure + far)
    assert 0.3 < beyond / (0.01 * lots * new) < 1.7
    assert sure > 2 * beyond
    assert _learned(2000, rng).wear_doubt ** 2 < 0.4 * _learned(60, rng).wear_doubt ** 2


def _learned(n: int, rng: np.random.Generator) -> GaugeFit:
    """A thickness learned from ``n`` coins of ten dates."""
    wear = rng.gamma(2.0, 0.01, n)
    thickness = 1.8 - 1.5 * (1 + 0.17 * rng.normal(size=n)) * wear + rng.normal(0, 0.03, n)
    gauge = GaugeFit(1.80, -1.4, 0.05, 0.001, 500.0, 500, "", True, 0.02, 0.1)
    for _ in range(3):
        gauge = refine(
            gauge, thickness, wear, 0 * wear, np.ones(n), 0.02, np.arange(n) % 10 + 1900.0
        )
    return gauge


def test_a_coin_is_left_out_of_the_reference_that_it_pulled(rng: np.random.Generator) -> None:
    """Twenty lengths against their own mean: one in twenty beyond 1.96 sd, not one in 26."""
    lengths = rng.normal(30.0, 0.03, (4000, 20))
    beyond, before = 0, 0
    for row in lengths:
        gauge = GaugeFit(row.mean(), 0.0, 0.03, 0.03 / np.sqrt(20), 1e6, 20, "")
        moved = left_out(row, gauge, 0 * row, np.ones(20, np.bool_))
        limit = 1.96 * effective_sd(gauge)
        beyond += int((np.abs(moved - row.mean()) > limit).sum())
        before += int((np.abs(row - row.mean()) > limit).sum())
    low, high = binomtest(beyond, lengths.size).proportion_ci(0.99)
    assert low < 0.05 < high
    assert before < 0.8 * beyond


def test_coins_that_depart_do_not_lift_their_dates(rng: np.random.Generator) -> None:
    """A coin counts for its date's thickness by its chance to be honest."""
    year = np.tile(np.arange(1900.0, 1930.0), 20)
    thick = np.arange(len(year)) % 4 == 0
    residual = rng.normal(0, 0.03, len(year)) + np.where(thick, 0.06, 0.0)
    told = fit_relief(residual, year, np.where(thick, 0.02, 1.0), 0.03)
    untold = fit_relief(residual, year, np.ones(len(year)), 0.03)
    assert told is not None
    assert untold is not None
    assert abs(float(np.average(told.mean_mm, weights=told.coins))) < 0.005
    assert float(np.average(untold.mean_mm, weights=untold.coins)) > 0.01


def _drawn(
    n: int, rng: np.random.Generator, of_wear: Floats = WEAR
) -> tuple[Floats, Floats, Floats]:
    """Honest coins drawn from the model itself: weight as read, diameter, thickness."""
    wear = rng.choice(grid.WEAR, n, p=of_wear) * np.exp(grid.STEP * (rng.random(n) - 0.5))
    sd = np.where(rng.random(n) < TAIL_SHARE, TAIL_TIMES, 1.0) * STRUCK.sd_g
    weight = STRUCK.mean_g(wear) + rng.normal(0, 1, n) * sd + rng.normal(0, U, n)

    def length(gauge: GaugeFit) -> Floats:
        spread = np.where(rng.random(n) < gauge.tail_share, 3.0, 1.0) * gauge.sd_mm
        return gauge.reference_mm + gauge.slope_mm * wear + rng.normal(0, 1, n) * spread

    return np.round(weight / STEP) * STEP, length(DIAMETER), length(THICKNESS)


def _scores(weight: Floats, lengths: Lengths, of_wear: Floats = WEAR) -> Floats:
    n = len(weight)
    low, high, u = weight - STEP / 2, weight + STEP / 2, np.full(n, U)
    given = cells_given_wear(low, high, u, STRUCK) * of_wear
    cell = np.maximum(given.sum(axis=1), 1e-290)
    mean = given @ grid.WEAR / cell
    sd = np.sqrt(np.maximum(given @ np.square(grid.WEAR) / cell - mean**2, 0))
    date = date_wear(np.broadcast_to(of_wear, (n, len(of_wear))))
    terms = component_terms(GROUND, weight_terms(GROUND, low, high, u, date), lengths)
    honest = honest_terms(GROUND, cell, lengths, mean, sd)
    return np.log(terms @ GROUND.box.equal / honest)


def _null(readings: Readings, of_wear: Floats = WEAR, doubt: float = 0.0) -> NullTable:
    classes = of_wear[None, :]
    unlike = grid.spread(classes, UNLIKE_LOG_SD)
    return null_tables(GROUND, GROUND.box.equal, classes, unlike, doubt, readings)[0]


@pytest.mark.slow
@pytest.mark.parametrize("lengths", [True, False])
def test_enumerated_null_agrees_with_drawn_coins(lengths: bool, rng: np.random.Generator) -> None:
    """Honest coins drawn from the model: as many score high as the table says."""
    n = 40_000
    weight, diameter, thickness = _drawn(n, rng)
    nothing = np.full(n, np.nan)
    score = _scores(weight, Lengths(diameter, thickness) if lengths else Lengths(nothing, nothing))
    readings = Readings(lengths, lengths, U, STEP)
    table = _null(readings)
    rate = np.exp(table.log_rate(score))
    for stated in (0.1, 0.01, 0.002):
        found = int(np.count_nonzero(rate <= stated))
        error = np.sqrt(n * stated * (1 - stated))
        assert abs(found - n * stated) < 4 * error + 0.08 * n * stated


def test_rates_never_exceed_what_the_mean_ratio_allows() -> None:
    readings = Readings(True, True, U, STEP)
    table = _null(readings)
    score = np.linspace(-20, 200, 400)
    log_rate = table.log_rate(score)
    assert (np.diff(log_rate) <= 1e-9).all()
    assert (log_rate[score > 0] <= -score[score > 0] + 1e-9).all()
    assert gauge_density(np.array(0.0), 0.0) == pytest.approx(0.39894228, rel=1e-6)


def test_a_tail_learned_from_few_coins_makes_high_scores_less_rare() -> None:
    """Some honest coins worn unlike the others: high scores are met more often, and the more
    so the higher they are."""
    readings = Readings(False, False, U, STEP)
    sure, doubted = (_null(readings, doubt=doubt) for doubt in (0.0, 0.03))
    high = np.linspace(0.5, 4.0, 8)
    more = np.exp(doubted.log_rate(high) - sure.log_rate(high))
    assert (np.diff(more) > 0).all()
    assert 1.0 < more[0] < more[-1] < 2.0


@pytest.mark.parametrize("sd", [0.5, 0.7])
def test_spreading_adds_the_variance_of_log_wear(sd: float) -> None:
    wear = softmax(-0.5 * np.square((grid.LOG_WEAR - np.log(0.01)) / 0.4))
    spread = grid.spread(wear, sd)
    mean = float(spread @ grid.LOG_WEAR)
    assert spread.sum() == pytest.approx(1.0)
    assert mean == pytest.approx(np.log(0.01), abs=0.001)
    variance = float(spread @ np.square(grid.LOG_WEAR - mean))
    assert variance == pytest.approx(0.4**2 + sd**2, rel=0.005)


@pytest.mark.slow
@pytest.mark.parametrize("unlike", [0.3, 0.04])
def test_coins_worn_unlike_the_others_count_at_their_own_scores(
    unlike: float, rng: np.random.Generator
) -> None:
    """A share of coins worn far more, or less, than the fit leads to expect: drawn, and
    scored as the fit has it, as many score high as the table says that was told of them."""
    n = 60_000
    like = softmax(-0.5 * np.square((grid.LOG_WEAR - np.log(0.02)) / 0.2))
    spread = grid.spread(like, UNLIKE_LOG_SD)
    weight, _, _ = _drawn(n, rng, (1 - unlike) * like + unlike * spread)
    nothing = np.full(n, np.nan)
    score = _scores(weight, Lengths(nothing, nothing), like)
    table = _null(Readings(False, False, U, STEP), like, unlike)
    for stated in (0.1, 0.02, 0.005, 0.002):
        limit = np.quantile(score, 1 - stated, method="higher")
        found = int(np.count_nonzero(score >= limit))
        told = n * float(np.exp(table.log_rate(limit)))
        assert abs(found - told) < 4 * np.sqrt(n * stated) + 0.08 * n * stated


def test_shares_of_the_departures_are_recovered(rng: np.random.Generator) -> None:
    found = components(QUARTER)
    honest, brass = 900, 100
    weight, diameter, thickness = _drawn(honest + brass, rng)
    weight[honest:] *= 0.83
    lengths = Lengths(diameter, thickness)
    n = len(weight)
    low, high, u = weight - STEP / 2, weight + STEP / 2, np.full(n, U)
    given = cells_given_wear(low, high, u, STRUCK) * WEAR
    cell = np.maximum(given.sum(axis=1), 1e-290)
    mean = given @ grid.WEAR / cell
    date = DateWear(np.full(n, 0.025), np.full(n, 0.02), np.ones(n))
    terms = component_terms(GROUND, weight_terms(GROUND, low, high, u, date), lengths)
    share, shares = departing_shares(
        honest_terms(GROUND, cell, lengths, mean, np.full(n, 0.002)), terms, GROUND.box.equal
    )
    same_size = sum(s for s, c in zip(shares, found, strict=True) if c.group == "same_size")
    assert share == pytest.approx(0.1, abs=0.02)
    assert same_size > 0.8


def test_pieces_of_the_right_weight_keep_their_share_in_the_score() -> None:
    """They look honest by weight, so the lot counts next to none of them."""
    box = boxes(QUARTER)
    held = np.array([c.group == "same_weight" for c in components(QUARTER)])
    unseen = np.where(held, 0.0, 1.0 / np.count_nonzero(~held))
    scored = score_shares(unseen, box.equal, box.least, 400.0)
    assert scored.sum() == pytest.approx(1.0)
    np.testing.assert_allclose(scored[held], box.equal[held])
    seen = np.where(held, 1.0 / np.count_nonzero(held), 0.0)
    assert score_shares(seen, box.equal, box.least, 400.0)[held].sum() > 0.7


def test_one_odd_coin_does_not_choose_what_the_score_looks_for() -> None:
    box = boxes(QUARTER)
    found = np.zeros(len(box.equal))
    found[0] = 1.0
    nobody, one, many = (score_shares(found, box.equal, box.least, n) for n in (0.0, 1.0, 400.0))
    np.testing.assert_allclose(nobody, box.equal)
    assert one[0] < 0.3 < 0.6 < many[0]


def test_by_weight_alone_the_score_looks_for_the_metals_that_the_lot_holds() -> None:
    """Sixty brass pieces: the other metals of the same size are then looked for less, every
    other departure as before."""
    box = boxes(QUARTER, by_weight=True)
    size = np.array([c.group == "same_size" for c in components(QUARTER, by_weight=True)])
    brass = int(np.argmin(np.abs((box.weight_low + box.weight_high) / 2 - 8.55 / 10.31)))
    nothing = np.zeros(len(size))
    found = nothing.copy()
    found[brass] = 60.0
    shares = within_groups(found, box.equal, box.group, box.told)
    np.testing.assert_allclose(shares[~size], box.equal[~size])
    assert shares[size].sum() == pytest.approx(box.equal[size].sum())
    assert shares[brass] > 0.9 * shares[size].sum()
    assert (shares > 0).all()
    np.testing.assert_allclose(within_groups(nothing, box.equal, box.group, box.told), box.equal)


def test_with_lengths_the_score_looks_for_all_metals_alike() -> None:
    box = boxes(QUARTER)
    found = np.linspace(0.0, 60.0, len(box.equal))
    assert not box.told.any()
    np.testing.assert_allclose(within_groups(found, box.equal, box.group, box.told), box.equal)


def test_a_coin_is_left_out_of_its_dates_thickness(rng: np.random.Generator) -> None:
    """The closed form against the course computed again without the coin."""
    year = np.repeat(np.arange(1900.0, 1930.0), 4)
    residual = rng.normal(0, 0.03, len(year)) + np.where(year < 1916, -0.03, 0.03)
    relief = fit_relief(residual, year, np.ones(len(year)), 0.03)
    assert relief is not None
    assert relief.course_sd_mm > 0
    used = counts(residual, 0.03)
    for coin in (0, 17, 63):
        mean, variance = offsets(relief, year, residual, np.ones(len(year), np.bool_))
        rest = used & (np.arange(len(year)) != coin)
        n = np.array([np.count_nonzero(rest & (year == y)) for y in relief.years], np.float64)
        means = np.array([residual[rest & (year == y)].mean() for y in relief.years])
        without = Relief(relief.years, n, means, relief.sd_mm, relief.course_sd_mm,
                         relief.course_years, relief.own_sd_mm)  # fmt: skip
        slow, doubt = offsets(without, year, residual, np.zeros(len(year), np.bool_))
        assert mean[coin] == pytest.approx(slow[coin], abs=1e-9)
        assert variance[coin] == pytest.approx(doubt[coin], rel=1e-6)
    assert fit_relief(residual[:20], year[:20], np.ones(20), 0.03) is None


def _refined(value_mm: np.ndarray, u_mm: float) -> GaugeFit:
    """A thickness of 1.70 mm learned again from readings of coins that are all honest."""
    n = len(value_mm)
    start = GaugeFit(1.70, -1.2, 0.03, 0.001, 50.0, n, "", True, wear_spread=0.1)
    wear = np.full(n, 0.02)
    return refine(start, value_mm, wear, 0 * wear, np.ones(n), u_mm, np.full(n, 1900.0))


def test_a_coarse_gauge_whose_readings_nearly_all_tie_is_not_taken_for_exact() -> None:
    """Nine coins of ten read 1.7 mm: the tenth, read 1.8 mm, is rounding, not a departure."""
    value = np.where(np.arange(400) % 10 == 0, 1.8, 1.7)
    gauge = _refined(value, 0.06)
    assert gauge.sd_mm >= 0.06
    assert (1.8 - 1.7) / gauge.sd_mm < 2.0


def test_a_fine_gauge_shows_its_own_spread() -> None:
    fine = np.round(1.68 + np.random.default_rng(4).normal(0.0, 0.03, 400), 2)
    assert _refined(fine, 0.02).sd_mm == pytest.approx(0.03, rel=0.15)


def test_the_tail_of_a_gauge_is_learned_where_departing_coins_are_not() -> None:
    """Thick coins leave it as it was; thin readings as well as thick ones make it heavier."""
    spread = np.random.default_rng(6).normal(0.0, 0.03, 1000)
    odd = np.arange(1000) % 40 == 0
    thick = _refined(np.round(1.68 + spread + 0.15 * odd, 2), 0.02)
    either = np.where(np.arange(1000) % 80 == 0, -0.15, 0.15)
    both = _refined(np.round(1.68 + spread + either * odd, 2), 0.02)
    assert thick.tail_share < 0.008 < both.tail_share


def test_diameters_that_all_lie_to_one_side_are_not_all_stray() -> None:
    """The standard holds the reference of a diameter back: where a lot is far off, every
    residual lies to one side, and a share of stray readings told by that side is no share."""
    n = 500
    rng = np.random.default_rng(8)
    start = GaugeFit(24.26, -1.14, 0.02, 0.001, 500.0, n, "", False)
    wear = np.full(n, 0.02)
    value = 24.43 - 1.14 * 0.02 + rng.normal(0.0, 0.01, n)
    for _ in range(12):
        start = refine(start, value, wear, 0 * wear, np.ones(n), 0.01, np.full(n, 1900.0), 24.26)
    assert start.reference_mm == pytest.approx(24.36)
    assert 0.0 < start.tail_share <= 0.2
    assert 0.05 < start.sd_mm < 0.1
