"""What a plan promises, by exact curves; whole rolls drawn."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom, hypergeom

from lotscreen.records import SettingsError
from lotscreen.sequential.clusters import roll_draw
from lotscreen.sequential.curve import curve_in_lot
from lotscreen.sequential.goal import (
    Goal,
    accepted_counts,
    accepts,
    lines_of_bets,
    refuses,
)
from lotscreen.sequential.lines import lines_of_counts


def _goal(**changes: float) -> Goal:
    plain = {
        "lot_coins": 2000, "bad_share": 0.05, "notice": 1.0, "risk_accept": 0.05,
        "alarm_rate": 0.003, "tolerated_share": 0.005, "risk_measure_all": 0.05,
    }  # fmt: skip
    return Goal(**{**plain, **changes})  # type: ignore[arg-type]


def test_counts_of_the_two_lots() -> None:
    goal = _goal()
    assert goal.bad_coins == 100
    assert goal.clean_coins == 10 + binom.ppf(0.99, 2000, 0.003)
    assert _goal(bad_share=0.0501).bad_coins == 101
    assert _goal(alarm_rate=0.0).clean_coins == 10


def test_the_lines_are_where_the_bets_are_won() -> None:
    goal = _goal(lot_coins=400)
    lines = lines_of_bets(goal, 400)
    for n in (1, 40, 80, 150, 399):
        accept, refuse = int(lines.accept[n]), int(lines.measure_all[n])
        assert accept < 0 or accepts(goal, n, accept)
        assert not accepts(goal, n, accept + 1)
        assert refuse > n or refuses(goal, n, refuse)
        assert refuse == accept + 1 or not refuses(goal, n, refuse - 1)


@pytest.mark.parametrize("lot", [50, 2000])
@pytest.mark.parametrize("notice", [1.0, 0.8])
def test_the_promises_hold_exactly(lot: int, notice: float) -> None:
    """Bad lots are accepted, clean lots told to measure all, as seldom as promised; and it
    does happen."""
    goal = _goal(lot_coins=lot, notice=notice, bad_share=0.1)
    lines = lines_of_bets(goal, lot)
    noticed = np.arange(lot + 1)
    curve = curve_in_lot(lines, lot, noticed)
    accept_bad = binom.pmf(noticed, goal.bad_coins, notice) @ curve.accept
    assert 0.0 < accept_bad <= 0.05
    alarms = binom.pmf(noticed - round(0.005 * lot + 0.0001), lot, 0.003)
    assert 0.0 < alarms @ curve.measure_all <= 0.05


TRUTHS = "none, clean, bad"
AVERAGE_COINS = {
    (2000, 0.05): ((63.0, 132.0, 105.0), (73.0, 115.0, 84.0)),
    (2000, 0.03): ((106.0, 348.0, 290.0), (147.0, 289.0, 231.0)),
}
"""Mean coins drawn when none, the clean and the bad number would be set aside: by bets, and
by the test of two fixed counts. Computed here; the price of stopping at will."""


@pytest.mark.parametrize(("lot", "share"), sorted(AVERAGE_COINS))
def test_what_stopping_at_will_costs_on_average(lot: int, share: float) -> None:
    goal = _goal(lot_coins=lot, bad_share=share)
    truths = np.array([0, goal.clean_coins, goal.bad_noticed])
    by_bets = curve_in_lot(lines_of_bets(goal, lot), lot, truths)
    by_counts = curve_in_lot(lines_of_counts(goal.two_counts()), lot, truths)
    expected = AVERAGE_COINS[lot, share]
    assert by_bets.average_coins == pytest.approx(expected[0], abs=0.6)
    assert by_counts.average_coins == pytest.approx(expected[1], abs=0.6)


def test_first_coins_that_accept() -> None:
    goal = _goal()
    counts = accepted_counts(lines_of_bets(goal, 2000))
    assert list(counts[:2]) == [63, 131]
    for found, coins in enumerate(counts[:2]):
        assert accepts(goal, int(coins), found)
        assert not accepts(goal, int(coins) - 1, found)
    assert hypergeom.pmf(0, 2000, 100, 58) <= 0.05  # a sample of fixed size needs 58


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"bad_share": 0.0}, "bad share is 0"),
        ({"alarm_rate": 1.0}, "alarm rate is 1"),
        ({"risk_measure_all": 0.0}, "risk is 0"),
        ({"bad_share": 0.011}, "cannot be told apart"),
        ({"notice": 1.2}, "chance to notice is 1.2"),
    ],
)
def test_goals_out_of_reach_are_named(changes: dict[str, float], said: str) -> None:
    with pytest.raises(SettingsError, match=said):
        _goal(**changes).bet  # noqa: B018


def test_rolls_all_alike_say_as_much_as_one_coin_each() -> None:
    roll = np.repeat(np.arange(10), 20)
    draw = roll_draw(np.isin(roll, [3, 7]), roll, 100, 0.05)
    assert draw.likeness == pytest.approx(1.0)
    assert draw.design_effect == pytest.approx(20.0)
    assert draw.effective_coins == pytest.approx(10.0)
    assert "design effect 20.00" in draw.note


def test_coins_spread_over_rolls_cost_nothing() -> None:
    rng = np.random.default_rng(6)
    roll = np.repeat(np.arange(400), 20)
    draw = roll_draw(rng.random(8000) < 0.05, roll, 1000, 0.05)
    assert draw.design_effect == pytest.approx(1.0, abs=0.1)
    assert draw.bound.found == len(
        {
            r
            for r, aside in zip(roll, np.random.default_rng(6).random(8000) < 0.05, strict=True)
            if aside
        }
    )


def test_rolls_without_any_set_aside_bound_rolls_only() -> None:
    roll = np.repeat(np.arange(30), 20)
    draw = roll_draw(np.zeros(600, bool), roll, 100, 0.05)
    assert not draw.estimated
    assert "do not count them as 600" in draw.note
    assert hypergeom.pmf(0, 100, draw.bound.coins + 1, 30) <= 0.05
