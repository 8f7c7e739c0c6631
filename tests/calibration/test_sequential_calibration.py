"""What the running chart promises, by simulation: seeds fixed, binomial intervals, and
crossings that do happen. Run with ``-m calibration -s`` to see the figures."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from scipy.stats import binomtest

from lotscreen.lot.budget import LOOK
from lotscreen.records import SettingsError
from lotscreen.sequential.back_sums import back_sums
from lotscreen.sequential.cusum import cusum_path
from lotscreen.sequential.exact import exact_curve
from lotscreen.sequential.order import order_statement
from lotscreen.sequential.plan import (
    FALSE_SIGNAL_CHANCE,
    FixedRule,
    LimitsFrom,
    rule_from_earlier_fit,
    rule_from_first_coins,
    rule_from_settings,
)
from lotscreen.sequential.rule import fixed_rule
from lotscreen.sequential.run_length import average_run_length
from lotscreen.sequential.wald import WaldPlan
from lotscreen.settings import Settings

pytestmark = pytest.mark.calibration

BAG = 4000
ALARM_RATE = 0.005
BAGS = 4000
ORDERS = 1200
SETTINGS = Settings()


def _count(what: str, hits: int, runs: int) -> tuple[float, float]:
    """Print a count with its 99.9 % binomial interval and return the interval."""
    interval = binomtest(hits, runs).proportion_ci(0.999, "exact")
    print(f"\n{what}: {hits} of {runs}, {interval.low:.4f} to {interval.high:.4f}")
    return float(interval.low), float(interval.high)


def _decisions(plan: WaldPlan, share: float, bags: int, seed: int) -> np.ndarray:
    """Decision of each bag by the lines alone: 1 measure all, -1 accept, 0 go on."""
    rng = np.random.default_rng(seed)
    coin = np.arange(1, BAG + 1)
    accepting, refusing = plan.acceptance_number(coin), plan.rejection_number(coin)
    found = np.zeros(bags, dtype=int)
    for bag in range(bags):
        count = np.cumsum(rng.random(BAG) < share)
        step = np.where(count >= refusing, 1, np.where(count <= accepting, -1, 0))
        first = int(np.argmax(step != 0))
        found[bag] = step[first]
    return found


@pytest.mark.parametrize("share", [0.005, 0.008, 0.02, 0.05])
def test_exact_figures_against_simulated_bags(share: float) -> None:
    plan = rule_from_settings(SETTINGS, 1.5 * SETTINGS.limit, BAG).wald
    found = _decisions(plan, share, BAGS, seed=31)
    curve = exact_curve(plan, np.array([share]), BAG)
    low, high = _count(f"measure all at {share}", int((found == 1).sum()), BAGS)
    assert low <= curve.measure_all[0] <= high
    low, high = _count(f"accept at {share}", int((found == -1).sum()), BAGS)
    assert low <= curve.accept[0] <= high
    assert (found == 1).any()
    assert (found == -1).any()


def test_an_all_honest_bag_is_rarely_told_to_measure_all() -> None:
    """At an alarm rate of 0.5 %, through the door that the screen uses."""
    rule = rule_from_settings(SETTINGS, ALARM_RATE, BAG, "simulated at random")
    rng = np.random.default_rng(32)
    none, ids, z = np.zeros(BAG, bool), np.full(BAG, "", dtype=object), np.zeros(BAG)
    told = sum(
        fixed_rule(rng.random(BAG) < ALARM_RATE, none, ids, z, rule).decision == "measure all"
        for _ in range(1000)
    )
    _, high = _count("all-honest bag, proper plan: measure all", told, 1000)
    assert high <= 0.05


def test_the_strictest_proper_plan_keeps_its_risk_and_twice_the_rate_costs() -> None:
    """Nothing tolerated: the clean share is the alarm rate itself."""
    plan = WaldPlan(ALARM_RATE, 0.05, 0.05, 0.05)
    assert FixedRule(plan, ALARM_RATE, 0.0, BAG, LimitsFrom.SETTINGS).least_clean_share == 0.005
    told = int((_decisions(plan, ALARM_RATE, BAGS, seed=33) == 1).sum())
    low, high = _count("all-honest bag, nothing tolerated: measure all", told, BAGS)
    assert low > 0.0
    assert high <= 0.05
    twice = int((_decisions(plan, 2 * ALARM_RATE, BAGS, seed=34) == 1).sum())
    low, _ = _count("the same at twice the alarm rate: measure all", twice, BAGS)
    assert low > plan.bound_measure_all  # the loss is real: no promise holds there


def test_the_refused_plan_would_condemn_honest_bags() -> None:
    plan = WaldPlan(0.002, 0.02, 0.05, 0.05)
    with pytest.raises(SettingsError, match=r"in 18\.6 % of cases"):
        FixedRule(plan, ALARM_RATE, 0.0, BAG, LimitsFrom.SETTINGS)
    told = int((_decisions(plan, ALARM_RATE, BAGS, seed=35) == 1).sum())
    low, high = _count("all-honest bag, refused plan: measure all", told, BAGS)
    assert low <= 0.186 <= high
    assert low > 0.05


@pytest.mark.parametrize("worst", [False, True])
def test_unsettled_coins_break_neither_promise(worst: bool) -> None:
    """One coin in twenty unsettled; what they are is hidden, or the worst case: every coin
    that speaks for the truth is among them first."""
    rule = rule_from_settings(SETTINGS, 1.5 * SETTINGS.limit, BAG, "simulated at random")
    plan, bags = rule.wald, 1000
    rng = np.random.default_rng(36)
    ids, z = np.full(BAG, "", dtype=object), np.zeros(BAG)
    wrong = {"measure all": 0, "accept": 0}
    right = {"measure all": 0, "accept": 0}
    cases = ((plan.clean_share, "measure all", "accept"), (plan.bad_share, "accept", "measure all"))
    for share, wrong_word, right_word in cases:
        for _ in range(bags):
            truth = rng.random(BAG) < share
            hidden = rng.random(BAG) < 0.05
            if worst:
                speaks = ~truth if share == plan.clean_share else truth
                hidden &= speaks
            decision = fixed_rule(truth, hidden, ids, z, rule).decision
            wrong[wrong_word] += decision == wrong_word
            right[right_word] += decision == right_word
    for word, bound in (("measure all", plan.bound_measure_all), ("accept", plan.bound_accept)):
        low, _ = _count(f"wrongly told {word}, 5 % unsettled, worst={worst}", wrong[word], bags)
        assert low <= bound
        assert wrong[word] / bags <= bound
    assert right["accept"] > 0
    assert right["measure all"] > 0.5 * bags


def _false_signals(first: int, lots: int, coins: int, seed: int) -> int:
    rng = np.random.default_rng(seed)
    none, ids = np.zeros(coins, bool), np.full(coins, "", dtype=object)
    signals = 0
    for _ in range(lots):
        z = rng.normal(0.0, 1.0, coins)
        if first:
            rule = rule_from_first_coins(SETTINGS, 0.003, coins, z[:first], none[:first])
        else:
            rule = rule_from_earlier_fit(SETTINGS, 0.003, coins)
        chart = fixed_rule(none, none, ids, z, rule)
        signals += max(chart.cusum_up.max(), chart.cusum_down.max()) > chart.cusum_limit
    return signals


@pytest.mark.parametrize("first", [0, 50, 200])
def test_running_sums_signal_falsely_in_as_many_lots_as_printed(first: int) -> None:
    signals = _false_signals(first, 2000, 1000, seed=37 + first)
    low, high = _count(f"false signal of a sum, first coins {first}", signals, 2000)
    assert low <= FALSE_SIGNAL_CHANCE <= high
    assert signals > 0


@pytest.mark.parametrize("coins", [40, 80, 150, 400, 1500])
def test_sums_that_look_back_signal_in_at_most_as_many_orders_as_stated(coins: int) -> None:
    """Skewed by wear, beyond the clip, and on a balance so coarse that few values occur."""
    rng, lots = np.random.default_rng(41 + coins), 6000 if coins < 1000 else 3000
    draws = {
        "normal": partial(rng.normal, size=coins),
        "skewed by wear, some wild": lambda: -(rng.gamma(1.5, 1.0, coins) ** 2),
        "weights to a coarse step": lambda: np.round(rng.normal(size=coins)),
    }
    for name, draw in draws.items():
        found = [back_sums(draw(), LOOK) for _ in range(lots)]
        assert not any(sums is None for sums in found)
        signals = sum(sums is not None and sums.signal_at > 0 for sums in found)
        low, _ = _count(f"sums looking back, {coins} coins, {name}", signals, lots)
        assert low <= LOOK
        for level in (0.01, 0.05):
            below = sum(sums is not None and sums.rate <= level for sums in found)
            low, _ = _count(f"rate at most {level}, {coins} coins, {name}", below, lots)
            assert low <= level
        assert any(sums is not None and sums.rate <= 0.05 for sums in found)


@pytest.mark.parametrize("coins", [80, 400, 1500])
def test_sums_that_look_back_are_not_deaf(coins: int) -> None:
    """A sixth of the coins a standard deviation and a half off, anywhere in the order."""
    rng, lots, heard = np.random.default_rng(45 + coins), 300, 0
    for _ in range(lots):
        z, off = rng.normal(size=coins), coins // 6
        start = int(rng.integers(0, coins - off))
        z[start : start + off] += 1.5
        found = back_sums(z, LOOK)
        heard += found is not None and found.signal_at > 0
    low, _ = _count(f"a sixth of {coins} coins off: noticed by the sums", heard, lots)
    assert low > (0.25 if coins < 100 else 0.9)


def test_run_length_of_clipped_residuals_is_that_simulated() -> None:
    rule = rule_from_earlier_fit(SETTINGS, 0.003, 40)
    assert rule.cusum is not None
    rng = np.random.default_rng(38)
    for shift, coins in ((0.0, 60_000), (1.0, 100)):
        lengths = [
            cusum_path(rng.normal(shift, 1.0, coins), rule.cusum).signal_at for _ in range(1000)
        ]
        assert min(lengths) > 0
        mean, error = np.mean(lengths), np.std(lengths) / np.sqrt(len(lengths))
        computed = average_run_length(rule.cusum, shift)
        print(f"\nmean run length at {shift}: {computed:.2f}, simulated {mean:.2f} +- {error:.2f}")
        assert abs(mean - computed) < 4 * error


@pytest.mark.parametrize("coins", [20, 100, 1000])
def test_an_order_without_pattern_alarms_in_one_lot_of_twenty_at_most(coins: int) -> None:
    rng = np.random.default_rng(39)
    draws = {
        "normal": partial(rng.normal, size=coins),
        "skewed by wear": lambda: -rng.gamma(3.0, 1.0, coins),
        "on a coarse balance": lambda: np.round(rng.normal(size=coins)),
    }
    for name, draw in draws.items():
        alarms = sum(order_statement(draw()).p_value <= 0.05 for _ in range(ORDERS))
        low, _ = _count(f"order alarm, {coins} coins, {name}", alarms, ORDERS)
        assert low <= 0.05
        assert alarms > 0


def test_a_salted_bag_from_the_top_is_accepted_too_early_and_the_order_tells() -> None:
    """Nine coins in a hundred of the bottom third: why the order of the sheet is no draw."""
    rng = np.random.default_rng(40)
    rule = rule_from_settings(SETTINGS, 1.5 * SETTINGS.limit, BAG)
    none, ids = np.zeros(BAG, bool), np.full(BAG, "", dtype=object)
    accepted = drawn_right = warned = 0
    for _ in range(200):
        bad = (np.arange(BAG) >= 2667) & (rng.random(BAG) < 0.09)
        z = rng.normal(size=BAG) - 8.0 * bad
        top = fixed_rule(bad, none, ids, z, rule)
        accepted += top.decision == "accept"
        warned += order_statement(z).p_value <= 0.05
        shuffled = rng.permutation(BAG)
        drawn = fixed_rule(bad[shuffled], none, ids, z, rule)
        drawn_right += drawn.decision == "measure all"
    _count("salted bag from the top: accepted", accepted, 200)
    low, _ = _count("salted bag from the top: the order warns", warned, 200)
    assert accepted == 200
    assert low > 0.9
    _count("salted bag drawn at random: measure all", drawn_right, 200)
    assert drawn_right > 50
