"""Single samples by counting, by measuring, and groups weighed together."""

from __future__ import annotations

import numpy as np
import pytest
from reference import attribute_plans as tables
from reference import group_powers as powers
from reference import variables_plans as variables
from reference import zero_acceptance as zero
from scipy.stats import binom, hypergeom

from lotscreen.records import SettingsError
from lotscreen.sequential.attributes import (
    LIMITS_PERCENT,
    SinglePlan,
    coins_at_chance,
    plan_for_share,
    standard_plan,
)
from lotscreen.sequential.curve import curve_of_shares
from lotscreen.sequential.group_power import (
    Wearing,
    chance_by_rows_and_columns,
    chance_to_notice,
    group_designs,
)
from lotscreen.sequential.lines import lines_of_single_sample
from lotscreen.sequential.samples import coins_of_share, zero_acceptance_coins
from lotscreen.sequential.variables import (
    TwoPoints,
    VariablesPlan,
    plan_sd_known,
    plan_sd_of_sample,
    span_of_k,
)

LETTERS = sorted(tables.PLANS)


@pytest.mark.parametrize(("lots", "letter"), tables.LETTERS.items())
def test_code_letters(lots: tuple[int, int], letter: tuple[str, int]) -> None:
    for lot in lots:
        assert standard_plan(lot, 1.0).lot_letter == letter[0]


@pytest.mark.parametrize("limit", tables.LIMITS)
@pytest.mark.parametrize("letter", LETTERS)
def test_plans_and_arrows_of_the_table(letter: str, limit: float) -> None:
    lot = next(lots[1] for lots, (name, _) in tables.LETTERS.items() if name == letter)
    sizes = {"E": 13, **dict(tables.LETTERS.values()), "N": 500}
    order = sorted(sizes)
    column, at = tables.LIMITS.index(limit), letter
    while True:
        cell = tables.PLANS.get(at, (None,) * 5)[column]
        if cell == tables.UP:
            at = order[order.index(at) - 1]
        elif cell == tables.DOWN:
            at = order[order.index(at) + 1]
        else:
            break
    plan = standard_plan(lot, limit)
    assert (plan.letter, plan.coins) == (at, sizes[at])
    assert cell is None or plan.acceptance_number == cell


def test_every_lot_and_limit_has_a_plan() -> None:
    for lot in (2, 9, 30, 60, 100, 2000, 10**5, 10**6):
        for limit in LIMITS_PERCENT:
            plan = standard_plan(lot, limit)
            assert 0 < plan.coins <= lot
            assert plan.acceptance_number >= 0
    assert standard_plan(5, 0.065).coins == 5  # the sample is larger than the lot: all


@pytest.mark.parametrize("plan", sorted(tables.OC))
def test_operating_characteristic_of_a_plan(plan: tuple[int, int, int]) -> None:
    lot, coins, allowed = plan
    departing = np.round(np.array(tables.SHARES) * lot).astype(np.int64)
    chances = SinglePlan(lot, coins, allowed).chance_to_accept(departing)
    assert chances == pytest.approx(tables.OC[plan], abs=6e-9)
    endless = curve_of_shares(lines_of_single_sample(coins, allowed), np.array(tables.SHARES))
    assert endless.accept == pytest.approx(tables.OC_ENDLESS[coins, allowed], abs=6e-9)


@pytest.mark.parametrize("lot", sorted(zero.DRAWS))
def test_samples_with_none_allowed(lot: int) -> None:
    for share, coins in zip(zero.SHARES, zero.DRAWS[lot], strict=True):
        bad = coins_of_share(lot, share)
        assert plan_for_share(lot, bad, 0, zero.RISK).coins == coins
        assert zero_acceptance_coins(lot, bad, zero.RISK) == coins


@pytest.mark.parametrize(("bad", "coins"), [(20, 431), (40, 225), (100, 92)])
def test_samples_with_one_allowed(bad: int, coins: int) -> None:
    assert plan_for_share(2000, bad, 1, 0.05).coins == coins


def test_a_sample_with_some_allowed_is_the_smallest() -> None:
    plan = plan_for_share(500, 25, 3, 0.1)
    assert hypergeom.cdf(3, 500, 25, plan.coins) <= 0.1 < hypergeom.cdf(3, 500, 25, plan.coins - 1)
    most = coins_at_chance(plan, 0.95)
    chances = plan.chance_to_accept(np.array([most, most + 1]))
    assert chances[0] >= 0.95 > chances[1]


POINTS = TwoPoints(
    variables.GOOD, variables.RISK_REFUSE, variables.BAD, variables.RISK_ACCEPT
)  # fmt: skip


def test_variables_plan_sd_known() -> None:
    plan = plan_sd_known(POINTS)
    assert plan.coins == variables.COINS_KNOWN
    assert plan.k == pytest.approx(variables.K_KNOWN, abs=1e-10)


def test_variables_plan_sd_of_the_sample() -> None:
    plan = plan_sd_of_sample(POINTS)
    assert plan.coins == variables.COINS_UNKNOWN
    assert span_of_k(POINTS, plan.coins) == pytest.approx(
        (variables.LEAST_K, variables.MOST_K), abs=1e-7
    )
    least, most = span_of_k(POINTS, plan.coins - 1)
    assert least > most
    assert plan.chance_to_accept(POINTS.bad) == pytest.approx(POINTS.risk_accept, abs=1e-9)


@pytest.mark.parametrize("plan", sorted(variables.CHANCES))
def test_chances_of_variables_plans(plan: tuple[int, float, bool]) -> None:
    chances = [VariablesPlan(*plan).chance_to_accept(p) for p in (POINTS.good, POINTS.bad)]
    assert chances == pytest.approx(variables.CHANCES[plan], abs=1e-6)


@pytest.mark.parametrize("coins", sorted(variables.K_OF_414))
def test_printed_k_at_the_limit_itself(coins: int) -> None:
    plan = VariablesPlan(coins, variables.K_OF_414[coins], False)
    assert plan.chance_to_accept(0.01) == pytest.approx(variables.CHANCE_OF_414[coins], abs=1e-6)


@pytest.mark.parametrize("coin", sorted(powers.COINS))
def test_power_of_groups(coin: str) -> None:
    """The figures to compare with have two decimals and the noise of a simulation."""
    plain = Wearing(*powers.COINS[coin], 0.01)
    chances = [chance_to_notice(plain, n, powers.LIGHTER, powers.ALARM) for n in powers.SIZES]
    assert chances == pytest.approx(powers.CHANCES[coin], abs=0.02)
    if coin in powers.COARSE:
        coarse = Wearing(*powers.COINS[coin], 0.1)
        chance = chance_to_notice(coarse, 5, powers.LIGHTER, powers.ALARM)
        assert chance == pytest.approx(powers.COARSE[coin], abs=0.005)


def test_power_of_a_group_against_weighings_drawn() -> None:
    rng = np.random.default_rng(9)
    coins, group, runs = Wearing(12.5, 0.015, 0.1), 20, 40_000
    loss = rng.gamma(2.0, 0.0075, (2 * runs, group))
    error = rng.normal(0.0, 0.1 / 12.5, 2 * runs)
    honest = loss[:runs].sum(axis=1) + error[:runs]
    odd = loss[runs:, 1:].sum(axis=1) + 0.175 + error[runs:]
    noticed = int((odd > np.quantile(honest, 0.98)).sum())
    chance = chance_to_notice(coins, group, 0.175, 0.02)
    # the limit drawn has an error of its own: three of its standard errors are allowed for
    low, high = binom.interval(0.999, runs, chance)
    assert low - 0.01 * runs <= noticed <= high + 0.01 * runs


def test_designs_offered() -> None:
    coins = Wearing(12.5, 0.015, 0.05)
    designs = group_designs(coins, 2000, 0.175, 0.02)
    assert [(d.size, d.groups) for d in designs] == [
        (5, 400), (10, 200), (20, 100), (50, 40), (10, 400)
    ]  # fmt: skip
    single = chance_to_notice(coins, 10, 0.175, 0.02)
    assert chance_by_rows_and_columns(coins, 10, 0.175, 0.02) == pytest.approx(single**2)
    assert [d.size for d in group_designs(coins, 30, 0.175, 0.02)] == [5, 10, 20]
    assert chance_to_notice(Wearing(12.5, 0.015, 0.0), 1, 0.175, 0.02) == 1.0


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (lambda: standard_plan(100, 1.1), "not on file"),
        (lambda: standard_plan(1, 1.0), "lot has 1 coins"),
        (lambda: plan_for_share(100, 2, 2, 0.05), "2 set aside allowed"),
        (lambda: TwoPoints(0.06, 0.05, 0.01, 0.1), "must be above 0, rising"),
        (lambda: plan_sd_of_sample(TwoPoints(0.01, 0.05, 0.01001, 0.1)), "more than 100000"),
        (lambda: Wearing(12.5, 0.0, 0.1), "loss between 0 and 1"),
    ],
)
def test_figures_out_of_range_are_named(wrong, said: str) -> None:
    with pytest.raises(SettingsError, match=said):
        wrong()
