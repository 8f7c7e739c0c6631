"""Rolls and grades with levels of wear of their own: against brute force, and in small lots."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binomtest
from type_lots import STANDARDS, table_of

from lotscreen.evidence import judge
from lotscreen.lot.own_levels import level_notes
from lotscreen.records import Findings, Ints, ItemTable
from lotscreen.settings import Settings
from lotscreen.simulate import CoinSpec, KindCount, LotSpec, Wear, draw_lot
from lotscreen.wear import Fit, TypeFit, false_part, fit, grid
from lotscreen.wear.fit import usable_coins
from lotscreen.wear.grades import grade_loss
from lotscreen.wear.group_levels import STEPS, departed
from lotscreen.wear.offsets import group_log_likelihood, groups_of, pooled_groups
from lotscreen.wear.predict import predictor
from lotscreen.wear.saved import fit_from_dict, fit_to_dict
from lotscreen.wear.standing import Standing, coin_rows
from lotscreen.wear.strata import strata_of
from lotscreen.wear.struck import TAIL_SHARE, TAIL_TIMES, Struck

SETTINGS = Settings()
HALF = "us-half-1873"
YEARS = tuple(range(1900, 1961))
ASIDE = ("set aside", "not consistent")


def _halves(count: int, depth_um: float, *kinds: KindCount) -> CoinSpec:
    return CoinSpec(STANDARDS.get(HALF), HALF, count, YEARS, 1965, Wear("gamma", depth_um),
                    kinds=kinds)  # fmt: skip


def _screened(table: ItemTable) -> tuple[Fit, Findings]:
    fitted = fit(table, STANDARDS, SETTINGS, 0)
    return fitted, judge(table, fitted, SETTINGS)


def _rolls(seed: int, *specs: CoinSpec, lengths: bool = True, log_sd: float = 0.0) -> ItemTable:
    spec = LotSpec(specs, shuffled=False, roll_size=20, roll_log_sd=log_sd)
    return table_of(draw_lot(spec, seed), HALF, lengths)


def _without_groups(table: ItemTable) -> ItemTable:
    return replace(table, group=np.full(len(table), "", object))


def _same(one: Findings, other: Findings) -> None:
    for name in ("finding", "p_value", "log10_lr", "expected_weight_g", "reason"):
        np.testing.assert_array_equal(getattr(one, name), getattr(other, name))


# --- second routes ---------------------------------------------------------------------


def test_the_departures_of_groups_agree_with_a_sum_over_all_cases() -> None:
    """Three groups: every prior and every departure of every group, summed one by one."""
    rng = np.random.default_rng(5)
    log_likelihood = rng.normal(0.0, 1.0, (3, len(STEPS)))
    log_likelihood -= 0.5 * np.square((STEPS - np.array([[0], [10], [4]])) / 4.0)
    found = pooled_groups(("a", "b", "c"), np.full(3, 20.0), log_likelihood)
    priors = []
    for share in (0.03, 0.1, 0.3, 1.0):
        for spread in (0.12, 0.25, 0.5):
            bell = [math.exp(-0.5 * (grid.STEP * int(k) / spread) ** 2) for k in STEPS]
            priors.append([
                share * b / sum(bell) + (1 - share) * (k == 0)
                for k, b in zip(STEPS, bell, strict=True)
            ])  # fmt: skip
    own, posterior = 0.0, np.zeros((3, len(STEPS)))
    for prior in priors:
        each = np.exp(log_likelihood) * np.array(prior)
        whole = float(np.prod(each.sum(axis=1)))
        own += whole / len(priors)
        posterior += whole / len(priors) * each / each.sum(axis=1, keepdims=True)
    none = float(np.prod(np.exp(log_likelihood[:, list(STEPS).index(0)])))
    posterior[:, list(STEPS).index(0)] += none
    np.testing.assert_allclose(found.posterior, posterior / (own + none), rtol=1e-9)
    assert found.log_evidence == pytest.approx(math.log(own / none), rel=1e-9)


def test_a_coin_is_left_out_of_date_and_group_in_one_division() -> None:
    """Posterior of level and departure together, the coin's factor divided out of each pair,
    summed to the level of its group."""
    rng = np.random.default_rng(6)
    level = np.exp(-0.5 * np.square((np.arange(grid.LEVELS) - 90.0) / 6.0))
    level /= level.sum()
    chance = rng.dirichlet(np.ones(len(STEPS)))
    factor = rng.uniform(0.1, 2.0, grid.LEVELS)
    pairs = np.zeros(grid.LEVELS)
    for at, one in enumerate(level):
        for k, other in zip(STEPS, chance, strict=True):
            place = min(max(at + int(k), 0), grid.LEVELS - 1)
            pairs[place] += one * other / factor[place]
    found = departed(level, chance) / factor
    np.testing.assert_allclose(found / found.sum(), pairs / pairs.sum(), rtol=1e-9, atol=1e-15)


def test_strata_move_likelihood_and_level_by_their_steps() -> None:
    strata, which = strata_of(np.array([0, 0, 1, 0]), np.array([0, 3, -2, 3]))
    assert which.tolist() == [0, 1, 2, 1]
    rising = np.tile(np.arange(grid.LEVELS, dtype=float), (3, 1))
    dates = strata.to_dates(rising, 2)
    assert dates[0, 50] == 50 + 53
    assert dates[1, 50] == 48
    peak = np.zeros((2, grid.LEVELS))
    peak[:, 60] = 1.0
    assert strata.to_rows(peak).argmax(axis=1).tolist() == [60, 63, 58]


def test_the_likelihood_of_a_roll_agrees_with_plain_quadrature() -> None:
    """A lot of 30: the log likelihood of departures of one roll, coin by coin, level by
    level, wear by wear, with the error function alone (which knows nothing of the extra
    spread by which the fit smooths the coarse end of its grid: hence thousandths)."""
    table = _rolls(3, _halves(30, 0.6), lengths=False)
    table = replace(table, group=np.where(np.arange(30) < 24, "1", "2").astype(object))
    type_fit = fit(_without_groups(table), STANDARDS, SETTINGS, 0).types[HALF]
    groups = groups_of(table)
    assert groups is not None
    rows = coin_rows(table, None, np.ones(len(table), np.bool_))
    cell = predictor(type_fit).predict(rows).cell
    found = group_log_likelihood(type_fit, rows, groups, cell, np.zeros(30))[1]
    some = [-20, -7, 0, 6, 15]
    brute = np.array([_by_quadrature(type_fit, table, np.arange(24, 30), k) for k in some])
    at = [list(STEPS).index(k) for k in some]
    np.testing.assert_allclose(found[at] - found[at[2]], brute - brute[2], atol=5e-3)


def _by_quadrature(type_fit: TypeFit, table: ItemTable, rows: Ints, steps: int) -> float:
    struck, coin_type = type_fit.struck, type_fit.coin_type
    across = coin_type.diameter_mm or math.nan
    thick = 1000 * coin_type.weight_g / coin_type.density_g_cm3 / (math.pi / 4 * across**2)
    slick = 1 - (across - 0.16) ** 2 * (thick - 0.16) / (across**2 * thick)
    most, total = len(grid.WEAR) - 1, 0.0
    for i in rows:
        u = math.hypot(table.weight_u_g[i], struck.shift_sd * struck.weight_g)
        given = [_cell(table, int(i), float(w), struck, u) for w in grid.WEAR]
        legible = [0.5 * math.erfc(math.log(w / slick) / 0.08 / 2**0.5) for w in grid.WEAR]
        known = [type_fit.slick_known + (1 - type_fit.slick_known) * x for x in legible]
        plain, moved, here_all, away_all = np.zeros((4, grid.LEVELS))
        for at in range(grid.LEVELS):
            for offset, chance in zip(grid.OFFSETS, type_fit.shape, strict=True):
                here = min(max(at + int(offset), 0), most)
                plain[at] += chance * known[here] * given[here]
                here_all[at] += chance * known[here]
                away = min(max(at + steps, 0), grid.LEVELS - 1) + int(offset)
                away = min(max(away, 0), most)
                moved[at] += chance * known[away] * given[away] * legible[away]
                away_all[at] += chance * known[away]
        plain, moved = plain / here_all, moved / away_all
        strip = false_part.strip_probabilities(
            table.weight_low_g[[i]], table.weight_high_g[[i]], coin_type.weight_g
        )
        mixed = (1 - type_fit.false_share) * plain
        mixed += type_fit.false_share * float((strip @ type_fit.strips)[0])
        level = type_fit.date_posterior[list(type_fit.date_years).index(table.year[i])]
        level = level / np.maximum(mixed / mixed.max(), 1e-9)
        total += math.log(float(level @ moved) / level.sum())
    return total


def _cell(table: ItemTable, i: int, wear: float, struck: Struck, u: float) -> float:
    mean = struck.weight_g * (1 + struck.shift) * (1 - wear)
    found = 0.0
    for part, times in ((1 - TAIL_SHARE, 1.0), (TAIL_SHARE, TAIL_TIMES)):
        sd = math.hypot(times * struck.sd_g, u) * 2**0.5
        found += part * 0.5 * (
            math.erf((table.weight_high_g[i] - mean) / sd)
            - math.erf((table.weight_low_g[i] - mean) / sd)
        )  # fmt: skip
    return found


# --- rolls -----------------------------------------------------------------------------


@pytest.mark.slow
def test_rolls_worn_twice_as_much_are_judged_by_their_own_wear() -> None:
    """A third of the rolls from a source worn twice as much: told, and their coins are
    alarmed less often than by their dates alone, at a rate that three times the limit
    explains (exact binomial 95 % interval): by weight alone a roll's own level is known
    only so well."""
    worn, alarms = np.arange(600) >= 400, {"rolls": 0, "dates alone": 0}
    for seed in range(1, 11):
        table = _rolls(seed, _halves(400, 0.5), _halves(200, 1.0), lengths=False)
        fitted, found = _screened(table)
        levels = fitted.types[HALF].groups
        assert levels is not None
        assert levels.told
        number = np.array([int(name.strip()) for name in levels.names])
        assert levels.factors()[number > 20].mean() > 1.2 * levels.factors()[number <= 20].mean()
        alarms["rolls"] += int((found.p_value[worn] <= 0.01).sum())
        alone = _screened(_without_groups(table))[1]
        alarms["dates alone"] += int((alone.p_value[worn] <= 0.01).sum())
    assert binomtest(alarms["rolls"], 2000).proportion_ci(method="exact").low <= 0.03
    assert alarms["dates alone"] > 1.1 * alarms["rolls"]


@pytest.mark.parametrize("lengths", [True, False], ids=["all readings", "weight only"])
def test_a_roll_with_three_in_ten_of_base_metal_does_not_excuse_them(lengths: bool) -> None:
    salted = _halves(20, 0.38, KindCount("brass, right size", 6))
    table = _rolls(1, _halves(380, 0.38), salted, lengths=lengths, log_sd=0.2)
    key = draw_lot(LotSpec((_halves(380, 0.38), salted), shuffled=False, roll_size=20,
                           roll_log_sd=0.2), 1).key  # fmt: skip
    brass = (key["true_kind"] == "brass, right size").to_numpy()
    fitted, found = _screened(table)
    assert np.isin(found.finding[brass], ASIDE).all()
    assert fitted.types[HALF].groups.factors()[list(fitted.types[HALF].groups.names).index(
        "\t20")] < 1.3  # fmt: skip


@pytest.mark.parametrize("lengths", [True, False], ids=["all readings", "weight only"])
@pytest.mark.parametrize("seed", [1, 2])
def test_a_roll_of_nothing_but_base_metal_is_not_excused(lengths: bool, seed: int) -> None:
    false_roll = _halves(20, 0.38, KindCount("brass, right size", 20))
    table = _rolls(seed, _halves(380, 0.38), false_roll, lengths=lengths, log_sd=0.2)
    fitted, found = _screened(table)
    alone = _screened(_without_groups(table))[1]
    set_aside = np.isin(found.finding[380:], ASIDE).sum()
    assert set_aside >= np.isin(alone.finding[380:], ASIDE).sum() - 1
    assert set_aside >= 19
    assert (found.p_value[380:] <= 0.01).all()
    levels = fitted.types[HALF].groups
    assert levels.factors()[levels.names.index("\t20")] < 1.3


def test_without_groups_of_five_nothing_changes() -> None:
    table = _rolls(4, _halves(60, 0.5))
    pairs = replace(table, group=np.array([str(i // 2) for i in range(60)], object))
    one = replace(table, group=np.full(60, "1", object))
    plain = _screened(_without_groups(table))[1]
    for groups in (pairs, one):
        fitted, found = _screened(groups)
        assert fitted.types[HALF].groups is None
        _same(found, plain)


def test_another_lots_roll_of_the_same_number_is_another_roll() -> None:
    table = _rolls(1, _halves(400, 0.5), _halves(200, 1.0), lengths=False)
    fitted = fit(table, STANDARDS, SETTINGS, 0)
    known = fitted.types[HALF]
    assert known.groups.told
    own = coin_rows(table, known, np.ones(600, np.bool_))
    unknown = coin_rows(table, known, np.zeros(600, np.bool_))
    assert len(set(own.group.tolist())) == 30
    assert set(unknown.group.tolist()) == {-2}
    tables = predictor(known)
    spread = tables.wear(Standing(1930.0, -2)) @ np.square(grid.WEAR)
    assert spread > tables.wear(1930.0) @ np.square(grid.WEAR)


def test_levels_of_rolls_and_grades_are_saved_and_loaded() -> None:
    spec = LotSpec((_halves(200, 0.6),), roll_size=20, roll_log_sd=0.5, graded=0.3)
    table = table_of(draw_lot(spec, 2), HALF)
    fitted, found = _screened(table)
    assert fitted.types[HALF].groups.matter
    again = fit_from_dict(fit_to_dict(fitted))
    _same(judge(table, again, SETTINGS), found)
    plain = fit_to_dict(_screened(replace(_without_groups(table),
                                          grade=np.full(200, "", object)))[0])  # fmt: skip
    assert not {"groups", "grades"} & set(plain["types"][HALF])


def test_the_statement_says_whether_rolls_and_grades_have_own_levels() -> None:
    spec = LotSpec((_halves(400, 0.6),), roll_size=20, roll_log_sd=0.5, graded=0.3)
    fitted = _screened(table_of(draw_lot(spec, 2), HALF))[0].types[HALF]
    of_rolls, of_grades = level_notes(fitted)
    assert "20, and they have levels of wear of their own" in of_rolls
    assert "of their grade" in of_grades
    assert "EF" in of_grades
    quiet = replace(fitted, groups=replace(fitted.groups, log_evidence=-3.0), grades=None)
    assert "judged by date alone" in level_notes(quiet)[0]
    assert level_notes(replace(quiet, groups=None)) == []


# --- grades ----------------------------------------------------------------------------

WORKING = {  # per cent lost: common practice, no source
    "us-dollar-1840": ((0, 0.3), (0.3, 0.8), (0.7, 1.5), (1.2, 2.5), (2, 3.5), (3, 5), (4, 8)),
    HALF: ((0, 0.5), (0.5, 1), (1, 2.2), (2, 3.5), (3, 5), (4.5, 7), (6, 10)),
    "us-quarter-1873": ((0, 0.7), (0.7, 1.5), (1.5, 3), (2.5, 5), (4, 7), (6, 9), (8, 13)),
    "us-dime-1873": ((0, 1), (1, 2), (2, 4), (3.5, 6), (5, 9), (7, 12), (9, 17)),
    "uk-sovereign-1817": ((0, 0.2), (0.1, 0.4), (0.3, 0.8), (0.6, 1.2), (1, 2)),
}


@pytest.mark.parametrize("key", sorted(WORKING))
def test_one_depth_a_grade_gives_the_working_percentages(key: str) -> None:
    loss = 100 * grade_loss(STANDARDS.get(key))
    for found, (low, high) in zip(loss, WORKING[key], strict=False):
        assert low <= found <= high


def _graded(n: int, grade: str, lengths: bool, weight_g: float = 12.0) -> ItemTable:
    """A lot of graded coins whose first, of 1930, weighs 4 % less than the standard."""
    table = table_of(draw_lot(LotSpec((_halves(n, 0.8),), graded=1.0), 3), HALF, lengths)
    weight, grades, year = table.weight_g.copy(), table.grade.copy(), table.year.copy()
    weight[0], grades[0], year[0] = weight_g, grade, 1930
    return replace(table, weight_g=weight, weight_low_g=weight - 0.005, year=year,
                   weight_high_g=weight + 0.005, grade=grades)  # fmt: skip


@pytest.mark.parametrize("n", [12, 60, 400])
@pytest.mark.parametrize("lengths", [True, False], ids=["all readings", "weight only"])
def test_a_sharp_coin_four_per_cent_light_is_set_aside_and_a_worn_one_is_not(
    n: int, lengths: bool
) -> None:
    sharp = _screened(_graded(n, "EF", lengths))[1]
    assert sharp.finding[0] in ASIDE
    assert "noted as EF" in sharp.reason[0]
    assert "sharp for its weight" in sharp.reason[0]
    worn = _screened(_graded(n, "G", lengths))[1]
    assert worn.finding[0] == "consistent"


def test_the_lot_moves_the_levels_of_its_grades() -> None:
    """A grader who calls F what others call VF: the loss of his F is that of their VF."""
    table = table_of(draw_lot(LotSpec((_halves(600, 0.8),), graded=1.0), 4), HALF)
    strict = np.where(table.grade == "VF", "F", np.where(table.grade == "F", "VG", ""))
    usual = _screened(table)[0].types[HALF].wear_by_grade()
    moved = _screened(replace(table, grade=strict.astype(object)))[0].types[HALF]
    assert moved.wear_by_grade()[3] == pytest.approx(usual[2], rel=0.1)
    assert moved.grades.coins[[3, 4]].sum() > 100


def test_graded_coins_count_for_no_date() -> None:
    table = table_of(draw_lot(LotSpec((_halves(80, 0.8),), graded=1.0), 5), HALF)
    fitted = _screened(table)[0].types[HALF]
    assert usable_coins(table).all()
    assert fitted.date_coins.sum() == 0
    assert fitted.grades.coins.sum() == pytest.approx(80, abs=2)
    assert 0.005 < fitted.mean_wear() < 0.08
