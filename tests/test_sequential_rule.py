"""The running chart: two modes, unsettled coins, refused plans, words."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotscreen.records import SettingsError
from lotscreen.sequential.exact import exact_curve
from lotscreen.sequential.plan import (
    LEAST_FIRST_COINS,
    FixedRule,
    LimitsFrom,
    rule_from_earlier_fit,
    rule_from_first_coins,
    rule_from_settings,
)
from lotscreen.sequential.rule import fixed_rule, looking_back
from lotscreen.sequential.running import RunningChart
from lotscreen.sequential.wald import WaldPlan
from lotscreen.settings import Settings

SETTINGS = Settings()
ALARM_UPPER = 1.5 * SETTINGS.limit
NO_DRAW = "Order of the sheet, not a draw: nothing follows for coins not measured."


def _marks(coins: int, *at: int) -> np.ndarray:
    """True at the coins counted from 1."""
    marks = np.zeros(coins, dtype=bool)
    marks[np.array(at, dtype=int) - 1] = True
    return marks


def _ids(coins: int) -> np.ndarray:
    return np.array([f"coin-{n}" for n in range(1, coins + 1)], dtype=object)


def _chart(set_aside: np.ndarray, unsettled: np.ndarray, rule: FixedRule) -> RunningChart:
    coins = len(set_aside)
    return fixed_rule(set_aside, unsettled, _ids(coins), np.zeros(coins), rule)


def _rule(lot: int = 500, draw: str = "") -> FixedRule:
    return rule_from_settings(SETTINGS, ALARM_UPPER, lot, draw)


def test_the_clean_hypothesis_of_the_settings_is_alarms_plus_tolerated() -> None:
    rule = _rule()
    assert rule.wald == WaldPlan(0.003 + 0.005, 0.05, 0.05, 0.05)
    assert rule.least_clean_share == pytest.approx(0.008)


def test_clean_coins_are_accepted_where_the_line_reaches_nought() -> None:
    rule = _rule()
    chart = _chart(_marks(500), _marks(500), rule)
    first = int(np.ceil(rule.wald.accept_intercept / rule.wald.slope))
    assert (chart.mode, chart.decision, chart.decided_at) == ("fixed rule", "accept", first)
    assert chart.accept_line[first - 1] >= 0.0
    assert np.isnan(chart.accept_line[: first - 1]).all()
    assert chart.coin[-1] == 500
    assert chart.settle_first == ()


def test_coins_set_aside_early_mean_measure_all() -> None:
    chart = _chart(_marks(500, 4, 30, 40), _marks(500), _rule())
    refused_at = int(np.argmax(chart.set_aside_low >= chart.measure_all_line)) + 1
    assert (chart.decision, chart.decided_at) == ("measure all", refused_at)
    assert refused_at == 40
    assert np.isnan(chart.measure_all_line[:1]).all()


def test_the_first_line_reached_decides_and_later_coins_are_named() -> None:
    chart = _chart(_marks(200, *range(150, 181)), _marks(200), _rule())
    assert chart.decision == "accept"
    assert chart.decided_at < 150
    assert any("31 of 200 are set aside in all" in note for note in chart.notes)


def test_unsettled_coins_count_against_either_decision() -> None:
    unsettled = _marks(60, 5, 10, 15, 58)
    chart = _chart(_marks(60), unsettled, _rule())
    assert chart.decision == "go on"
    assert chart.set_aside_low[-1] == 0
    assert chart.set_aside_high[-1] == 4
    # Were 5 and 10 both set aside, coin 10 would decide: the others come later.
    assert chart.settle_first == ("coin-5", "coin-10")
    assert any("Settle 2 of them first" in note for note in chart.notes)
    assert _chart(unsettled, _marks(60), _rule()).decision == "measure all"


def test_unsettled_wins_over_set_aside() -> None:
    chart = _chart(_marks(60, 3), _marks(60, 3), _rule())
    assert (chart.set_aside_low[-1], chart.set_aside_high[-1]) == (0, 1)


def test_all_unsettled_coins_are_named_where_none_could_decide() -> None:
    chart = _chart(_marks(10), _marks(10, 8), _rule())
    assert chart.settle_first == ("coin-8",)


@given(
    marks=st.lists(st.sampled_from(["clean"] * 12 + ["set aside", "unsettled"]), min_size=1),
    seed=st.integers(0, 2**32 - 1),
)
def test_a_decision_stands_however_the_unsettled_coins_turn_out(
    marks: list[str], seed: int
) -> None:
    tight = dataclasses.replace(_rule(), wald=WaldPlan(0.05, 0.3, 0.2, 0.2))
    kinds = np.array(marks, dtype=object)
    set_aside, unsettled = kinds == "set aside", kinds == "unsettled"
    before = _chart(set_aside, unsettled, tight)
    turned_out = set_aside | (unsettled & (np.random.default_rng(seed).random(len(marks)) < 0.5))
    after = _chart(turned_out, np.zeros(len(marks), dtype=bool), tight)
    if before.decision != "go on":
        at = before.decided_at - 1
        if before.decision == "accept":
            assert after.set_aside_high[at] <= after.accept_line[at]
        else:
            assert after.set_aside_low[at] >= after.measure_all_line[at]
        assert 0 < after.decided_at <= before.decided_at
    elif not before.settle_first:
        assert after.decision == "go on"


def test_a_plan_that_counts_honest_alarms_against_the_lot_is_refused_with_the_figure() -> None:
    too_low = WaldPlan(0.002, 0.02, 0.05, 0.05)
    with pytest.raises(SettingsError) as refusal:
        FixedRule(too_low, 0.005, 0.0, 4000, LimitsFrom.SETTINGS)
    share = exact_curve(too_low, np.array([0.005]), 4000).measure_all[0]
    assert f"told 'measure all' in {100 * share:.1f} % of cases" in str(refusal.value)
    assert "it must be at least 0.005" in str(refusal.value)
    assert "0.002" in str(refusal.value)


def test_what_is_tolerated_is_weighed_with_the_chance_to_notice() -> None:
    plan = WaldPlan(0.009, 0.05, 0.05, 0.05)
    rule = FixedRule(plan, 0.005, 0.008, 100, LimitsFrom.SETTINGS, chance_to_notice=0.5)
    assert rule.least_clean_share == pytest.approx(0.009)
    with pytest.raises(SettingsError, match=r"at least 0\.013"):
        FixedRule(plan, 0.005, 0.008, 100, LimitsFrom.SETTINGS)


def test_a_bad_share_among_honest_alarms_is_refused() -> None:
    with pytest.raises(SettingsError, match=r"bad_share is 0\.05; it must be above 0\.08"):
        rule_from_settings(SETTINGS, 0.075, 500)


def test_only_the_fixed_rule_prints_risks_and_the_caution_comes_first() -> None:
    marks = _marks(200, 3, 90)
    fixed = _chart(marks, _marks(200), _rule())
    back = looking_back(marks, _marks(200), "No rule was fixed.")
    assert fixed.notes[0] == NO_DRAW
    assert sum("Risk to measure all" in note for note in fixed.notes) == 1
    assert back.notes[0] == "Looking back over the whole lot: for illustration, promises nothing."
    assert back.notes[1] == "No rule was fixed."
    assert not any("isk" in note for note in back.notes)
    assert (back.decision, back.decided_at, back.settle_first) == ("", 0, ())


def test_a_recorded_draw_changes_the_caution_and_asks_for_no_other() -> None:
    drawn = _chart(_marks(200), _marks(200), _rule(2000, "list of 2,000, seed 7"))
    plain = _chart(_marks(200), _marks(200), _rule(2000))
    assert drawn.notes[0].startswith("Coins drawn at random (list of 2,000, seed 7)")
    assert NO_DRAW not in drawn.notes
    assert "draw 58 at random: if 100 or more" in plain.notes[-1]
    assert not any("at random: if" in note for note in drawn.notes)


def test_printed_risks_are_exact_when_settled_and_bounds_when_not() -> None:
    rule = _rule(4000)
    shares = np.array([rule.wald.clean_share, rule.wald.bad_share])
    curve = exact_curve(rule.wald, shares, 4000)
    settled = " ".join(_chart(_marks(50), _marks(50), rule).notes)
    assert f"with 0.8 % set aside: {100 * curve.measure_all[0]:.3g} %;" in settled
    assert f"with 5 %: {100 * curve.accept[1]:.3g} %" in settled
    assert f"after {np.ceil(curve.average_coins[0]):.0f} coins on average" in settled
    unsettled = " ".join(_chart(_marks(50), _marks(50, 2), rule).notes)
    assert unsettled.count("at most 5.26 %") == 2


def test_no_sums_without_a_centre_fixed_before() -> None:
    chart = _chart(_marks(30), _marks(30), _rule())
    assert np.isnan(chart.cusum_up).all()
    assert np.isnan(chart.cusum_down).all()
    assert np.isnan(chart.cusum_limit)
    assert any("No running sums" in note for note in chart.notes)
    assert not any("not part of the one budget" in note for note in chart.notes)


def test_sums_about_the_centre_of_an_earlier_fit() -> None:
    rule = rule_from_earlier_fit(SETTINGS, ALARM_UPPER, 100)
    z = np.where(np.arange(100) < 40, 0.0, -1.5)
    chart = fixed_rule(_marks(100), _marks(100), _ids(100), z, rule)
    over = int(np.argmax(chart.cusum_down > chart.cusum_limit)) + 1
    assert 40 < over < 55
    assert chart.cusum_up.max() == 0.0
    assert any(f"at counted coin {over}:" in note for note in chart.notes)
    (promise,) = (note for note in chart.notes if "This chance is the rule's own" in note)
    assert "within 100 coins in 1 % of cases at most" in promise


def test_first_coins_fix_the_centre_and_do_not_count() -> None:
    rng = np.random.default_rng(8)
    z = rng.normal(3.0, 2.0, 300)
    set_aside, unsettled = _marks(300, 2, 3, 4, 299), _marks(300, 5)
    z[:4] = 400.0
    first = slice(0, 100)
    rule = rule_from_first_coins(
        SETTINGS, ALARM_UPPER, 300, z[first], (set_aside | unsettled)[first] | _marks(100, 1)
    )
    chart = fixed_rule(set_aside, unsettled, _ids(300), z, rule)
    assert len(chart.coin) == 200
    assert chart.set_aside_high[-1] == 1
    assert chart.cusum_limit == rule.cusum.limit_sd if rule.cusum else False
    assert chart.cusum_down.max() < chart.cusum_limit
    # Another unit of the residuals, and another centre, change nothing.
    other = rule_from_first_coins(
        SETTINGS,
        ALARM_UPPER,
        300,
        10 * z[first] - 7,
        (set_aside | unsettled)[first] | _marks(100, 1),
    )
    again = fixed_rule(set_aside, unsettled, _ids(300), 10 * z - 7, other)
    assert again.cusum_up == pytest.approx(chart.cusum_up, abs=1e-9)


def test_later_coins_never_move_what_was_fixed_before() -> None:
    rng = np.random.default_rng(9)
    z, none = rng.normal(size=300), _marks(300)
    rule = rule_from_first_coins(SETTINGS, ALARM_UPPER, 300, z[:100], none[:100])
    whole = fixed_rule(none, none, _ids(300), z, rule)
    part = fixed_rule(none[:200], none[:200], _ids(200), z[:200], rule)
    assert part.cusum_up.tolist() == whole.cusum_up[:100].tolist()
    assert part.measure_all_line[1:].tolist() == whole.measure_all_line[1:100].tolist()


@pytest.mark.parametrize("first", [LEAST_FIRST_COINS - 1, 300])
def test_too_few_first_coins_or_no_coin_left_are_refused(first: int) -> None:
    z = np.random.default_rng(1).normal(size=first)
    with pytest.raises(SettingsError, match=f"the first {first} coins of 300"):
        rule_from_first_coins(SETTINGS, ALARM_UPPER, 300, z, np.zeros(first, dtype=bool))


def test_first_coins_all_alike_are_refused() -> None:
    with pytest.raises(SettingsError, match="not all alike"):
        rule_from_first_coins(SETTINGS, ALARM_UPPER, 300, np.zeros(60), np.zeros(60, dtype=bool))


def test_a_sheet_shorter_than_the_first_coins_is_refused() -> None:
    z = np.random.default_rng(1).normal(size=60)
    rule = rule_from_first_coins(SETTINGS, ALARM_UPPER, 300, z, np.zeros(60, dtype=bool))
    with pytest.raises(SettingsError, match="the sheet holds 60 coins"):
        _chart(_marks(60), _marks(60), rule)


def test_looking_back_draws_the_limits_of_the_whole_lot() -> None:
    rng = np.random.default_rng(11)
    marks = rng.permutation(np.arange(400) < 40)
    chart = looking_back(marks, _marks(400))
    assert chart.mode == "looking back"
    assert chart.accept_line[-1] == chart.measure_all_line[-1] == chart.set_aside_low[-1] == 40
    middle = chart.coin[199] * 0.1
    sd = np.sqrt(200 * 0.1 * 0.9 * 200 / 399)
    assert chart.measure_all_line[199] == pytest.approx(middle + 3 * sd)
    assert chart.accept_line[199] == pytest.approx(middle - 3 * sd)


@pytest.mark.parametrize("coins", [0, 1, 5])
def test_looking_back_at_a_small_lot(coins: int) -> None:
    chart = looking_back(_marks(coins), _marks(coins))
    assert len(chart.coin) == len(chart.cusum_up) == coins
    assert np.isnan(chart.cusum_limit)


@pytest.mark.parametrize("make", [rule_from_settings, rule_from_earlier_fit])
def test_a_lot_without_coins_has_no_rule(make: Callable[..., FixedRule]) -> None:
    with pytest.raises(SettingsError, match="the sheet holds 0 coins"):
        make(SETTINGS, ALARM_UPPER, 0)


def test_columns_that_do_not_match_are_our_own_fault() -> None:
    with pytest.raises(ValueError, match="one length"):
        fixed_rule(_marks(3), _marks(4), _ids(3), np.zeros(3), _rule())
