"""Drawn lots: what was asked is there, the key tells all, the same seed draws the same."""

from __future__ import annotations

import ast
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import lotscreen.simulate as simulate
from lotscreen.simulate import (
    Balance,
    CoinSpec,
    Gauge,
    KindCount,
    LotSpec,
    SimulatedLot,
    Wear,
    draw_lot,
)
from lotscreen.simulate.worlds import WORLDS
from lotscreen.simulate.writing import SLIPS, slip
from lotscreen.standards import load_standards

HALF = load_standards().get("us-half-1873")
QUARTER = load_standards().get("us-quarter-1873")


def _halves(count: int = 400, **changes) -> CoinSpec:
    plain = CoinSpec(
        HALF, "US half dollar", count, tuple(range(1900, 1960)), 1965, Wear("gamma", 0.4)
    )
    return replace(plain, **changes)


def _honest(lot: SimulatedLot) -> pd.Series:
    return lot.key["true_kind"] == "honest"


def test_the_same_seed_draws_the_same_lot_and_another_another():
    spec = LotSpec((_halves(),), roll_size=20, slip_rate=0.02)
    first, again, other = draw_lot(spec, 1), draw_lot(spec, 1), draw_lot(spec, 2)
    pd.testing.assert_frame_equal(first.sheet, again.sheet)
    pd.testing.assert_frame_equal(first.key, again.key)
    assert not first.sheet.equals(other.sheet)


def test_slips_leave_the_coins_as_they_were():
    spec = LotSpec((_halves(),))
    clean, slipped = draw_lot(spec, 1), draw_lot(replace(spec, slip_rate=0.05), 1)
    untouched = slipped.key["injected_fault"] == ""
    assert 0.8 < untouched.mean() < 0.95
    pd.testing.assert_frame_equal(clean.sheet[untouched], slipped.sheet[untouched])
    assert clean.key["true_weight_g"].equals(slipped.key["true_weight_g"])


def test_the_key_names_every_cell_that_was_spoilt():
    spec = LotSpec((_halves(2000),))
    clean, slipped = draw_lot(spec, 1), draw_lot(replace(spec, slip_rate=0.03), 1)
    named = 0
    for row, cells in slipped.key["fault_cell"].items():
        differing = clean.sheet.columns[clean.sheet.loc[row] != slipped.sheet.loc[row]]
        assert sorted(differing) == sorted(filter(None, cells.split("; ")))
        named += len(differing)
    assert 0.02 < named / (3 * 2000) < 0.035


@pytest.mark.parametrize("kind", SLIPS)
def test_a_slip_changes_a_cell_as_its_name_says(kind: str):
    rng = np.random.default_rng(4)
    for _ in range(50):
        spoilt = slip("26.73", kind, rng)
        if kind == "decimal slip":
            assert float(spoilt) in (267.3, 2.673)
        elif kind == "swapped digits":
            assert sorted(spoilt) == sorted("26.73")
        else:
            assert sum(a != b for a, b in zip(spoilt, "26.73", strict=True)) == 1


def test_older_coins_have_worn_more_in_every_world():
    for world in WORLDS:
        lot = draw_lot(LotSpec((_halves(4000, wear=Wear(world, 0.4)),)), 3)
        year = lot.sheet["date"].astype(int)
        old = lot.key.loc[year < 1920, "true_wear_percent"].mean()
        young = lot.key.loc[year > 1940, "true_wear_percent"].mean()
        assert old > 2 * young > 0


def test_kinds_stand_where_they_were_put():
    kinds = (KindCount("pewter, right size", 9, start=0.75), KindCount("cast", 5, stop=0.25))
    lot = draw_lot(LotSpec((_halves(kinds=kinds),), shuffled=False), 1)
    pewter = np.flatnonzero(lot.key["true_kind"] == "pewter, right size")
    cast = np.flatnonzero(lot.key["true_kind"] == "cast")
    assert (len(pewter), len(cast)) == (9, 5)
    assert pewter.min() >= 300
    assert cast.max() < 100


def test_a_third_of_a_lot_may_be_of_other_kinds():
    lot = draw_lot(LotSpec((_halves(kinds=(KindCount("copper, right weight", 120),)),)), 1)
    assert (lot.key["true_kind"] == "copper, right weight").sum() == 120
    thick = lot.key["true_thickness_mm"]
    assert thick[~_honest(lot)].min() > thick[_honest(lot)].max()


def test_rolls_share_wear():
    loose = LotSpec((_halves(4000),), roll_size=20, roll_log_sd=0.0)
    shared = replace(loose, roll_log_sd=0.5)

    def spread_between(spec: LotSpec) -> float:
        lot = draw_lot(spec, 7)
        assert lot.sheet["group"].value_counts().eq(20).all()
        return lot.key["true_wear_percent"].groupby(lot.sheet["group"]).mean().std()

    assert spread_between(shared) > 1.5 * spread_between(loose)


def test_thickness_may_be_missing_for_part_but_not_for_the_kinds_named():
    kinds = (KindCount("brass, right weight", 6),)
    spec = LotSpec((_halves(kinds=kinds),), measured=50, measured_kinds=("brass, right weight",))
    lot = draw_lot(spec, 1)
    measured = lot.sheet["thickness_mm"] != ""
    assert measured.sum() == 50
    assert (lot.sheet["diameter_mm"] != "").equals(measured)
    assert measured[lot.key["true_kind"] == "brass, right weight"].all()


@pytest.mark.parametrize(("step", "decimals"), [(0.001, 3), (0.01, 2), (0.1, 1)])
def test_cells_show_the_step_of_the_instrument(step: float, decimals: int):
    spec = LotSpec((_halves(),), Balance(step, step), Gauge(max(step, 0.01)))
    sheet = draw_lot(spec, 1).sheet
    assert set(sheet["weight_g"].str.partition(".")[2].str.len()) == {decimals}
    assert set(sheet["thickness_mm"].str.partition(".")[2].str.len()) == {min(decimals, 2)}


def test_a_clipped_coin_has_one_short_diameter_where_two_are_taken():
    spec = LotSpec((_halves(kinds=(KindCount("clipped", 40),)),), min_max=True)
    lot = draw_lot(spec, 1)
    across = lot.sheet[["diameter_min_mm", "diameter_max_mm"]].astype(float)
    out_of_round = across["diameter_max_mm"] - across["diameter_min_mm"]
    assert out_of_round[~_honest(lot)].min() > 0.9
    assert out_of_round[_honest(lot)].max() < 0.2


def test_mixed_types_share_a_sheet_and_a_scale_error_moves_them_all():
    spec = LotSpec(
        (_halves(), replace(_halves(), coin_type=QUARTER, type_text="US quarter dollar"))
    )
    plain = draw_lot(spec, 1).sheet
    heavy = draw_lot(replace(spec, balance=Balance(scale_error=0.01)), 1).sheet
    ratio = heavy["weight_g"].astype(float) / plain["weight_g"].astype(float)
    assert set(plain["type"]) == {"US half dollar", "US quarter dollar"}
    np.testing.assert_allclose(ratio, 1.01, atol=0.002)


def test_a_whole_issue_may_lie_off_the_standard():
    level = draw_lot(LotSpec((_halves(),)), 1).key["true_weight_g"]
    light = draw_lot(LotSpec((_halves(weight_shift_share=-0.03),)), 1).key["true_weight_g"]
    assert (light / level).mean() == pytest.approx(0.97, abs=0.001)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (lambda: Wear("rust", 1.0), "rust"),
        (lambda: KindCount("cheese", 1), "cheese"),
        (lambda: KindCount("cast", 1, 0.5, 0.5), "0.5"),
        (lambda: _halves(3, kinds=(KindCount("cast", 4),)), "count"),
        (lambda: LotSpec(()), "empty"),
        (lambda: LotSpec((_halves(),), slip_rate=1.5), "1.5"),
    ],
)
def test_a_specification_that_cannot_be_says_what_is_wrong(wrong, says: str):
    with pytest.raises(ValueError, match=says):
        wrong()


def test_the_simulator_shares_no_code_with_what_it_tries():
    """Nothing under simulate/ imports a room that fits, judges or reads."""
    allowed = {"simulate", "standards", "records", "words", "quantities"}
    folder = Path(simulate.__file__).parent
    for path in sorted(folder.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            names += [a.name for a in node.names] if isinstance(node, ast.Import) else []
            rooms = {name.split(".")[1] for name in names if name.startswith("lotscreen.")}
            assert rooms <= allowed, f"{path.name} imports {rooms - allowed}"
