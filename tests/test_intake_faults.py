"""The twenty-four common faults of a sheet of measurements, each with its safe treatment.

Nothing is altered: what was typed stays with the reading, what is odd is a doubt with a
proposal, and every row is an item or left out with its reason. What only the other coins
can show (a decimal one place off that still reads like a number) is no matter of form: here
it must pass untouched.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lotscreen.intake import ReadOptions, read_frame, read_sheets
from lotscreen.intake.years import year_doubts
from lotscreen.quantities import DWT_G, GRAIN_G, INCH_MM
from lotscreen.records import Doubt, InputError, Intake
from lotscreen.standards import load_standards


def read(
    tmp_path: Path, rows: Sequence[str], mapping: dict[str, object] | None = None,
    name: str = "lot.csv",
) -> Intake:  # fmt: skip
    path = tmp_path / name
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return counted(read_sheets([path], ReadOptions(mapping=mapping)))


def counted(intake: Intake) -> Intake:
    """The intake; used and left out are all rows, and no cell was altered."""
    assert intake.rows_read == len(intake.items) + len(intake.left_out)
    return intake


def of_kind(intake: Intake, kind: str) -> list[Doubt]:
    return [doubt for doubt in intake.doubts if doubt.kind == kind]


def weights(intake: Intake) -> list[float]:
    return [float(v) for v in intake.readings.query("quantity == 'weight'")["value"]]


@pytest.mark.parametrize("typed", ["2.673", "267.3", "27.63", "26.37", "53.46"])
def test_1_2_15_slips_that_read_like_numbers_are_kept_as_typed(tmp_path: Path, typed: str) -> None:
    rows = [f"{n},26.7{n}" for n in range(1, 9)] + [f"9,{typed}"]
    intake = read(tmp_path, ["no,weight_g", *rows])
    assert weights(intake)[-1] == float(typed)
    assert intake.readings["raw"].tolist()[-1] == typed
    assert intake.readings["status"].tolist() == ["used"] * 9


def test_3_swapped_columns_are_kept_as_typed(tmp_path: Path) -> None:
    rows = ["no,weight_g,diameter_mm,thickness_mm", "1,26.73,38.1,2.4", "2,38.1,2.4,26.73"]
    intake = read(tmp_path, rows)
    assert weights(intake) == [26.73, 38.1]


def test_4_a_unit_in_a_cell_is_used_and_doubted(tmp_path: Path) -> None:
    rows = ["no,Wt(g),D (mm)", "1,26.73,38.1", "2,17.2 dwt,1.5 in", "3,412.5 gn,38.1",
            "4,412.5 grains,38.1"]  # fmt: skip
    intake = read(tmp_path, rows)
    assert weights(intake) == pytest.approx([26.73, 17.2 * DWT_G, 412.5, 412.5 * GRAIN_G])
    lengths = intake.readings.query("quantity == 'diameter'")["value"]
    assert lengths.tolist()[1] == pytest.approx(1.5 * INCH_MM)
    assert [d.row for d in of_kind(intake, "unit")] == [3, 3, 5]


def test_5_decimal_signs_are_counted_both_ways(tmp_path: Path) -> None:
    rows = ["no;weight_g", "1;12,41", "2;12,30", "3;12.25", "4;1.234,5"]
    intake = read(tmp_path, rows)
    assert weights(intake) == [12.41, 12.3, 12.25, 1234.5]
    assert any("point in 1 cells and with a decimal comma in 3" in n for n in _notes(intake))
    assert [d.raw for d in of_kind(intake, "decimal sign")] == ["12.25"]


def _notes(intake: Intake) -> list[str]:
    return [note for table in intake.tables for note in table.notes]


def test_5_decimal_commas_between_commas_are_refused(tmp_path: Path) -> None:
    rows = ["no,type,weight,diameter", "1,US dime,2,45,17,9", "2,US dime,2,41,17,8"]
    with pytest.raises(InputError, match="semicolons") as caught:
        read(tmp_path, rows)
    assert "row 2" in str(caught.value)


@pytest.mark.parametrize(
    ("written", "year", "mark"),
    [("1891-S", 1891, "S"), ("1891 CC", 1891, "CC"), ("S/1891", 1891, "S"), ("1891/0", 1891, ""),
     ("1853 arrows", 1853, ""), ("1891D", 1891, "D")],
)  # fmt: skip
def test_6_year_and_mint_mark_are_parted(
    tmp_path: Path, written: str, year: int, mark: str
) -> None:
    intake = read(tmp_path, ["no,date,weight_g", f"1,{written},12.4"])
    assert intake.items["year"].tolist() == [year]
    assert intake.items["mint_mark"].tolist() == [mark]
    assert intake.items["date_text"].tolist() == [written]
    assert intake.doubts == ()


@pytest.mark.parametrize(
    ("typed", "proposal"),
    [("18991", "1891 / 1899 / 1991"), ("8191", "1891"), ("'04", ""), ("45301", "2024-01-10"),
     ("l891", "1891"), ("189S", "1895")],
)  # fmt: skip
def test_7_an_impossible_date_is_a_coin_without_date_and_a_proposal(
    tmp_path: Path, typed: str, proposal: str
) -> None:
    intake = read(tmp_path, ["no,date,weight_g", f"1,{typed},12.4", "2,1891,12.4"])
    (doubt,) = of_kind(intake, "date")
    assert (doubt.raw, doubt.proposal) == (typed, proposal)
    assert np.isnan(intake.items["year"][0])


def test_7_a_year_in_which_the_type_was_not_struck_is_doubted_with_proposals(
    tmp_path: Path,
) -> None:
    rows = [f"{n},US half dollar,{1880 + n},12.4" for n in range(1, 12)]
    intake = read(tmp_path, ["no,type,date,weight_g", *rows, "12,US half dollar,1790,12.4"])
    (doubt,) = year_doubts(intake, load_standards())
    assert (doubt.row, doubt.raw, doubt.column) == (13, "1790", "date")
    assert doubt.proposal == "1890"
    assert "1794" in doubt.why
    assert doubt.item_id == intake.items["item_id"][11]


@pytest.mark.parametrize("ditto", ['"""', "do.", "〃", "''", "id."])
def test_8_dittos_are_filled_with_a_note(tmp_path: Path, ditto: str) -> None:
    ditto = '""""' if ditto == '"""' else ditto
    intake = read(tmp_path, ["type,weight_g", "US dime,2.4", f"{ditto},2.41", f"{ditto},2.42"])
    assert intake.items["type_text"].tolist() == ["US dime"] * 3
    (doubt,) = of_kind(intake, "ditto")
    assert "rows 3 to 4" in doubt.why


@pytest.mark.parametrize("nothing", ["n/a", "NA", "-", "–", "?", "illeg.", "xx", "0", "0.00"])
def test_9_words_for_nothing_are_missing_and_kept(tmp_path: Path, nothing: str) -> None:
    intake = read(tmp_path, ["no,weight_g,diameter_mm", f"1,12.4,{nothing}", f"2,{nothing},30.6"])
    assert len(intake.items) == 2
    assert intake.items["carried"].tolist() == [{"diameter_mm": nothing}, {"weight_g": nothing}]
    assert len(intake.readings) == 2


@pytest.mark.parametrize("filler", ["999", "9999", "999.9"])
def test_9_a_number_for_nothing_is_missing_kept_and_doubted(tmp_path: Path, filler: str) -> None:
    intake = read(tmp_path, ["no,weight_g", f"1,{filler}", "2,12.4"])
    assert weights(intake) == [12.4]
    assert intake.items["carried"][0] == {"weight_g": filler}
    assert [d.raw for d in of_kind(intake, "unreadable")] == [filler]


def test_10_16_blocks_are_named_and_kept() -> None:
    rng = np.random.default_rng(4)
    frame = pd.DataFrame({"no": range(1, 81), "weight_g": rng.normal(12.3, 0.2, 80).round(2),
                          "diameter_mm": rng.normal(30.6, 0.06, 80).round(2)})  # fmt: skip
    frame.loc[60:69, ["weight_g", "diameter_mm"]] = frame.loc[
        10:19, ["weight_g", "diameter_mm"]
    ].to_numpy()
    frame.loc[20:29, "weight_g"] += 0.85
    intake = counted(read_frame(frame))
    assert len(intake.items) == 80
    assert [d.row for d in of_kind(intake, "pasted block")] == [62]
    assert weights(intake)[20:30] == frame["weight_g"].tolist()[20:30]


def test_11_half_filled_rows_are_items(tmp_path: Path) -> None:
    rows = ["no,type,date,weight_g,diameter_mm", "1,US dime,,2.4,", "2,,1891,,17.9", "3,,,,"]
    intake = read(tmp_path, rows)
    assert len(intake.items) == 3
    assert len(intake.readings) == 2


def test_12_sections_become_types_and_totals_are_checked(tmp_path: Path) -> None:
    rows = ["no,weight_g", "US HALF DOLLARS,", "1,12.40", "2,12.31", "Subtotal,24.81",
            "US DIMES,", "3,2.45", "Total,27.16"]  # fmt: skip
    intake = read(tmp_path, rows)
    assert intake.items["type_text"].tolist() == ["US HALF DOLLARS"] * 2 + ["US DIMES"]
    assert [(d.row, d.proposal) for d in of_kind(intake, "total")] == [(5, "24.71")]


def test_13_a_value_that_stands_still_is_named() -> None:
    values = np.random.default_rng(3).normal(5.5, 0.1, 100).round(2)
    values[40:52] = 5.44
    intake = counted(read_frame(pd.DataFrame({"weight_g": values})))
    assert [d.row for d in of_kind(intake, "stuck value")] == [42]
    assert weights(intake) == values.tolist()


def test_14_check_weights_keep_their_place_in_the_order(tmp_path: Path) -> None:
    rows = ["no,weight_g", "check 20.00,20.00", "1,12.4", "2,12.3", "check 20.00,19.96"]
    intake = read(tmp_path, rows)
    assert intake.items["kind"].tolist() == ["check", "coin", "coin", "check"]
    assert intake.readings["nominal"].tolist()[::3] == [20.0, 20.0]
    assert intake.readings["order"].tolist() == [0, 1, 2, 3]


def test_17_rounding_is_estimated_by_stretch() -> None:
    values = np.random.default_rng(3).normal(12.3, 0.2, 120).round(2)
    values[60:90] = values[60:90].round(1)
    intake = counted(read_frame(pd.DataFrame({"weight_g": values})))
    assert intake.readings["step"].to_numpy()[[10, 75, 110]] == pytest.approx([0.01, 0.1, 0.01])
    assert any("rounding changes" in note for note in _notes(intake))


@pytest.mark.parametrize(
    ("cell", "value", "status"),
    [("12.5g", 12.5, "used"), ("≈12.4", 12.4, "in doubt"), ("12.4(?)", 12.4, "in doubt"),
     ("12.4*", 12.4, "in doubt"), ("12.4²", 12.4, "in doubt"), ("12 1/2", 12.5, "used"),
     ("12½", 12.5, "used"), ("<2", None, ""), ("12.4 g", 12.4, "used")],
)  # fmt: skip
def test_18_20_units_marks_fractions_and_hard_spaces(
    tmp_path: Path, cell: str, value: float | None, status: str
) -> None:
    intake = read(tmp_path, ["no,weight (g)", f"1,{cell}", "2,12.31", "3,12.32"])
    found = intake.readings[intake.readings["raw"] == cell]
    if value is None:
        assert found.empty
        assert [d.raw for d in of_kind(intake, "unreadable")] == [cell]
    else:
        assert found["value"].tolist() == [value]
        assert found["status"].tolist() == [status]


def test_18_gr_is_asked(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="gram or grain"):
        read(tmp_path, ["no,weight", "1,12.5 gr"])
    intake = read(tmp_path, ["no,weight", "1,123.2 gr"], {"weight_unit": "grain"})
    assert weights(intake) == pytest.approx([123.2 * GRAIN_G])


@pytest.mark.parametrize(
    ("typed", "meant"), [("12.3l", "12.31"), ("1Z.31", "12.31"), ("12.S1", "12.51"),
                         ("I2.31", "12.31"), ("12.3B", "12.38"), ("O.98", "0.98")],
)  # fmt: skip
def test_19_a_letter_for_a_digit_is_proposed_and_not_used(
    tmp_path: Path, typed: str, meant: str
) -> None:
    intake = read(tmp_path, ["no,weight_g", f"1,{typed}", "2,12.4"])
    (doubt,) = of_kind(intake, "unreadable")
    assert (doubt.raw, doubt.proposal) == (typed, meant)
    assert weights(intake) == [12.4]


def test_22_numbers_missing_and_twice_are_listed(tmp_path: Path) -> None:
    numbers = [*range(1, 51), 52, 52, 53]
    intake = read(tmp_path, ["no,weight_g", *(f"{n},12.{i:02}" for i, n in enumerate(numbers))])
    assert "51" in of_kind(intake, "number missing")[0].why
    assert [d.raw for d in of_kind(intake, "number twice")] == ["52"]
    assert len(set(intake.items["coin_id"])) == 53


def _two_sheets(tmp_path: Path, mapping: dict[str, object] | None) -> Intake:
    one, two = tmp_path / "weights.csv", tmp_path / "sizes.csv"
    one.write_text("no,type,weight_g,by\n1,US dime,2.45,A\n2,US dime,2.41,A\n3,US dime,2.43,A\n")
    two.write_text("D,T,Coin no,weight_g,by\n17.9,1.35,2,2.42,B\n17.8,1.33,1,,B\n17.7,1.3,9,,B\n")
    return counted(read_sheets([one, two], ReadOptions(mapping=mapping)))


def test_23_two_sheets_with_other_columns_are_read_each_with_its_own(tmp_path: Path) -> None:
    intake = _two_sheets(tmp_path, None)
    assert len(intake.items) == 6
    (doubt,) = of_kind(intake, "number twice")
    assert "2 numbers of this table" in doubt.why
    assert doubt.proposal == "same_coins = true"


def test_23_rows_of_one_coin_on_two_sheets_become_one_item_when_said(tmp_path: Path) -> None:
    intake = _two_sheets(tmp_path, {"same_coins": True})
    assert intake.items["coin_id"].tolist() == ["1", "2", "3", "9"]
    second = intake.readings[intake.readings["item_id"] == intake.items["item_id"][1]]
    found = second[["quantity", "repeat", "person", "value"]].to_numpy().tolist()
    assert found == [["weight", 1, "A", 2.41], ["diameter", 1, "B", 17.9],
                     ["thickness", 1, "B", 1.35], ["weight", 2, "B", 2.42]]  # fmt: skip
    assert [row.split("; ")[0] for row in intake.left_out["reason"]] == [
        "the same coin as sheet 'weights' row 3",
        "the same coin as sheet 'weights' row 2",
    ]


def test_23_equal_numbers_of_other_coins_stay_apart(tmp_path: Path) -> None:
    one, two = tmp_path / "a.csv", tmp_path / "b.csv"
    one.write_text("no,type,weight_g\n1,US dime,2.45\n")
    two.write_text("no,type,weight_g\n1,US half dollar,12.4\n")
    intake = counted(read_sheets([one, two], ReadOptions(mapping={"same_coins": True})))
    assert len(intake.items) == 2
    assert len(of_kind(intake, "number twice")) == 1


def test_24_a_stated_count_that_differs_is_said(tmp_path: Path) -> None:
    intake = read(tmp_path, ['"2,000 coins stated",', "no,weight_g", "1,12.4", "2,12.3"])
    (doubt,) = of_kind(intake, "count")
    assert "'2,000 coins' are stated, but 2 are listed" in doubt.why
