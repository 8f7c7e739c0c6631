"""Runs and change-point by depth: published data, ends, and the salted order."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from reference import change_point_nile as nile_paper
from reference import runs_lew
from statsmodels.datasets import nile
from statsmodels.sandbox.stats.runs import runstest_1samp

from lotscreen.sequential.order import LEAST_COINS, order_statement, unevenness


def test_runs_of_the_beam_deflections() -> None:
    readings = np.array(runs_lew.READINGS)
    assert readings.mean() == pytest.approx(runs_lew.MEAN, abs=1e-12)
    assert readings.std(ddof=1) == pytest.approx(runs_lew.DEVIATION, abs=1e-11)
    assert np.median(readings) == runs_lew.MEDIAN
    runs = order_statement(readings).runs
    assert runs is not None
    assert (runs.runs, runs.expected_runs) == (runs_lew.RUNS, runs_lew.EXPECTED_RUNS)
    assert runs.z == pytest.approx(runs_lew.SCORE, abs=5.1e-11)
    assert round(runs.z, 2) == runs_lew.SCORE_PUBLISHED


@pytest.mark.parametrize("coins", [20, 49, 51, 300])
def test_runs_agree_with_another_implementation(coins: int) -> None:
    values = np.random.default_rng(coins).normal(size=coins)
    runs = order_statement(values).runs
    assert runs is not None
    z, p = runstest_1samp(values, cutoff="median", correction=coins < 50)
    assert (runs.z, runs.p_value) == pytest.approx((z, p), abs=1e-12)


def test_change_of_the_flow_of_the_nile() -> None:
    flow = nile.load_pandas().data
    volume = flow["volume"].to_numpy()
    statement = order_statement(volume)
    change = statement.change
    assert change is not None
    assert change.coins_before == nile_paper.COINS_BEFORE
    assert change.statistic == nile_paper.STATISTIC
    assert change.p_value == pytest.approx(nile_paper.P_VALUE, abs=5.1e-11)
    assert flow["year"][statement.last_before] == nile_paper.LAST_YEAR_OF_OLD_FLOW
    assert change.earliest == nile_paper.INTERVAL[0]
    assert change.latest == pytest.approx(nile_paper.INTERVAL[1], abs=1)
    before, after = volume[: change.coins_before], volume[change.coins_before :]
    assert before.mean() == pytest.approx(nile_paper.MEAN_BEFORE, abs=5e-3)
    assert after.mean() == pytest.approx(nile_paper.MEAN_AFTER, abs=5e-5)
    assert (change.median_before, change.median_after) == (np.median(before), np.median(after))


def test_the_interval_holds_the_change_as_often_as_it_says() -> None:
    rng, held = np.random.default_rng(12), 0
    for _ in range(300):
        change = order_statement(np.append(rng.normal(0, 1, 60), rng.normal(1.2, 1, 60))).change
        assert change is not None
        held += change.earliest <= 60 <= change.latest
    assert 0.9 * 300 <= held < 300


def test_p_values_allow_for_two_looks() -> None:
    statement = order_statement(nile.load_pandas().data["volume"].to_numpy())
    assert statement.runs is not None
    assert statement.change is not None
    smaller, larger = sorted((statement.runs.p_value, statement.change.p_value))
    assert statement.p_value == 2 * smaller == statement.change_p_corrected
    assert statement.runs_p_corrected == max(2 * smaller, larger)
    assert "has a pattern" in statement.note


def test_coins_without_residual_are_passed_over() -> None:
    values = np.concatenate([np.zeros(20), np.full(20, 5.0)]) + np.tile([0.0, 0.1], 20)
    gaps = np.insert(values, [0, 10, 20], np.nan)
    plain, gapped = order_statement(values), order_statement(gaps)
    assert (plain.coins, gapped.coins) == (40, 40)
    assert plain.change == gapped.change
    assert (plain.last_before, gapped.last_before) == (19, 21)


def test_a_salted_bag_shows_from_top_to_bottom_and_not_when_drawn() -> None:
    rng = np.random.default_rng(10)
    depth = np.arange(4000)
    z = rng.normal(size=4000)
    z[(depth >= 2667) & (rng.random(4000) < 0.09)] -= 8.0
    from_the_top = order_statement(z)
    assert from_the_top.p_value < 0.001
    # One coin in eleven moves the ranks little: the place is known to some hundred coins.
    assert 1900 < from_the_top.last_before < 3400
    drawn = order_statement(z[rng.permutation(4000)])
    assert drawn.p_value > 0.05
    assert "no pattern" in drawn.note


@pytest.mark.parametrize(
    "values",
    [
        np.zeros(0),
        np.arange(float(LEAST_COINS - 1)),
        np.full(100, 1.5),
        np.full(100, np.nan),
    ],
)
def test_what_cannot_be_asked_is_not_asked(values: np.ndarray) -> None:
    statement = order_statement(values)
    assert statement.runs is None
    assert statement.change is None
    assert (statement.p_value, statement.last_before) == (1.0, -1)
    assert f"at least {LEAST_COINS}" in statement.note


def test_marked_coins_that_lie_together_are_told_from_those_spread() -> None:
    """Against every order of a small lot, and where a share of three in a hundred hides."""
    marks = np.zeros(9, bool)
    marks[[6, 7, 8]] = True
    far = [
        max(abs(sum(p < n for p in places) / 3 - (n - sum(p < n for p in places)) / 6)
            for n in range(1, 10))
        for places in itertools.combinations(range(9), 3)
    ]  # fmt: skip
    rare, place = unevenness(marks)
    assert rare == pytest.approx(np.mean(np.array(far) >= max(far) - 1e-12), abs=1e-12)
    assert place == 6
    salted = np.zeros(2000, bool)
    salted[1400::10] = True
    rng = np.random.default_rng(3)
    assert unevenness(salted)[0] < 1e-6
    assert unevenness(rng.permutation(salted))[0] > 0.01
    assert unevenness(np.zeros(20, bool)) == unevenness(np.ones(20, bool)) == (1.0, 0)
