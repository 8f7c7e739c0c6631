"""Wald's test of a share: handbook constants, lines, and risks by formula and exactly."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from reference import wald_handbook as handbook

from lotscreen.records import SettingsError
from lotscreen.sequential.exact import exact_curve
from lotscreen.sequential.wald import WaldPlan, wald_approximation

PLAN = WaldPlan(
    handbook.CLEAN_SHARE,
    handbook.BAD_SHARE,
    handbook.RISK_MEASURE_ALL,
    handbook.RISK_ACCEPT,
)
PRACTICALLY_NO_END = 3000


def _share(key: float | None) -> float:
    return PLAN.slope if key is None else key


def test_constants_of_the_handbook_plan() -> None:
    assert PLAN.log_odds_ratio == pytest.approx(handbook.LOG_ODDS_RATIO, abs=5e-10)
    assert PLAN.accept_intercept == pytest.approx(handbook.ACCEPT_INTERCEPT, abs=1e-10)
    assert PLAN.measure_all_intercept == pytest.approx(handbook.MEASURE_ALL_INTERCEPT, abs=1e-10)
    assert PLAN.slope == pytest.approx(handbook.SLOPE, abs=5e-11)
    remembered = (PLAN.accept_intercept, PLAN.measure_all_intercept, PLAN.slope)
    assert remembered == pytest.approx(handbook.FROM_MEMORY, abs=5e-4)


def test_whole_numbers_of_the_handbook_plan() -> None:
    coins = np.arange(1, 101)
    accepting, refusing = PLAN.acceptance_number(coins), PLAN.rejection_number(coins)
    for count, first in handbook.FIRST_ACCEPTING.items():
        assert coins[np.argmax(accepting >= count)] == first
    for number, (first, last) in handbook.REJECTION_NUMBERS.items():
        held = coins[(refusing == number) & (coins >= number)]
        assert (held[0], held[-1]) == (first, last)


@pytest.mark.parametrize("key", handbook.WALD)
def test_walds_approximation(key: float | None) -> None:
    accept, coins = handbook.WALD[key]
    figures = wald_approximation(PLAN, _share(key))
    assert figures.accept == pytest.approx(accept, abs=5.1e-7)
    assert figures.average_coins == pytest.approx(coins, abs=5.1e-4)


def test_walds_approximation_is_smooth_and_has_its_ends() -> None:
    near = [wald_approximation(PLAN, PLAN.slope * (1.0 + d)) for d in (-1e-5, 0.0, 1e-5)]
    assert near[0].accept > near[1].accept > near[2].accept
    assert near[0].average_coins == pytest.approx(near[1].average_coins, rel=1e-4)
    assert wald_approximation(PLAN, 0.0).accept == 1.0
    assert wald_approximation(PLAN, 1e-9).average_coins == pytest.approx(
        wald_approximation(PLAN, 0.0).average_coins, rel=1e-6
    )
    assert wald_approximation(PLAN, 0.999).accept == pytest.approx(0.0, abs=1e-3)
    assert wald_approximation(PLAN, 1.0).accept == 0.0


@pytest.mark.parametrize("key", handbook.EXACT)
def test_exact_figures(key: float | None) -> None:
    accept, coins = handbook.EXACT[key]
    curve = exact_curve(PLAN, np.array([_share(key)]), PRACTICALLY_NO_END)
    assert curve.accept[0] == pytest.approx(accept, abs=5.1e-9)
    assert curve.average_coins[0] == pytest.approx(coins, abs=5.1e-7)
    assert curve.undecided[0] < 1e-12
    share, share_se, mean, mean_se = handbook.SIMULATED[key]
    assert abs(curve.accept[0] - share) < 4 * share_se
    assert abs(curve.average_coins[0] - mean) < 4 * mean_se


def test_exact_figures_are_those_of_every_possible_sequence() -> None:
    """The naive route: all sequences of twelve coins, each with its chance."""
    plan, coins, share = WaldPlan(0.1, 0.5, 0.1, 0.2), 12, 0.3
    numbers = np.arange(1, coins + 1)
    accepting, refusing = plan.acceptance_number(numbers), plan.rejection_number(numbers)
    totals = {"accept": 0.0, "measure all": 0.0, "undecided": 0.0}
    average = 0.0
    for sequence in product((0, 1), repeat=coins):
        chance = share ** sum(sequence) * (1 - share) ** (coins - sum(sequence))
        count, ending, length = 0, "undecided", coins
        for n, set_aside in enumerate(sequence):
            count += set_aside
            if count <= accepting[n] or count >= refusing[n]:
                ending = "accept" if count <= accepting[n] else "measure all"
                length = n + 1
                break
        totals[ending] += chance
        average += chance * length
    curve = exact_curve(plan, np.array([share]), coins)
    assert curve.accept[0] == pytest.approx(totals["accept"], abs=1e-12)
    assert curve.measure_all[0] == pytest.approx(totals["measure all"], abs=1e-12)
    assert curve.undecided[0] == pytest.approx(totals["undecided"], abs=1e-12)
    assert totals["undecided"] > 0.01
    assert curve.average_coins[0] == pytest.approx(average, abs=1e-12)


def test_nothing_is_lost_on_the_way() -> None:
    shares = np.array([0.0, 0.003, 0.02, 0.3, 1.0])
    curve = exact_curve(WaldPlan(0.008, 0.05, 0.05, 0.05), shares, 150)
    total = curve.accept + curve.measure_all + curve.undecided
    assert total == pytest.approx(np.ones(5), abs=1e-12)
    assert np.all(np.diff(curve.accept) <= 0.0)
    assert curve.accept[0] == 1.0
    assert curve.measure_all[-1] == 1.0


def test_exact_risk_stays_below_the_bound_for_any_stop() -> None:
    for plan in (PLAN, WaldPlan(0.008, 0.05, 0.05, 0.05), WaldPlan(0.002, 0.02, 0.01, 0.2)):
        shares = np.array([plan.clean_share, plan.bad_share])
        curve = exact_curve(plan, shares, PRACTICALLY_NO_END)
        assert curve.measure_all[0] <= plan.bound_measure_all
        assert curve.accept[1] <= plan.bound_accept


@pytest.mark.parametrize(
    ("clean", "bad", "first", "second", "named"),
    [
        (0.05, 0.05, 0.05, 0.05, "clean share 0.05, bad share 0.05"),
        (0.0, 0.05, 0.05, 0.05, "clean share 0.0"),
        (0.01, 1.0, 0.05, 0.05, "bad share 1.0"),
        (0.01, 0.05, 0.0, 0.05, "risks 0.0 and 0.05"),
        (0.01, 0.05, 0.6, 0.4, "risks 0.6 and 0.4"),
        (float("nan"), 0.05, 0.05, 0.05, "clean share nan"),
    ],
)
def test_a_plan_out_of_range_is_refused(
    clean: float, bad: float, first: float, second: float, named: str
) -> None:
    with pytest.raises(SettingsError, match=named):
        WaldPlan(clean, bad, first, second)
