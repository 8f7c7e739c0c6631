"""Draws without replacement: chances, bets, lines and their exact curves."""

from __future__ import annotations

import itertools
from math import log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from reference import alpha_martingale as alpha
from reference import zero_acceptance as fixed
from scipy.special import comb
from scipy.stats import binom, hypergeom

from lotscreen.records import SettingsError
from lotscreen.sequential.anytime import (
    Bet,
    after,
    against,
    log_fortune,
    log_fortune_above,
    no_coin_drawn,
)
from lotscreen.sequential.curve import curve_in_lot, curve_of_shares
from lotscreen.sequential.exact import exact_curve
from lotscreen.sequential.finite import log_chance_in_order
from lotscreen.sequential.lines import (
    Lines,
    TwoCounts,
    cut_off,
    lines_of_counts,
    lines_of_single_sample,
)
from lotscreen.sequential.wald import WaldPlan

LOG_20 = log(20.0)


def _fortune_of_one(drawn: int, found: int) -> float:
    both = np.array([alpha.ALTERNATIVE, alpha.BAD_COINS])
    chances = log_chance_in_order(both, alpha.COINS, drawn, found)
    return float(np.exp(chances[0] - chances[1]))


def test_a_fixed_alternative_is_the_bet_of_the_paper() -> None:
    found = np.cumsum(1 - np.array(alpha.AGREES))
    for n, (count, value) in enumerate(zip(found, alpha.FORTUNE, strict=True), 1):
        assert _fortune_of_one(n, int(count)) == pytest.approx(float(value), rel=1e-12)


def test_the_bet_reaches_its_goal_as_seldom_as_enumeration_says() -> None:
    for goal, chance in alpha.EVER_ABOVE.items():
        accept = [-1] * (alpha.COINS + 1)
        for n in range(1, alpha.COINS + 1):
            winning = [
                x for x in range(min(n, 10) + 1) if n - x <= 10 and _fortune_of_one(n, x) >= goal
            ]
            accept[n] = max(winning, default=-1)
        lines = Lines(np.maximum.accumulate(accept), np.full(alpha.COINS + 1, alpha.COINS + 1))
        curve = curve_in_lot(lines, alpha.COINS, np.array([alpha.BAD_COINS]))
        assert curve.accept[0] == pytest.approx(float(chance), rel=1e-12)


def test_the_bet_of_the_paper_is_fair_at_the_null() -> None:
    """Its mean after eight coins, over all that these may hold, is one."""
    found = np.arange(9)
    chance = hypergeom.pmf(found, alpha.COINS, alpha.BAD_COINS, 8)
    mean = sum(p * _fortune_of_one(8, int(x)) for p, x in zip(chance, found, strict=True))
    assert mean == pytest.approx(1.0, rel=1e-12)


def test_a_null_that_the_draw_rules_out_is_lost_for_certain() -> None:
    bet = Bet(alpha.SMALL_COINS, 0.05)
    bad = np.cumsum(1 - np.array(alpha.SMALL_AGREES))
    assert log_fortune(bet, alpha.SMALL_BAD, alpha.SMALL_COINS, int(bad[-1])) == np.inf
    assert log_fortune(bet, alpha.SMALL_BAD, alpha.SMALL_COINS - 1, int(bad[-2])) < np.inf


def test_coins_that_all_agree_reach_the_goal_where_the_printed_test_says() -> None:
    lot, bad, other = alpha.LONG
    both = np.array([other, bad])
    for n in (alpha.LONG_GOAL_AT - 1, alpha.LONG_GOAL_AT):
        chances = log_chance_in_order(both, lot, n, 0)
        reached = chances[0] - chances[1] >= LOG_20
        assert reached == (n == alpha.LONG_GOAL_AT)


def test_chance_of_none_found() -> None:
    for n, chance in enumerate(alpha.ALL_AGREE, 1):
        log_chance = log_chance_in_order(np.array([alpha.BAD_COINS]), alpha.COINS, n, 0)[0]
        assert np.exp(log_chance) == pytest.approx(float(chance), rel=1e-12)


@pytest.mark.parametrize("notice", [1.0, 0.7, 0.2])
def test_chance_in_order_against_sums_written_out(notice: float) -> None:
    lot, drawn, found = 60, 25, 3
    departing = np.arange(lot + 1)
    expected = [
        sum(binom.pmf(found, j, notice) * hypergeom.pmf(j, lot, d, drawn) for j in range(drawn + 1))
        / comb(drawn, found)
        for d in departing
    ]
    chances = np.exp(log_chance_in_order(departing, lot, drawn, found, notice))
    assert chances == pytest.approx(np.array(expected), rel=1e-9, abs=1e-300)


@pytest.mark.parametrize("notice", [1.0, 0.8])
def test_the_bet_on_numbers_is_a_martingale(notice: float) -> None:
    """Its mean over the next coin is what it is now, at the number that it bets against."""
    bet = Bet(50, 0.05, notice)
    bad = 12
    for drawn, found in ((0, 0), (7, 0), (7, 2), (20, 5)):
        now = log_chance_in_order(np.array([bad]), 50, drawn, found, notice)[0]
        mean = 0.0
        for more in (0, 1):
            later = log_chance_in_order(np.array([bad]), 50, drawn + 1, found + more, notice)[0]
            mean += np.exp(later - now + log_fortune(bet, bad, drawn + 1, found + more))
        assert mean == pytest.approx(np.exp(log_fortune(bet, bad, drawn, found)), rel=1e-9)


def test_the_bet_on_more_is_a_martingale() -> None:
    most = 6
    for drawn, found in ((0, 0), (9, 1), (20, 4)):
        share = (most - found) / (50 - drawn)
        mean = share * np.exp(log_fortune_above(50, most, drawn + 1, found + 1))
        mean += (1 - share) * np.exp(log_fortune_above(50, most, drawn + 1, found))
        assert mean == pytest.approx(np.exp(log_fortune_above(50, most, drawn, found)), rel=1e-9)


FIXED_SIZES = {0.01: (277, 431), 0.02: (143, 225), 0.05: (58, 92)}
"""Lot of 2,000, 95 %: fixed samples with none and with one allowed (hypergeometric)."""


@pytest.mark.parametrize("share", sorted(FIXED_SIZES))
def test_stopping_at_will_costs_at_most_half_as_much_again(share: float) -> None:
    none, one = FIXED_SIZES[share]
    assert none == fixed.DRAWS[2000][fixed.SHARES.index(share)]
    bad, bet = round(2000 * share), Bet(2000, 0.05)
    first = next(n for n in range(1, 2000) if against(bet, bad, n, 0))
    assert none <= first <= 1.5 * none
    bound = no_coin_drawn(bet)
    for n in range(1, 2000):
        bound = after(bound, n, int(n >= 30))
        if bound.coins < bad:
            break
    assert one <= n <= 1.5 * one


def test_the_bound_falls_and_ends_at_what_was_found() -> None:
    rng = np.random.default_rng(4)
    found = np.cumsum(rng.permutation(np.arange(200) < 7))
    bound, last = no_coin_drawn(Bet(200, 0.05)), 200
    for n in range(1, 201):
        bound = after(bound, n, int(found[n - 1]))
        assert found[n - 1] <= bound.coins <= last
        last = bound.coins
    assert last == 7


def test_a_lower_chance_to_notice_widens_the_bound() -> None:
    bounds = [after(no_coin_drawn(Bet(2000, 0.05, s)), 300, 1).coins for s in (1.0, 0.95, 0.8, 0.5)]
    assert bounds == sorted(bounds)
    assert len(set(bounds)) == 4


@given(
    lot=st.integers(2, 60), share=st.floats(0.0, 1.0), drawn=st.floats(0.0, 1.0),
    found=st.floats(0.0, 1.0), notice=st.sampled_from([1.0, 0.9, 0.5]),
)  # fmt: skip
def test_the_bet_grows_with_the_number_and_falls_with_the_found(
    lot: int, share: float, drawn: float, found: float, notice: float
) -> None:
    """What makes one bound of many bets: a number above one that is ruled out is too."""
    bet, n = Bet(lot, 0.05, notice), round(drawn * lot)
    x = round(found * n * share)
    ruled_out = [d for d in range(x + 1, lot + 1) if against(bet, d, n, x)]
    assert ruled_out == list(range(lot + 1 - len(ruled_out), lot + 1))
    if x:
        fortunes = [log_fortune(bet, lot // 2 + 1, n, y) for y in (x - 1, x)]
        assert fortunes[1] <= fortunes[0] + 1e-9 or fortunes[1] == np.inf


def test_curve_against_every_order_of_a_small_lot() -> None:
    lines = lines_of_counts(TwoCounts(12, 1, 5, 0.1, 0.1))
    for departing in range(13):
        totals = np.zeros(4)
        for places in itertools.combinations(range(12), departing):
            totals += (*_walk(lines, places), 1)
        curve = curve_in_lot(lines, 12, np.array([departing]))
        accept, measure_all, coins, orders = totals
        assert curve.accept[0] == pytest.approx(accept / orders, abs=1e-12)
        assert curve.measure_all[0] == pytest.approx(measure_all / orders, abs=1e-12)
        assert curve.average_coins[0] == pytest.approx(coins / orders, rel=1e-12)


def _walk(lines: Lines, places: tuple[int, ...]) -> tuple[int, int, int]:
    found = 0
    for n in range(1, lines.most_coins + 1):
        found += n - 1 in places
        if found <= lines.accept[n]:
            return 1, 0, n
        if found >= lines.measure_all[n]:
            return 0, 1, n
    return 0, 0, lines.most_coins


def test_curve_of_shares_is_that_of_the_dynamic_programme() -> None:
    plan = WaldPlan(0.01, 0.10, 0.05, 0.10)
    coins = np.arange(2001)
    accept = plan.acceptance_number(coins)
    lines = Lines(accept, np.maximum(plan.rejection_number(coins), accept + 1))
    share = np.array([0.0, 0.005, 0.01, plan.slope, 0.1, 0.5, 1.0])
    ours, other = curve_of_shares(lines, share), exact_curve(plan, share, 2000)
    assert ours.accept == pytest.approx(other.accept, abs=1e-12)
    assert ours.measure_all == pytest.approx(other.measure_all, abs=1e-12)
    assert ours.average_coins == pytest.approx(other.average_coins, rel=1e-10)


def test_without_end_the_lot_decides_and_keeps_walds_risks() -> None:
    test = TwoCounts(2000, 20, 100, 0.05, 0.05)
    curve = curve_in_lot(lines_of_counts(test), 2000, np.array([20, 100]))
    assert curve.undecided == pytest.approx(np.zeros(2), abs=1e-9)
    assert 0.0 < curve.measure_all[0] <= 0.05 / 0.95
    assert 0.0 < curve.accept[1] <= 0.05 / 0.95


def test_a_test_cut_off_decides_by_then_and_draws_less() -> None:
    test = TwoCounts(2000, 20, 100, 0.05, 0.05)
    whole = lines_of_counts(test)
    short = cut_off(whole, 120, 3)
    middle = np.array([55])
    long_curve, short_curve = (curve_in_lot(lines, 2000, middle) for lines in (whole, short))
    assert short_curve.undecided[0] == pytest.approx(0.0, abs=1e-12)
    assert short_curve.average_coins[0] < long_curve.average_coins[0]


def test_a_single_sample_curtailed_has_the_curve_of_the_whole_sample() -> None:
    departing = np.array([0, 10, 20, 50, 100])
    curve = curve_in_lot(lines_of_single_sample(80, 2), 1000, departing)
    assert curve.accept == pytest.approx(hypergeom.cdf(2, 1000, departing, 80), abs=1e-12)
    assert curve.average_coins[-1] < 40


def test_a_large_surface_falls_with_the_departing_coins() -> None:
    lines = lines_of_counts(TwoCounts(10_000, 40, 500, 0.05, 0.05))
    curve = curve_in_lot(lines, 10_000, np.linspace(0, 1500, 500).astype(np.int64))
    assert np.all(np.diff(curve.accept) <= 1e-12)
    assert curve.accept[0] == pytest.approx(1.0)
    assert curve.accept[-1] < 1e-3


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (lambda: TwoCounts(100, 5, 5, 0.05, 0.05), "below the second"),
        (lambda: TwoCounts(100, 1, 5, 0.6, 0.5), "sum below 1"),
        (lambda: Bet(0, 0.05), "at least 1"),
        (lambda: Bet(10, 1.5), "risk is 1.5"),
        (lambda: Bet(10, 0.05, 0.0), "above 0"),
    ],
)
def test_figures_out_of_range_are_named(wrong, said: str) -> None:
    with pytest.raises(SettingsError, match=said):
        wrong()


def test_lines_that_cross_are_refused() -> None:
    with pytest.raises(ValueError, match="not below"):
        Lines(np.array([0, 1]), np.array([1, 1]))
