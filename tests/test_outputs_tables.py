"""The tables of a run: columns and their order, rounding, empty cells, no formulas."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from outputs_lot import CHECK_ROW, COINS_A_LOT, FORMULA_ROW, ROLL_ROW, mixed

from lotscreen.report import tables
from lotscreen.report.csv_text import csv_text, fixed, guarded
from lotscreen.report.summary_text import summary_text
from lotscreen.report.tables import COIN_COLUMNS, COIN_DECIMALS, coins_frame

PROMISED = (
    "coin_id, source_file, source_sheet, source_row, lot, group, type, date, mint_mark, "
    "weight_g, diameter_mm, thickness_mm, expected_weight_g, expected_low_g, expected_high_g, "
    "z_weight, z_diameter, z_thickness, score, p_value, log10_lr, prob_not_honest, finding, "
    "reason, doubts, disposition, item_id, explanations, next_test, q_value, "
    "finding_moves_with"
)
COINS = 3 * COINS_A_LOT - 2


def _read_back(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_coins_have_the_promised_columns_and_coins_only() -> None:
    coins = coins_frame(mixed())
    assert ", ".join(coins.columns) == PROMISED == ", ".join(COIN_COLUMNS)
    assert len(coins) == COINS
    assert not coins["coin_id"].isin(["roll 7", "check weight"]).any()


def test_every_row_read_is_in_exactly_one_table() -> None:
    made = mixed()
    ids = [*coins_frame(made)["item_id"], *tables.groups_frame(made)["item_id"]]
    checks = made.intake.items["item_id"][CHECK_ROW]
    left_out = len(tables.left_out_frame(made))
    assert sorted([*ids, checks]) == sorted(made.intake.items["item_id"])
    assert len(ids) + 1 + left_out == made.intake.rows_read


def test_numbers_are_rounded_and_missing_ones_are_empty() -> None:
    made = mixed()
    rows = _read_back(csv_text(coins_frame(made), COIN_DECIMALS))
    for name, places in COIN_DECIMALS.items():
        pattern = re.compile(rf"(-?\d+\.\d{{{places}}})?")
        assert all(pattern.fullmatch(row[name]) for row in rows), name
    assert {row["log10_lr"] for row in rows} == {""}
    assert {row["disposition"] for row in rows} == {""}
    weights = made.table.weight_g[made.table.kind == "coin"]
    assert [float(row["weight_g"]) for row in rows] == pytest.approx(weights, abs=5e-5)
    assert any(row["thickness_mm"] == "" for row in rows)


def test_p_values_stay_above_the_floor_and_keep_their_order() -> None:
    coins = coins_frame(mixed()).set_index("coin_id")
    assert coins["p_value"]["=1+1"] == tables.P_VALUE_FLOOR
    assert coins["p_value"].min() == tables.P_VALUE_FLOOR
    assert (coins["p_value"].drop("=1+1") > tables.P_VALUE_FLOOR).sum() > COINS / 2


def test_date_is_the_year_and_type_the_standard_or_the_text() -> None:
    made = mixed()
    coins = coins_frame(made)
    table = made.table.rows(made.table.kind == "coin")
    assert coins["date"].dtype == "Int64"
    assert (coins["date"].isna().to_numpy() == np.isnan(table.year)).all()
    unresolved = table.type_key == ""
    assert unresolved.any()
    assert set(coins["type"][unresolved]) <= {"US half dollar", "+half"}
    assert set(coins["type"][~unresolved]) == {"us-half-1873"}


def test_doubts_stand_with_their_coin_and_quote_the_cell() -> None:
    coins = coins_frame(mixed()).set_index("coin_id")
    told = coins["doubts"]["=1+1"]
    assert "'125.1'" in told
    assert "12.51" in told
    assert (coins["doubts"] != "").sum() == 3


def test_tables_are_joined_by_item_and_not_by_place() -> None:
    made = mixed()
    turned = replace(made.intake, items=made.intake.items.iloc[::-1].reset_index(drop=True))
    pd.testing.assert_frame_equal(coins_frame(replace(made, intake=turned)), coins_frame(made))


def test_groups_have_their_own_table() -> None:
    made = mixed()
    (group,) = tables.groups_frame(made).to_dict("records")
    assert list(tables.groups_frame(made).columns) == list(tables.GROUP_COLUMNS)
    assert group["item_id"] == made.intake.items["item_id"][ROLL_ROW]
    assert (group["coin_id"], group["count"], group["finding"]) == ("roll 7", 20, "set aside")
    assert group["expected_weight_g"] == 244.2
    assert tables.GROUP_COLUMNS[-1] == "odd"  # new columns come at the end
    assert group["odd"] == "weight"


@pytest.mark.parametrize(
    ("odd", "word"),
    [("", ""), ("weight", "weight"), ("height", "height"), ("both", "weight and height")],
)
def test_the_table_says_by_what_a_group_is_odd_as_the_summary_does(odd: str, word: str) -> None:
    made = mixed()
    lots = {
        name: replace(
            lot, group_statements=tuple(replace(g, odd=odd) for g in lot.group_statements)
        )
        for name, lot in made.lots.items()
    }
    told = replace(made, lots=lots)
    (group,) = tables.groups_frame(told).to_dict("records")
    assert group["odd"] == word
    text = csv_text(tables.groups_frame(told), tables.GROUP_DECIMALS)
    assert text.splitlines()[1].endswith("," + word)
    if word:
        assert f"K-01 roll 1 ({word})" in " ".join(summary_text(told, "1", ("groups.csv",)).split())


def test_readings_name_their_coin_and_lot() -> None:
    readings = tables.readings_frame(mixed())
    assert list(readings.columns) == list(tables.READINGS_COLUMNS)
    assert list(readings["coin_id"][[CHECK_ROW, FORMULA_ROW]]) == ["check weight", "=1+1"]
    row = _read_back(csv_text(readings, tables.READING_DECIMALS))[CHECK_ROW]
    assert (row["value"], row["low"], row["nominal"]) == ("12.34568", "", "20.00000")


def test_a_lot_without_groups_or_left_out_rows_has_the_headers_alone() -> None:
    made = mixed()
    text = csv_text(tables.groups_frame(made, "K-03"), tables.GROUP_DECIMALS)
    assert text == ",".join(tables.GROUP_COLUMNS) + "\n"


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        ("=1+1", "'=1+1"), ("+A1", "'+A1"), ("-A1", "'-A1"), ("@SUM(A1)", "'@SUM(A1)"),
        ("\t=1", "'\t=1"), ("\r=1", "'\r=1"), ("＝1", "'＝1"), ("-", "'-"), ("-3-2", "'-3-2"),
        ("-12", "-12"), ("+1,5", "+1,5"), ("-.5e3", "-.5e3"), ("12.5 g", "12.5 g"), ("", ""),
        ("1=1", "1=1"), ("'=1", "'=1"),
    ],
)  # fmt: skip
def test_a_text_that_could_run_gets_an_apostrophe(cell: str, written: str) -> None:
    assert guarded(cell) == written


CELLS = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=12)


@given(st.lists(st.tuples(CELLS, CELLS), max_size=6))
def test_csv_text_reads_back_as_guarded(cells: list[tuple[str, str]]) -> None:
    frame = pd.DataFrame(cells, columns=["coin_id", "note"], dtype=object)
    back = _read_back(csv_text(frame, {}))
    assert [(row["coin_id"], row["note"]) for row in back] == [
        (guarded(first), guarded(second)) for first, second in cells
    ]


def test_rows_written_in_parts_are_all_there(monkeypatch: pytest.MonkeyPatch) -> None:
    coins = coins_frame(mixed())
    whole = csv_text(coins, COIN_DECIMALS)
    monkeypatch.setattr("lotscreen.report.csv_text._ROWS_AT_ONCE", 7)
    assert csv_text(coins, COIN_DECIMALS) == whole
    assert whole.count("\n") == len(coins) + 1


def test_fixed_decimals_know_no_negative_zero_and_no_infinity() -> None:
    assert [fixed(x, 2) for x in (-0.001, 1.005, -2.5, np.nan, np.inf)] == [
        "0.00", "1.00", "-2.50", "", "",
    ]  # fmt: skip
