"""Wald's test on a mean: exact figures against walks drawn and against his approximations."""

from __future__ import annotations

from math import log

import numpy as np
import pytest

from lotscreen.records import SettingsError
from lotscreen.sequential.mean_test import MeanTest, mean_curve

TEST = MeanTest(0.5, 0.05, 0.10)


@pytest.mark.parametrize("true_sd", [0.0, 0.25, 0.5])
def test_exact_figures_against_walks_drawn(true_sd: float) -> None:
    rng, runs = np.random.default_rng(13), 4000
    passed, coins = 0, 0
    for _ in range(runs):
        ratio = TEST.log_ratio(rng.normal(true_sd, 1.0, 400))
        done = (ratio <= TEST.log_lower) | (ratio >= TEST.log_upper)
        first = int(np.argmax(done))
        passed += ratio[first] <= TEST.log_lower
        coins += first + 1
    curve = mean_curve(TEST, true_sd)
    error = np.sqrt(curve.passes * (1 - curve.passes) / runs)
    assert passed / runs == pytest.approx(curve.passes, abs=4 * error)
    assert coins / runs == pytest.approx(curve.average_coins, rel=0.05)


def test_risks_are_below_walds_and_coins_above_his_approximation() -> None:
    clean, off = mean_curve(TEST, 0.0), mean_curve(TEST, 0.5)
    assert 0.0 < 1.0 - clean.passes < 0.05
    assert 0.0 < off.passes < 0.10
    drift = -0.5 * TEST.shift_sd**2
    wald = (0.95 * log(0.10 / 0.95) + 0.05 * log(0.90 / 0.05)) / drift
    assert wald < clean.average_coins < 1.5 * wald


def test_small_shifts_come_near_walds_approximation() -> None:
    small = MeanTest(0.02, 0.05, 0.05)
    assert 1.0 - mean_curve(small, 0.0).passes == pytest.approx(0.05, abs=0.002)
    assert mean_curve(small, 0.01).passes == pytest.approx(0.5, abs=1e-9)


@pytest.mark.parametrize("wrong", [(0.0, 0.05, 0.05), (0.5, 0.0, 0.05), (0.5, 0.6, 0.5)])
def test_figures_out_of_range_are_named(wrong: tuple[float, float, float]) -> None:
    with pytest.raises(SettingsError, match="shift must be above 0"):
        MeanTest(*wrong)
