"""Findings judged again: without their fold of the lot, with another wear allowance."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from pdf_text import words_of

import lotscreen
from lotscreen.evidence import judge
from lotscreen.records import FLAGGED
from lotscreen.report.cut import cut_to_lot
from lotscreen.report.moves import lot_moves
from lotscreen.report.outputs import write_outputs
from lotscreen.report.tables import coins_frame
from lotscreen.screening import Screening
from lotscreen.sensitivity import Judged, Move, Way
from lotscreen.sensitivity.folds import FOLDS, folds_of
from lotscreen.settings import Settings
from lotscreen.simulate import CoinSpec, KindCount, LotSpec, Wear, draw_lot
from lotscreen.standards import load_standards
from lotscreen.wear import fit

STANDARDS = load_standards()
LIGHT_YEAR = 1955
ROLL = 20


def _rolls(coins_light: int = ROLL, rolls: int = 4) -> pd.DataFrame:
    """Weighed halves in rolls of twenty; the last roll holds one date and lies 3 % below it,
    one coin is of base metal."""
    rng = np.random.default_rng(5)
    years = rng.integers(1930, 1960, ROLL * rolls)
    weight = 12.5 * (1 - 0.0003 * (1965 - years) * rng.gamma(2.0, 0.5, len(years)))
    frame = pd.DataFrame({
        "coin_id": [str(k) for k in range(len(years) + coins_light)],
        "type": "US half dollar",
        "date": [*years, *[LIGHT_YEAR] * coins_light],
        "roll": [*np.repeat(np.arange(1, rolls + 1), ROLL), *[9] * coins_light],
        "weight_g": [*weight, *(12.5 * 0.965 + rng.normal(0, 0.02, coins_light))],
    })  # fmt: skip
    frame.loc[3, "weight_g"] = 10.6
    frame["weight_g"] = frame["weight_g"].map("{:.2f}".format)
    return frame


@pytest.fixture(scope="module")
def rolls() -> Screening:
    return lotscreen.screen(_rolls())


def _moves_of(screening: Screening, coin_id: str) -> tuple[Move, ...]:
    items = screening.intake.items
    (item,) = items.loc[items["coin_id"] == coin_id, "item_id"]
    return screening.sensitivity.moves.get(item, ())


def test_a_light_roll_that_makes_its_own_level_is_marked_without_its_roll(
    rolls: Screening,
) -> None:
    coins = coins_frame(rolls)
    light = coins[coins["group"] == "9"]
    assert (light["finding"] == "consistent").sum() >= ROLL - 2
    marked = light["finding_moves_with"].str.contains("without its roll: set aside")
    assert marked.sum() >= ROLL - 2
    others = coins[coins["group"] != "9"]
    near = others[others["finding_moves_with"].str.contains("without its roll")]
    assert len(near) <= 2  # of 80: coins that were near the limit with their roll
    assert (near["p_value"] < 0.01).all()


def test_a_clear_base_metal_coin_is_firm(rolls: Screening) -> None:
    coins = coins_frame(rolls)
    (base,) = coins.index[coins["coin_id"] == "3"]
    assert coins.loc[base, "finding"] in FLAGGED
    assert coins.loc[base, "finding_moves_with"] == ""
    assert _moves_of(rolls, "3") == ()


def test_the_finding_itself_does_not_change(rolls: Screening) -> None:
    plain = lotscreen.screen(_rolls(), again=False)
    assert not plain.sensitivity.moves
    assert not plain.sensitivity.types
    assert list(plain.findings.finding) == list(rolls.findings.finding)
    assert set(coins_frame(plain)["finding_moves_with"]) == {""}


def test_the_mark_says_what_the_doors_say(rolls: Screening) -> None:
    """The light roll judged by hand: a fit of the other rolls, then judge."""
    table, own = rolls.table, rolls.table.group == "9"
    without = fit(table.rows(~own), rolls.standards, rolls.settings, 0, None, rolls.fit.belief)
    found = judge(table.rows(own), without, rolls.settings, len(table)).finding
    for item, finding, now in zip(
        table.item_id[own], found, rolls.findings.finding[own], strict=True
    ):
        moves = [move for move in rolls.sensitivity.moves.get(item, ()) if move.way == "own_group"]
        assert [move.finding for move in moves] == ([finding] if finding != now else [])


def test_folds_are_whole_groups_and_do_not_follow_the_order_of_the_sheet(
    rolls: Screening,
) -> None:
    table = rolls.table
    rows = np.arange(len(table))
    folds = folds_of(table, rows)
    assert len(folds) == FOLDS
    assert all(len(set(table.group[fold.rows])) == 1 for fold in folds)
    assert {way for fold in folds for way in fold.ways} == {Way.OWN_GROUP}
    loose = replace(table, group=np.full(len(table), "", dtype=object))
    for one in (table, loose):
        mixed = np.random.default_rng(1).permutation(len(table))
        straight = {frozenset(one.item_id[fold.rows]) for fold in folds_of(one, rows)}
        shuffled = one.rows(mixed)
        assert straight == {
            frozenset(shuffled.item_id[fold.rows]) for fold in folds_of(shuffled, rows)
        }
    sizes = [len(fold.rows) for fold in folds_of(loose, rows)]
    assert max(sizes) - min(sizes) <= 1
    assert {way for fold in folds_of(loose, rows) for way in fold.ways} == {Way.FIFTH}
    many = replace(table, group=np.array([str(k // 10) for k in rows], dtype=object))
    assert {way for fold in folds_of(many, rows) for way in fold.ways} == {Way.FIFTH_OF_GROUPS}


def test_a_type_too_large_is_said_not_to_be_tried(rolls: Screening) -> None:
    small = lotscreen.screen(_rolls(), settings=Settings(folds_up_to=60))
    assert small.sensitivity.types[0].ways == ()
    ways = {move.way for moves in small.sensitivity.moves.values() for move in moves}
    assert ways <= {Way.HALF_WEAR, Way.TWICE_WEAR}
    assert "more than 60 coins" in " ".join(lot_moves(small, ""))
    assert "more than" not in " ".join(lot_moves(rolls, ""))
    none = lotscreen.screen(_rolls(), settings=Settings(folds_up_to=0))
    assert "folds_up_to is 0" in " ".join(lot_moves(none, ""))


def test_an_allowance_out_of_range_is_not_tried() -> None:
    made = lotscreen.screen(_rolls(), settings=Settings(wear_factor=0.05, folds_up_to=0))
    assert made.sensitivity.allowances == (Way.TWICE_WEAR,)


@pytest.mark.slow
def test_json_csv_workbook_and_report_carry_the_mark(rolls: Screening, tmp_path: Path) -> None:
    first, second = tmp_path / "one", tmp_path / "two"
    write_outputs(rolls, first)
    write_outputs(lotscreen.screen(_rolls()), second)
    for name in ("coins.csv", "coins.xlsx", "lot.json", "report.pdf"):
        assert (first / name).read_bytes() == (second / name).read_bytes(), name
    told = json.loads((first / "lot.json").read_text())["sensitivity"]
    assert told["allowances"] == ["half_wear", "twice_wear"]
    assert {"way": "own_group", "finding": "set aside"} in [
        move for coin in told["moves"] for move in coin["moves"]
    ]
    assert len(told["moves"]) == len(rolls.sensitivity.moves)
    assert "without its roll: set aside" in (first / "coins.csv").read_text()
    book = pd.read_excel(first / "coins.xlsx", sheet_name="coins", engine="calamine")
    assert book["finding_moves_with"].astype(str).str.contains("without its roll").any()
    words = words_of(first / "report.pdf")
    assert "found otherwise by a fit without their fold" in words
    assert "column finding_moves_with" in words


@pytest.mark.slow
def test_a_lot_cut_out_keeps_its_own_marks_alone() -> None:
    two = pd.concat([_rolls().assign(lot="A"), _rolls().assign(lot="B")])
    two["coin_id"] = [str(k) for k in range(len(two))]
    whole = lotscreen.screen(two)
    one = cut_to_lot(whole, "B")
    items = set(one.table.item_id)
    assert set(one.sensitivity.moves) == set(whole.sensitivity.moves) & items


@pytest.mark.slow
def test_coins_passed_over_would_not_have_moved() -> None:
    """Every coin of small types judged without itself and by other allowances: none moves
    that the quick look passed over as far from every line."""
    passed_over = 0
    for seed, count in enumerate((12, 24, 40)):
        halves = CoinSpec(
            STANDARDS.get("us-half-1873"), "US half dollar", count, tuple(range(1900, 1960)), 1965,
            Wear("gamma", 0.38), (KindCount("brass, right size", 2), KindCount("cast", 2)),
        )  # fmt: skip
        made = lotscreen.screen(draw_lot(LotSpec((halves,)), seed).sheet, again=False)
        table, settings = made.table, made.settings
        alone = judge(table, made.fit, settings)
        judged = Judged(table, made.fit, alone, alone)
        over = judged.tried() & ~judged.could_move(settings)
        passed_over += int(over.sum())
        others = [settings.with_values({"wear_factor": factor}) for factor in (0.5, 2.0)]
        for other in others:
            by_other = judge(table, fit(table, STANDARDS, other, 0, None, made.fit.belief), other)
            assert not (over & (by_other.finding != alone.finding)).any()
        for row in np.flatnonzero(over):
            kept = table.rows(np.arange(len(table)) != row)
            without = fit(kept, STANDARDS, settings, 0, None, made.fit.belief)
            again = judge(table.rows([row]), without, settings, len(table))
            assert again.finding[0] == alone.finding[row]
    assert passed_over > 40


def test_where_nothing_moves_it_says_so() -> None:
    frame = _rolls(coins_light=0)
    frame["weight_g"] = "12.40"
    made = lotscreen.screen(frame)
    assert not made.sensitivity.moves
    assert "No finding would change" in lot_moves(made, "")[0]
