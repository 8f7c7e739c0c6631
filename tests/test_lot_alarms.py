"""Alarms about the lot as a whole: the five questions and their budget."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy.stats import binom

import lotscreen
from lotscreen.lot.alarms import (
    LotCoins,
    alike_pairs,
    budget_sentence,
    lot_alarms,
)
from lotscreen.lot.alike import READINGS, most_alike
from lotscreen.lot.budget import BUDGET, EACH, LOOK, LOOKS_AT_ORDER, QUESTIONS
from lotscreen.lot.statement import LotAlarm
from lotscreen.records import ItemTable
from lotscreen.screening import Screening
from lotscreen.sequential.back_sums import back_sums
from lotscreen.simulate import CoinSpec, KindCount, LotSpec, Wear, draw_lot
from lotscreen.standards import load_standards

STANDARDS = load_standards()
HALF = STANDARDS.get("us-half-1873")


def _coins(count: int, depth_um: float = 0.38, **changes) -> CoinSpec:
    plain = CoinSpec(HALF, "US half dollar", count, tuple(range(1915, 1946)), 1965,
                     Wear("gamma", depth_um))  # fmt: skip
    return replace(plain, **changes)


def _screened(spec: LotSpec, seed: int = 2) -> Screening:
    return lotscreen.screen(draw_lot(spec, seed).sheet, standards=STANDARDS, again=False)


def _alarms(screening: Screening) -> dict[str, LotAlarm]:
    (lot,) = screening.lots.values()
    return {alarm.name: alarm for alarm in lot.alarms}


@pytest.fixture(scope="module")
def honest() -> Screening:
    return _screened(LotSpec((_coins(120),), measured=0))


@pytest.fixture(scope="module")
def moulded() -> Screening:
    kinds = (KindCount("cast, one mould", 10),)
    return _screened(LotSpec((_coins(150, kinds=kinds),)))


def test_rolls_of_which_no_coin_is_judged_ask_nothing_of_the_order() -> None:
    sheet = pd.DataFrame({"roll": [str(n // 2) for n in range(40)], "type": "", "weight_g": "12.4"})
    assert not any(alarm.alarmed for alarm in _alarms(lotscreen.screen(sheet)).values())


def test_the_budget_is_spent_on_five_questions() -> None:
    assert BUDGET == 0.05
    assert pytest.approx(BUDGET) == EACH * len(QUESTIONS)
    assert pytest.approx(EACH) == LOOK * len(LOOKS_AT_ORDER)


def test_an_honest_lot_is_asked_and_quiet(honest: Screening) -> None:
    alarms = _alarms(honest)
    assert tuple(alarms) == QUESTIONS
    assert not any(alarm.alarmed for alarm in alarms.values())
    assert alarms["clusters"].rate is None
    said = budget_sentence(tuple(alarms.values()))
    assert said.startswith("4 of 5 questions were asked")
    assert "any of them in 5" in said


def test_many_set_aside_are_more_than_honest_alarms(moulded: Screening) -> None:
    share = _alarms(moulded)["share"]
    (lot,) = moulded.lots.values()
    flagged = lot.counts["set aside"] + lot.counts["not consistent"]
    assert share.alarmed
    assert share.rate == pytest.approx(binom.sf(flagged - 1, 150, 0.003))
    assert f"{flagged} of 150 coins" in share.said


def test_coins_from_one_mould_are_a_cluster(moulded: Screening) -> None:
    alarm = _alarms(moulded)["clusters"]
    (lot,) = moulded.lots.values()
    assert alarm.alarmed
    assert alarm.said in lot.alerts
    assert "one mould or one maker" in alarm.said


def test_pairs_are_alike_both_ways_and_none_with_itself(moulded: Screening) -> None:
    near = alike_pairs(moulded.table, np.arange(20), np.arange(20, 150))
    assert np.array_equal(near, near.T)
    assert not near.diagonal().any()


def test_a_cluster_shows_among_other_coins_set_aside() -> None:
    """Ten from one mould beside forty of brass: a fifth of those set aside."""
    kinds = (KindCount("cast, one mould", 10), KindCount("brass, right size", 40))
    screening = _screened(LotSpec((_coins(200, kinds=kinds),)))
    alarm = _alarms(screening)["clusters"]
    assert alarm.alarmed
    assert "where chance puts about" in alarm.said
    named = re.search(r"coins \(([^)]*)\)", alarm.said)
    assert named is not None
    ids = named[1].split(" and ")[0].split(", ")
    known = set(screening.intake.items["coin_id"].astype(str))
    assert len(ids) == 8
    assert set(ids) <= known


def _same_readings(table: ItemTable, coins: int, lighter: float, thicker_mm: float) -> ItemTable:
    """The first coins read like one another: so much lighter and thicker than the middle."""
    columns = {}
    for name, far, step in (
        ("weight_g", -lighter, 0.02), ("diameter_mm", 0.0, 0.02), ("thickness_mm", thicker_mm, 0.02)
    ):  # fmt: skip
        column = getattr(table, name).copy()
        middle = np.median(column)
        column[:coins] = np.round(middle + far + step * (np.arange(coins) % 3 - 1), 2)
        columns[name] = column
    return replace(table, **columns)


def test_like_coins_show_where_honest_ones_are_few_and_not_where_they_crowd() -> None:
    table = _screened(LotSpec((_coins(150),)), 4).table
    everybody, nobody = np.ones(150, bool), np.zeros(150, bool)
    crowd = most_alike(_same_readings(table, 8, 0.0, 0.0), everybody, nobody, 0)
    apart = most_alike(_same_readings(table, 8, 0.6, 0.2), everybody, nobody, 0)
    assert crowd is not None
    assert apart is not None
    assert crowd.rate > EACH
    assert apart.rate <= EACH
    assert apart.rows.tolist() == list(range(8))
    assert apart.readings == READINGS


def test_weights_alone_are_not_compared(honest: Screening) -> None:
    everybody, nobody = np.ones(120, bool), np.zeros(120, bool)
    assert most_alike(honest.table, everybody, nobody, 0) is None
    across = replace(honest.table, diameter_mm=np.full(120, 30.5))
    found = most_alike(across, everybody, nobody, 0)
    assert found is not None
    assert found.readings == ("weight", "diameter")
    assert most_alike(across, nobody, nobody, 0) is None


def test_a_large_lot_is_thinned_and_its_odd_coins_are_kept() -> None:
    table = _screened(LotSpec((_coins(300),)), 5).table.rows(np.arange(1500) % 300)
    odd = np.zeros(1500, bool)
    odd[:8] = True
    found = most_alike(_same_readings(table, 8, 0.6, 0.3), np.ones(1500, bool), odd, 0)
    assert found is not None
    assert set(range(8)) <= set(found.rows.tolist())


def test_a_salted_end_shows_in_the_order() -> None:
    kinds = (KindCount("brass, right size", 25, start=0.7),)
    screening = _screened(LotSpec((_coins(150, kinds=kinds),), measured=0, shuffled=False))
    alarm = _alarms(screening)["order"]
    (lot,) = screening.lots.values()
    assert alarm.alarmed
    assert any("Draw at random, by a written list" in said for said in lot.alerts)


def test_few_coins_set_aside_that_lie_together_show_in_the_order() -> None:
    """Five in a hundred, in the last tenth: residuals as a whole hardly move."""
    kinds = (KindCount("brass, right size", 10, start=0.9),)
    spec = LotSpec((_coins(200, kinds=kinds),), measured=0, shuffled=False)
    alarm = _alarms(_screened(spec))["order"]
    assert alarm.alarmed
    assert re.search(r"lie together: 0 of \d+ among the first 18\d in order", alarm.said)
    rolled = _alarms(_screened(replace(spec, roll_size=5), 3))["order"]
    assert "Rolls that hold coins set aside lie together" in rolled.said


def _order_of(screening: Screening, z: np.ndarray) -> LotAlarm:
    """The answer to the question of the order, with ``z`` as residuals of the coins."""
    rows = np.arange(len(z))
    columns = {
        f: getattr(screening.findings, f)[rows]
        for f in screening.findings.__slots__
        if isinstance(getattr(screening.findings, f), np.ndarray)
    }
    findings = replace(screening.findings, **{**columns, "z_weight": z})
    coins = LotCoins(screening.table, findings, rows.astype(object))
    (lot,) = screening.lots.values()
    return lot_alarms(coins, lot.types, screening.fit, screening.settings)[0]


def test_a_short_drift_rings_the_order_by_its_moving_average() -> None:
    screening = _screened(LotSpec((_coins(200),), measured=0))
    z = np.random.default_rng(1).normal(size=200)
    z[70:78] += 3.0  # eight coins while the window stood open: no change of the halves
    order = _order_of(screening, z)
    assert order.alarmed
    assert "The moving average of the weights (page of the day) leaves its limits" in order.said


def test_a_longer_and_smaller_drift_rings_the_order_by_its_running_sums() -> None:
    screening = _screened(LotSpec((_coins(200),), measured=0))
    z = np.random.default_rng(4).normal(size=200)
    z[90:130] += 1.3
    order, sums = _order_of(screening, z), back_sums(z, LOOK)
    assert sums is not None
    assert order.alarmed
    assert order.rate == pytest.approx(len(LOOKS_AT_ORDER) * sums.rate)
    assert 90 < sums.signal_at <= 130
    assert f"passes its limit at measurement {sums.signal_at}: look first" in order.said


def test_rolls_that_share_wear_are_asked_as_rolls() -> None:
    """Coins of a roll follow each other and are alike: one by one they would alarm."""
    screening = _screened(LotSpec((_coins(400),), measured=0, roll_size=20))
    roll = _alarms(screening)["order"]
    assert roll.rate is not None
    assert not roll.alarmed
    few = _screened(LotSpec((_coins(100),), measured=0, roll_size=20))
    assert _alarms(few)["order"].rate is None
    assert "not asked" in _alarms(few)["order"].said


def test_two_sources_of_wear_are_mixed_and_one_is_not() -> None:
    worn, unworn = _coins(200, 1.2), _coins(200, 0.02)
    mixed = _alarms(_screened(LotSpec((worn, unworn), measured=0)))["mixed_wear"]
    assert mixed.alarmed
    assert "two sources" in mixed.said
    one = _alarms(_screened(LotSpec((_coins(400, 1.2),), measured=0)))["mixed_wear"]
    assert not one.alarmed
    assert one.rate is not None


def test_no_coins_no_questions(honest: Screening) -> None:
    nobody = np.zeros(0, np.int64)
    table = honest.table.rows(nobody)
    columns = {
        f: getattr(honest.findings, f)[nobody]
        for f in honest.findings.__slots__
        if isinstance(getattr(honest.findings, f), np.ndarray)
    }
    coins = LotCoins(table, replace(honest.findings, **columns), np.zeros(0, object))
    alarms = lot_alarms(coins, (), honest.fit, honest.settings)
    assert all(alarm.rate is None and not alarm.alarmed for alarm in alarms)
