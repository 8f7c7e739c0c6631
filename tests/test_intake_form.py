"""Doubts of form that show when rows are looked at together, and what hides in a workbook."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import xlsxwriter

from lotscreen.intake import read_frame, read_sheets
from lotscreen.intake.form_checks import FORM_CHECKS
from lotscreen.intake.noted import block_doubt
from lotscreen.intake.steps import steps_in_order
from lotscreen.records import Doubt, Intake


def read(tmp_path: Path, rows: Sequence[str]) -> Intake:
    path = tmp_path / "lot.csv"
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    intake = read_sheets([path])
    assert intake.rows_read == len(intake.items) + len(intake.left_out)
    return intake


def of_kind(intake: Intake, kind: str) -> list[Doubt]:
    return [doubt for doubt in intake.doubts if doubt.kind == kind]


def honest(coins: int, seed: int = 1) -> pd.DataFrame:
    """Halves with two decimals each; no two rows are meant to agree."""
    rng = np.random.default_rng(seed)
    return pd.DataFrame(
        {
            "no": np.arange(1, coins + 1),
            "weight_g": rng.normal(12.3, 0.15, coins).round(2),
            "diameter_mm": rng.normal(30.6, 0.05, coins).round(2),
            "thickness_mm": rng.normal(2.1, 0.05, coins).round(2),
        }
    )


def test_honest_sheets_cast_no_doubt() -> None:
    for seed in range(20):
        assert read_frame(honest(400, seed)).doubts == ()


def test_gaps_in_the_numbers_are_listed(tmp_path: Path) -> None:
    numbers = [n for n in range(1, 61) if n not in (7, 20, 21, 22)]
    intake = read(tmp_path, ["no,weight_g", *(f"A-{n},12.{n:02}" for n in numbers)])
    (doubt,) = of_kind(intake, "number missing")
    assert "4 of the numbers A-1 to A-60" in doubt.why
    assert "A-7, A-20-22" in doubt.why


def test_gaps_are_counted_lot_by_lot_and_wide_ones_are_no_numbering(tmp_path: Path) -> None:
    two = [f"K-1,{n},12.{n:02}" for n in (1, 2, 3, 5, 6)] + [f"K-2,{n},12.1" for n in range(6, 12)]
    (doubt,) = of_kind(read(tmp_path, ["lot,no,weight_g", *two]), "number missing")
    assert "lot K-1" in doubt.why
    wide = [f"{n * n},12.{n:02}" for n in range(1, 30)]
    assert of_kind(read(tmp_path, ["no,weight_g", *wide]), "number missing") == []


def test_a_reading_that_stands_still_is_found() -> None:
    frame = honest(200)
    frame.loc[80:91, "weight_g"] = 12.34
    (doubt,) = of_kind(read_frame(frame), "stuck value")
    assert (doubt.row, doubt.column, doubt.raw) == (82, "weight_g", "12.34")
    assert "rows 82 to 93, 12 times" in doubt.why


def test_equal_weights_on_a_coarse_balance_or_in_a_sorted_sheet_are_normal() -> None:
    coarse = pd.DataFrame({"weight_g": np.random.default_rng(2).normal(12.3, 0.1, 400).round(1)})
    assert of_kind(read_frame(coarse), "stuck value") == []
    ordered = honest(400).assign(weight_g=lambda f: np.sort(f["weight_g"].round(1)))
    assert of_kind(read_frame(ordered), "stuck value") == []


def test_a_block_pasted_twice_is_found() -> None:
    frame = honest(120)
    frame = pd.concat([frame.iloc[:70], frame.iloc[20:32], frame.iloc[70:]], ignore_index=True)
    frame["no"] = np.arange(1, len(frame) + 1)
    (doubt,) = of_kind(read_frame(frame), "pasted block")
    assert doubt.row == 72
    assert "rows 72 to 83" in doubt.why
    assert "rows 22 to 33" in doubt.why


def test_a_block_of_weights_alone_needs_more_rows() -> None:
    frame = honest(300)[["no", "weight_g"]]
    short, long = frame.copy(), frame.copy()
    short.loc[100:101, "weight_g"] = frame.loc[10:11, "weight_g"].to_numpy()
    long.loc[100:119, "weight_g"] = frame.loc[10:29, "weight_g"].to_numpy()
    assert of_kind(read_frame(short), "pasted block") == []
    assert len(of_kind(read_frame(long), "pasted block")) == 1


def test_a_coin_entered_twice_in_sequence_is_found() -> None:
    frame = honest(150)
    frame.iloc[50:52, 1:] = [11.82, 30.41, 1.97]
    (doubt,) = of_kind(read_frame(frame), "entered twice")
    assert (doubt.row, doubt.column, doubt.raw) == (53, "no", "52")


@pytest.mark.parametrize(
    ("total", "count"),
    [("Subtotal,,24.71", 0), ("Subtotal,,24.7", 0), ("Subtotal,,24.91", 1), ("Average,,12.355", 0),
     ("Average,,12.5", 1)],
)  # fmt: skip
def test_totals_are_left_out_but_checked(tmp_path: Path, total: str, count: int) -> None:
    intake = read(tmp_path, ["no,date,weight_g", "1,1881,12.40", "2,1882,12.31", total])
    found = of_kind(intake, "total")
    assert len(found) == count
    assert len(intake.left_out) == 1
    if found:
        assert found[0].proposal in ("24.71", "12.36", "12.35")
        assert "2 rows from row 2 to 3" in found[0].why


def test_subtotals_running_totals_and_grand_totals_add_up(tmp_path: Path) -> None:
    rows = ["no,weight_g", "1,12.40", "2,12.31", "Subtotal,24.71", "3,12.20", "Subtotal,12.20",
            "Grand total,36.91", "4,12.00", "Running total,48.91"]  # fmt: skip
    assert of_kind(read(tmp_path, rows), "total") == []
    rows[6] = "Grand total,36.19"
    (doubt,) = of_kind(read(tmp_path, rows), "total")
    assert (doubt.row, doubt.raw, doubt.proposal) == (7, "36.19", "36.91")


def test_a_total_of_counts_is_checked(tmp_path: Path) -> None:
    rows = ["roll,count,weight_g", "1,20,246.1", "2,20,245.9", "Total,41,492.0"]
    (doubt,) = of_kind(read(tmp_path, rows), "total")
    assert (doubt.column, doubt.raw, doubt.proposal) == ("count", "41", "40")


@pytest.mark.parametrize(
    ("line", "doubts"),
    [
        ("Stated by the seller: 2 half dollars, face 1 dollar", 0),
        ("Stated by the seller: 3 half dollars", 1),
        ("Summe: 1.002 Münzen", 1),
        ("2 coins, weighed on 2021-05-03", 0),
    ],
)
def test_a_stated_count_is_held_against_the_rows(tmp_path: Path, line: str, doubts: int) -> None:
    rows = [f'"{line}",,', "no,type,weight_g", "1,US half dollar,12.4", "2,US half dollar,12.3"]
    found = of_kind(read(tmp_path, rows), "count")
    assert len(found) == doubts
    assert all("but 2 are listed" in doubt.why for doubt in found)


def test_each_type_may_be_counted_by_itself(tmp_path: Path) -> None:
    rows = ["2 sovereigns and 1 half sovereign", "no,type,weight_g", "1,sovereign,7.97",
            "2,sovereign,7.98", "3,half sovereign,3.98"]  # fmt: skip
    assert of_kind(read(tmp_path, rows), "count") == []


def test_two_rows_of_headers_are_read_as_one(tmp_path: Path) -> None:
    rows = ["Parcel of K-03,,,,", "No,Weight,,Diameter,", ",(g) by A,(g) by B,min,max",
            "1,12.31,12.32,30.5,30.6"]  # fmt: skip
    intake = read(tmp_path, rows)
    roles = [(c.header, c.role) for c in intake.tables[0].columns]
    assert roles == [
        ("No", "coin_id"), ("Weight (g) by A", "weight"), ("Weight (g) by B", "weight"),
        ("Diameter min", "diameter_min"), ("Diameter max", "diameter_max"),
    ]  # fmt: skip
    assert intake.readings["person"].tolist()[:2] == ["A", "B"]
    assert intake.tables[0].title == "Parcel of K-03"


@pytest.fixture
def workbook(tmp_path: Path) -> Path:
    """Two hidden rows, a hidden column, merged cells, formulas with and without values."""
    path = tmp_path / "book.xlsx"
    book = xlsxwriter.Workbook(str(path))
    sheet = book.add_worksheet("Lot")
    sheet.write_row(0, 0, ["No", "Type", "Year", "Wt(g)", "Tray"])
    day = book.add_format({"num_format": "yyyy-mm-dd"})
    for row in range(1, 9):
        sheet.write_row(row, 0, [row, "", 1876, 12.3 + row / 100, "a"])
    sheet.merge_range(1, 1, 8, 1, "US half dollar")
    sheet.merge_range(6, 3, 7, 3, 24.7)
    sheet.write_datetime(2, 2, dt.datetime(1905, 2, 18), day)
    sheet.write_formula(3, 3, "=1/0", None, "#DIV/0!")
    sheet.write_formula(4, 3, "=A1*2", None, 12.41)
    sheet.write_formula(5, 3, "=B9", None, "")
    for row in (3, 5):
        sheet.set_row(row, None, None, {"hidden": True})
    sheet.set_column(4, 4, None, None, {"hidden": True})
    book.close()
    return path


def test_what_a_workbook_hides_is_said(workbook: Path) -> None:
    intake = read_sheets([workbook])
    told = {(d.kind, d.row, d.column): d for d in intake.doubts}
    assert "2 rows are hidden" in told["hidden", 4, "No"].why
    assert "4, 6" in told["hidden", 4, "No"].why
    assert "column E" in told["hidden", 2, "Tray"].why
    assert told["merged", 3, "Type"].why.startswith("the cells of rows 2 to 9")
    assert intake.items["type_text"].tolist() == ["US half dollar"] * 8
    assert "weighed together" in told["merged", 7, "Wt(g)"].why
    assert told["date", 3, "Year"].proposal == "1876"
    error = told["unreadable", 4, "Wt(g)"]
    assert (error.raw, error.kind) == ("#DIV/0!", "unreadable")
    assert told["unreadable", 6, "Wt(g)"].raw == "=B9"
    assert any("3 cells hold formulas" in note for note in intake.tables[0].notes)
    assert intake.readings.set_index("item_id")["value"].max() == 24.7


def test_rounding_that_changes_part_way_is_estimated_by_stretch() -> None:
    frame = honest(200)[["no", "weight_g"]]
    frame.loc[100:139, "weight_g"] = frame.loc[100:139, "weight_g"].round(1)
    intake = read_frame(frame)
    steps = intake.readings["step"].to_numpy()
    assert steps[:99] == pytest.approx(0.01)
    assert steps[101:139] == pytest.approx(0.1)
    assert steps[142:] == pytest.approx(0.01)
    (note,) = intake.tables[0].notes
    assert "in steps of 0.1" in note


def test_rounding_stretches_are_found_in_simulated_columns_and_none_in_even_ones() -> None:
    rng = np.random.default_rng(5)

    def decimals(values: np.ndarray) -> np.ndarray:
        return np.array([len(repr(float(v)).partition(".")[2]) for v in values])

    found = 0
    for _ in range(50):
        even = rng.normal(12.3, 0.2, 300).round(2)
        assert set(steps_in_order(even, decimals(even))) == {0.01}
        changed = even.copy()
        changed[120:150] = rng.normal(12.3, 0.2, 30).round(1)
        steps = steps_in_order(changed, decimals(changed))
        found += bool((steps[122:148] == 0.1).all() and (steps[:115] == 0.01).all())
    assert found == 50


def test_a_stretch_finer_than_the_rest_is_found() -> None:
    rng = np.random.default_rng(6)
    values = rng.normal(12.3, 0.3, 300).round(1)
    values[100:115] = rng.normal(12.3, 0.3, 15).round(2)
    steps = steps_in_order(values, np.where(values == values.round(1), 1, 2))
    assert steps[90] == pytest.approx(0.1)
    assert steps[105] == pytest.approx(0.01)


def test_a_check_of_form_is_one_function_and_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    def first_row(whole):  # type: ignore[no-untyped-def]
        yield block_doubt("merged", 0, whole.table.columns[0].header, "", rows="row 2", text="x")

    monkeypatch.setattr("lotscreen.intake.form_checks.FORM_CHECKS", [*FORM_CHECKS, first_row])
    (doubt,) = read_frame(honest(10)).doubts
    assert doubt.kind == "merged"
