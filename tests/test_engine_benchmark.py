"""The benchmark's own parts: its lots, its counting, its table."""

from __future__ import annotations

import time
from dataclasses import fields

import numpy as np
import pytest
from benchmarks.engine import explain, rates
from benchmarks.engine.counts import exact_interval, jackknife, power_at_rate
from benchmarks.engine.lots import COINAGES, READING_SETS, SIX_KINDS, Plan, draw
from benchmarks.engine.more_kinds import CLIPPED_SHARE, MORE_KINDS, chord_depth
from benchmarks.engine.table import WIDTH, Line, Row, printed

from lotscreen.evidence.mechanisms import MECHANISMS
from lotscreen.records import ItemTable
from lotscreen.simulate.bodies import strike
from lotscreen.standards import load_standards


def test_the_same_plan_and_seed_draw_the_same_lot_and_fast():
    plan = Plan("half", "weibull", 4000, 0.3)
    taken = []
    for _ in range(3):
        begin = time.process_time()
        first = draw(plan, 5)
        taken.append(time.process_time() - begin)
    assert min(taken) < 0.05
    again, other = draw(plan, 5), draw(plan, 6)
    for column in (f.name for f in fields(ItemTable)):
        np.testing.assert_array_equal(getattr(first.table, column), getattr(again.table, column))
    assert not np.array_equal(first.table.weight_g, other.table.weight_g)


def test_false_coins_come_in_equal_parts():
    lot = draw(Plan("dime", "gamma", 2000, 0.3), 1)
    assert lot.honest.sum() == 1400
    assert [(lot.kind == kind).sum() for kind in SIX_KINDS] == [100] * 6


def test_coins_half_as_worn_have_lost_half_as_much_at_the_same_dates():
    usual, half = (draw(Plan("quarter", "gamma", 2000, worn=worn), 4) for worn in (1.0, 0.5))
    lost = half.wear_share / usual.wear_share
    assert np.median(lost) == pytest.approx(0.5, abs=0.01)
    np.testing.assert_array_equal(half.table.year, usual.table.year)
    np.testing.assert_allclose(half.levels.depth_mm, 0.5 * usual.levels.depth_mm, rtol=1e-12)


@pytest.mark.parametrize("readings", READING_SETS)
def test_a_set_of_readings_leaves_out_what_it_says_and_moves_no_other_reading(readings: str):
    full = draw(Plan("quarter", "gamma", 500, 0.1), 3).table
    table = draw(Plan("quarter", "gamma", 500, 0.1, readings), 3).table
    np.testing.assert_array_equal(table.weight_g, full.weight_g)
    for got, n, whole in (
        (table.diameter_mm, table.diameter_n, full.diameter_mm),
        (table.thickness_mm, table.thickness_n, full.thickness_mm),
    ):
        read = n == 1
        np.testing.assert_array_equal(got[read], whole[read])
        assert np.isnan(got[~read]).all()
    some = {"weight only": (0, 0), "no diameter": (0, 500), "no thickness": (500, 0)}
    if readings in some:
        assert (table.diameter_n.sum(), table.thickness_n.sum()) == some[readings]
    if readings == "thickness for 30 %":
        assert 110 < table.thickness_n.sum() < 190


def test_dates_are_as_small_as_asked():
    table = draw(Plan("half", "gamma", 400, coins_a_date=(5, 15)), 2).table
    _, count = np.unique(table.year, return_counts=True)
    assert count.max() <= 15
    assert np.sort(count)[1] >= 5
    with pytest.raises(ValueError, match="do not fit"):
        draw(Plan("half", "gamma", 4000, coins_a_date=(5, 15)), 2)


def test_the_clipped_lose_the_share_of_weight_they_are_said_to():
    half = load_standards().get("us-half-1873")
    whole = strike(half, np.full(2000, 1920), (), 0.0, np.random.default_rng(1))
    cut = MORE_KINDS["clipped by weight"].make(whole, np.random.default_rng(2))
    lost = 1.0 - cut.weight_g / whole.weight_g
    low, high = CLIPPED_SHARE
    assert low <= lost.min() < low + 0.001
    assert high - 0.001 < lost.max() <= high + 1e-6
    assert lost.mean() == pytest.approx((low + high) / 2, abs=0.001)
    assert chord_depth(np.array([0.5]))[0] == pytest.approx(0.6)


def test_power_is_the_share_above_the_limit_that_the_rate_allows():
    others = np.array([98.5, 99.5, 97.5, 10.0])
    assert power_at_rate(np.arange(100.0), others, 0.01) == pytest.approx(0.5)
    assert power_at_rate(np.arange(100.0), others, 0.02) == pytest.approx(0.75)


def test_ties_at_the_limit_count_in_part():
    honest = np.array([0.0] * 96 + [1.0] * 4)
    assert power_at_rate(honest, np.array([1.0, 2.0]), 0.01) == pytest.approx((0.25 + 1.0) / 2)
    assert power_at_rate(np.zeros(100), np.zeros(2), 0.01) == pytest.approx(0.01)


def test_the_exact_interval_is_the_published_one():
    # Clopper and Pearson: no event in n gives the upper end 1 - 0.025 ** (1 / n).
    assert exact_interval(0, 29) == pytest.approx((0.0, 1 - 0.025 ** (1 / 29)))
    low, high = exact_interval(10, 100)
    assert (round(low, 4), round(high, 4)) == (0.0490, 0.1762)
    assert exact_interval(0, 0) == (0.0, 1.0)


def test_the_jackknife_of_a_mean_is_its_standard_error():
    values = np.array([1.0, 2.0, 4.0, 9.0])
    value, error = jackknife(lambda some: float(values[list(some)].mean()), 4)
    assert value == 4.0
    assert error == pytest.approx(values.std(ddof=1) / 2)


def test_a_row_is_met_missed_or_open_and_keeps_to_the_width():
    rows = [
        Row("part", "a" * 90, 1.0, (0.9, 1.1), 0.7, 1.3, " x", 2),
        Row("part", "below, but it may be chance", 0.6, (0.4, 0.8), 0.7, 1.3),
        Row("part", "below for certain", 0.5, (0.4, 0.6), 0.7, 1.3),
        Row("part", "nothing asked", 0.5),
        Line("other", "b" * 200),
    ]
    assert [row.verdict for row in rows] == ["met", "open", "MISSED", "", ""]
    assert max(len(line) for line in printed(rows)) <= WIDTH


def test_rates_are_counted_among_the_honest_coins_of_each_group():
    tally = rates.Tally()
    tally.add(("world", "gamma"), np.array([0.0005, 0.005, 0.5, 0.9] * 100))
    row = tally.row("part", ("world", "gamma"), 0.01, 0.4, 2.0)
    assert row.reached == pytest.approx(0.5 / 0.01)
    assert row.verdict == "MISSED"
    assert tally.row("part", ("world", "gamma"), 0.001, None, None).reached == pytest.approx(250)


@pytest.mark.slow
def test_a_small_run_of_the_rates_fills_every_row():
    found = list(rates.rows(rates.Effort(((1, 1), (20, 5)), 1, 60), lambda _: None))
    assert len(found) > 60
    assert max(len(line) for line in printed(found)) <= WIDTH


def test_every_drawn_mechanism_is_one_of_the_engine_and_its_kinds_exist():
    keys = {m.key for m in MECHANISMS}
    assert set(explain.DRAWN_AS) <= keys
    for coinage in COINAGES.values():
        assert load_standards().get(coinage.key).struck_in(coinage.first_year)
