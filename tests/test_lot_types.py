"""What the coins of one type say together: the ridge, the smallest shift, shares, rates."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import numpy as np
import pandas as pd
import pytest
from benchmarks.engine.lots import Plan, draw
from benchmarks.engine.screen import statement_of
from reference import benjamini_hochberg_1995 as bh
from scipy.stats import binom
from type_lots import STANDARDS, Truth, drawn, said_of, table_of, truth

from lotscreen.instruments import ScaleBelief
from lotscreen.lot.off import OFF_P, SEEN, off
from lotscreen.lot.picked import PICKED_P, picked_by_weight
from lotscreen.lot.shares import honest_chances, q_values
from lotscreen.lot.statement import TypeStatement
from lotscreen.records import ItemTable
from lotscreen.screening import screen
from lotscreen.settings import Settings
from lotscreen.simulate import Balance, KindCount
from lotscreen.wear import fit

HALF = truth(0, 240)
CHECKED = ScaleBelief(0.0, 0.0001, True)


@cache
def _table(made: Truth = HALF) -> ItemTable:
    return table_of(drawn(made, 3), made.key)


@cache
def _said(made: Truth = HALF, checked: bool = False) -> TypeStatement:
    return said_of(_table(made), belief=CHECKED if checked else None)


def _lighter(table: ItemTable, share: float) -> ItemTable:
    columns = ("weight_g", "weight_low_g", "weight_high_g")
    return replace(table, **{name: getattr(table, name) * (1 - share) for name in columns})


def test_q_values_are_those_of_the_paper() -> None:
    """Section 3.2 of Benjamini and Hochberg 1995, in any order, missing values kept."""
    found = q_values(np.array(bh.P_VALUES))
    assert found == pytest.approx(bh.Q_VALUES, abs=5e-9)
    assert (found <= 0.05).sum() == bh.REJECTED_AT_5_PERCENT
    mixed = q_values(np.array([*bh.P_VALUES[::-1], np.nan]))
    assert mixed[:-1] == pytest.approx(bh.Q_VALUES[::-1], abs=5e-9)
    assert np.isnan(mixed[-1])
    assert np.isnan(q_values(np.array([np.nan]))).all()


def test_a_coin_without_evidence_counts_as_honest() -> None:
    chance = honest_chances(np.array([np.nan, -3.0, 8.0, -2.0]))
    assert chance[0] == 1.0
    assert chance[1] > 0.99
    assert chance[2] < 0.01


@pytest.mark.slow
def test_the_printed_shift_is_the_one_noticed_in_95_of_100() -> None:
    """A lot whose mean stands where 1 in 20 stand nearer to the standard is just noticed
    when it is made lighter by the printed size; likewise heavier."""
    table = _table()
    fitted = fit(table, STANDARDS, Settings(), 0).types[HALF.key]
    one = np.ones(len(table))
    told = off(table, one, fitted, Settings())
    weights = np.linspace(0.90, 1.01, 91) * fitted.coin_type.weight_g

    def rarity_at(weight: float) -> float:
        moved = replace(table, weight_g=np.full(len(table), weight))
        return off(moved, one, fitted, Settings()).p

    rare = np.array([rarity_at(w) for w in weights])
    at = weights
    lightest_ok, heaviest_ok = at[rare >= OFF_P][[0, -1]]
    twentieth = at[rare >= 2 * (1 - SEEN)][[0, -1]]
    assert told.lighter == pytest.approx(1 - lightest_ok / twentieth[1], abs=0.003)
    assert told.heavier == pytest.approx(heaviest_ok / twentieth[0] - 1, abs=0.003)


def test_a_lot_far_off_is_noticed_and_an_honest_one_is_not() -> None:
    said = _said()
    assert said.shift_p > OFF_P
    lighter = said_of(_lighter(_table(), 1.5 * said.smallest_shift_percent / 100))
    assert lighter.shift_p < OFF_P
    assert said.smallest_shift_percent > said.smallest_heavier_percent > 0


@pytest.mark.parametrize(("world", "number"), [("weibull", 70), ("hoard and circulation", 79)])
def test_a_lot_on_a_scale_far_too_low_is_judged(world: str, number: int) -> None:
    """Diameters and weights speak against each other in every coin; 7.5 % is about the
    smallest shift that would have been seen in 95 of 100 such lots."""
    plan = Plan("half", world, 500, balance=Balance(scale_error=-0.075), lot_log_sd=0.7)
    lot = draw(plan, 7_200_000 + number)
    findings, statement = statement_of(lot.table)
    assert np.isfinite(findings.p_value).all()
    assert statement.types[0].shift_p < 2 * OFF_P


def test_wider_declared_widths_notice_less() -> None:
    table = _table()
    wide = Settings(circulation_end_width=20.0, mint_bias_width=0.005)
    assert said_of(table, wide).smallest_shift_percent > _said().smallest_shift_percent


def test_the_ridge_gives_each_explanation_alone() -> None:
    """Each explains all of the difference: as much scale or alloy, years at the expected
    rate, wear in proportion."""
    table, said = _table(), _said()
    told, standard = said.ridge, STANDARDS.get(HALF.key)
    assert told is not None
    used = standard.circulation_end - table.year
    expected = 100 * standard.wear_per_year * used.mean()
    assert told.expected_loss_percent == pytest.approx(expected, rel=1e-3)
    assert told.seen_loss_percent == pytest.approx(
        100 * (1 - table.weight_g.mean() / standard.weight_g), rel=0.02
    )
    difference = told.seen_loss_percent - told.expected_loss_percent
    assert told.lighter_percent == pytest.approx(difference)
    assert told.more_years * 100 * standard.wear_per_year == pytest.approx(difference, rel=1e-3)
    assert told.wear_times * expected == pytest.approx(told.seen_loss_percent, rel=1e-3)


@pytest.mark.parametrize("by", [-0.03, 0.0, 0.03])
def test_a_lot_off_is_never_said_as_wear_alone(by: float) -> None:
    told = said_of(_lighter(_table(), by)).ridge
    assert told is not None
    assert "scale" in told.said
    assert "alloy" in told.said
    assert "mixture" in told.said
    assert (" % low" in told.said) == (told.lighter_percent > 0)
    assert "a check weight would tell" in told.told_apart_by[0]


def test_check_weights_take_the_scale_off_the_ridge() -> None:
    lighter = said_of(_lighter(_table(), 0.03), belief=CHECKED)
    assert lighter.ridge is not None
    assert "do not explain" in lighter.ridge.told_apart_by[0]
    assert "lot-mates only" in lighter.ridge.told_apart_by[1]


@pytest.mark.parametrize(("thinner", "word"), [(True, "wear, not the scale"), (False, "not wear")])
def test_pieces_known_by_other_means_tell_wear_from_scale(thinner: bool, word: str) -> None:
    """Coins 8 % light: as thin as wear makes them, or as thick as before."""
    table = _table()
    pieces = table.rows(slice(0, 40))
    thick = np.nanmean(pieces.thickness_mm)
    pieces = replace(
        pieces, kind=np.full(40, "reference", object), thickness_mm=np.full(40, thick),
        item_id=np.array([f"r{i}" for i in range(40)], object),
        weight_g=np.full(40, STANDARDS.get(HALF.key).weight_g),
    )  # fmt: skip
    coins = _lighter(table, 0.08)
    loss = np.clip(1 - coins.weight_g / STANDARDS.get(HALF.key).weight_g, 0, None)
    worn = 0.7 * thick * loss if thinner else 0.7 * thick * 0.01
    coins = replace(coins, thickness_mm=np.round(thick - worn + 0.0 * loss, 2))
    both = replace(
        coins,
        **{f: np.concatenate([getattr(coins, f), getattr(pieces, f)]) for f in coins.__slots__},
    )
    told = said_of(both).ridge
    assert told is not None
    assert word in told.told_apart_by[1]


def test_the_loss_a_year_is_all_loss_over_all_years() -> None:
    made = replace(HALF, growth=1.0)
    lot = drawn(made, 3)
    table = table_of(lot, made.key)
    known = Settings(mint_bias_width=0.0, circulation_end_width=0.0)
    rate = said_of(table, known, ScaleBelief(0.0, 1e-6, True)).wear_rate
    assert rate is not None
    loss = lot.key["true_wear_percent"].astype(float)
    true = loss.sum() / (made.end - table.year).sum()
    assert rate.low_percent < true < rate.high_percent
    assert rate.percent == pytest.approx(true, rel=0.05)
    assert rate.wide_low_percent == pytest.approx(rate.low_percent, rel=0.01)
    wide = _said().wear_rate
    assert wide is not None
    assert wide.wide_low_percent < wide.low_percent < wide.high_percent < wide.wide_high_percent


def test_coins_without_date_have_no_loss_a_year() -> None:
    table = replace(_table(), year=np.full(len(_table()), np.nan))
    said = said_of(table)
    assert said.wear_rate is None
    assert said.loss_per_year_percent is None
    assert any("no coin has a date" in note for note in said.notes)


def test_the_share_widens_when_the_tail_of_wear_may_be_alloy() -> None:
    none, some = (
        _said().false_share,
        _said(replace(HALF, kinds=(KindCount("brass, right size", 24),))).false_share,
    )
    assert none is not None
    assert some is not None
    assert none.low_percent == 0.0
    assert some.low_percent < 10.0 < some.high_percent
    for told in (none, some):
        assert told.wide_low_percent <= told.low_percent <= told.percent <= told.high_percent
        assert told.high_percent <= told.wide_high_percent


def test_by_weight_alone_the_share_is_wider() -> None:
    made = replace(HALF, kinds=(KindCount("light alloy", 24),))
    with_lengths = said_of(_table(made)).false_share
    alone = said_of(table_of(drawn(made, 3), made.key, lengths=False)).false_share
    assert with_lengths is not None
    assert alone is not None
    width = alone.wide_high_percent - alone.wide_low_percent
    assert width > with_lengths.wide_high_percent - with_lengths.wide_low_percent


def test_what_was_assumed_stands_beside_what_the_lot_said() -> None:
    lines = _said().assumed
    assert [line.what for line in lines][:4] == [
        "error of the balance", "bias of the mint", "rate of wear", "end of circulation",
    ]  # fmt: skip
    assert "0.10 %" in lines[0].declared
    assert all(line.declared and line.lot_said for line in lines)
    unlike = {line.what: line for line in lines}["coins worn unlike the rest"]
    coins = len(_table(HALF))
    share = 400 / (coins + 200)
    assert unlike.declared.startswith(f"{share:.1f} % of honest ones, by a factor 2.7")
    assert f"{coins:,}" in unlike.lot_said
    slick = {line.what: line for line in lines}["coins worn beyond legible"]
    assert slick.declared.startswith("20 % of those that have lost more than 11 %")
    thickness = {line.what: line for line in lines}["thickness lost by wear"]
    assert thickness.declared.startswith("0.70 % for each 1 % of weight, give or take 0.25; 10 %")
    spread, allowed = map(int, re.findall(r"(\d+) % (?:unlike|with)", thickness.lot_said))
    assert 0 < spread < allowed
    alone = said_of(table_of(drawn(HALF, 3), HALF.key, lengths=False)).assumed
    assert "thickness lost by wear" not in {line.what for line in alone}


@pytest.mark.parametrize(("picked", "said"), [("lightest", True), ("drawn", False), ("all", False)])
def test_coins_measured_because_they_looked_odd_are_told(picked: str, said: bool) -> None:
    """A few coins measured by suspicion make a poor reference, a few drawn blindly a fair one."""
    table = table_of(drawn(truth(0, 300), 11), truth(0, 300).key)
    by_weight = np.argsort(table.weight_g)
    drawn_blindly = np.random.default_rng(5).permutation(300)
    chosen = {"lightest": by_weight[:45], "drawn": drawn_blindly[:45], "all": by_weight}[picked]
    thickness = np.full(300, np.nan)
    thickness[chosen] = table.thickness_mm[chosen]
    notes = said_of(replace(table, thickness_mm=thickness)).notes
    assert any("picked by suspicion" in note for note in notes) is said
    assert any("thickness judged against" in note for note in notes)


def test_blind_draws_are_seldom_called_picked() -> None:
    """At most the stated rate over blind draws (exact binomial bound at 1 in 1,000)."""
    rng = np.random.default_rng(77)
    rates = []
    for _ in range(400):
        measured = rng.permutation(np.arange(200) < 30)
        rate = picked_by_weight(np.round(rng.gumbel(size=200), 1), measured)
        assert rate is not None
        rates.append(rate)
    called = sum(rate < PICKED_P for rate in rates)
    assert binom.sf(called - 1, len(rates), PICKED_P) > 0.001
    assert 0.02 < np.mean(np.array(rates) < 0.1) < 0.16


@pytest.mark.parametrize(
    ("weight", "check", "said"),
    [
        (11.80, None, "suspect the scale first (a check weight tells), then wear"),
        (12.10, (20.0, 20.0), "the check weights agree with the balance"),
        (12.10, (20.0, 19.7), "by the check weights the balance reads -1.50 % off"),
        (12.90, (20.0, 20.5), "by the check weights the balance reads +2.50 % off"),
        (12.90, None, "above the standard: suspect the scale first"),
    ],
)
def test_a_shift_of_the_lot_is_told_with_what_the_checks_say(
    weight: float, check: tuple[float, float] | None, said: str
) -> None:
    weights = np.random.default_rng(3).normal(weight, 0.06, 40).round(2)
    frame = pd.DataFrame({"type": "US half dollar", "year": 1936, "weight_g": weights})
    result = screen(frame, check=[check] if check else [], again=False)
    (told,) = result.lots[""].types
    assert sum(said in note for note in told.notes) == 1
    assert sum(f"{shift} the standard" in note
               for note in told.notes for shift in ("below", "above")) == 1  # fmt: skip
