"""What goes wrong in sheets, and the safe treatment of each."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import xlsxwriter

from lotscreen.intake import ReadOptions, load_mapping, options_from_words, read_frame, read_sheets
from lotscreen.quantities import DWT_G, GRAIN_G, INCH_MM
from lotscreen.records import Doubt, InputError, Intake
from lotscreen.standards import load_standards


def read(
    tmp_path: Path, rows: Sequence[str], options: ReadOptions | None = None, name: str = "lot.csv"
) -> Intake:
    """The intake of a text file with these lines; the counts always agree."""
    path = tmp_path / name
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    intake = read_sheets([path], options or ReadOptions())
    assert intake.rows_read == len(intake.items) + len(intake.left_out)
    return intake


def column(intake: Intake, name: str) -> list[object]:
    return [None if value != value else value for value in intake.items[name].tolist()]


def values(intake: Intake, quantity: str) -> list[float]:
    readings = intake.readings[intake.readings["quantity"] == quantity]
    return [float(value) for value in readings["value"]]


def of_kind(intake: Intake, kind: str) -> list[Doubt]:
    return [doubt for doubt in intake.doubts if doubt.kind == kind]


def refused(tmp_path: Path, rows: Sequence[str], options: ReadOptions | None = None) -> str:
    with pytest.raises(InputError) as caught:
        read(tmp_path, rows, options)
    return str(caught.value)


def test_semicolons_comma_decimals_and_dittos(tmp_path: Path) -> None:
    intake = read(
        tmp_path,
        [
            "Lot;Sub;Beschreibung;Jahr;Gewicht;Durchm.;Dicke",
            "K-01;1;Silberdollar USA;1881-S;26,73;38,05;2,81",
            '";2;";1881;26,69;38,10;–',
            "〃;3;do.;1882-CC;1.026,71;38,1;2,80",
        ],
    )
    assert intake.tables[0].decimal_sign == ","
    assert values(intake, "weight") == [26.73, 26.69, 1026.71]
    assert column(intake, "lot") == ["K-01"] * 3
    assert column(intake, "type_text") == ["Silberdollar USA"] * 3
    assert column(intake, "mint_mark") == ["S", "", "CC"]
    assert intake.items["carried"].tolist() == [{}, {"Dicke": "–"}, {}]
    assert [(d.row, d.column) for d in of_kind(intake, "ditto")] == [
        (3, "Lot"),
        (3, "Beschreibung"),
    ]
    assert "rows 3 to 4" in intake.doubts[0].why


def test_a_ditto_with_nothing_above_is_doubted_and_kept(tmp_path: Path) -> None:
    intake = read(tmp_path, ["type;weight_g", "do.;12,5", "do.;12,4"])
    assert column(intake, "type_text") == ["do.", "do."]
    assert len(of_kind(intake, "ditto")) == 2


def test_cells_left_empty_under_a_merged_one_are_filled_with_a_note(tmp_path: Path) -> None:
    rows = ["roll,type,weight_g", "1,US dime,2.4", ",,2.45", ",,2.41", "2,,2.39", ",,2.38"]
    intake = read(tmp_path, rows)
    assert column(intake, "group") == ["1", "1", "1", "2", "2"]
    assert column(intake, "type_text") == ["US dime"] * 5
    assert column(intake, "position") == [1, 2, 3, 1, 2]
    assert {(d.column, d.row) for d in intake.doubts} == {("roll", 3), ("roll", 6), ("type", 3)}


def test_a_column_with_few_empty_cells_is_not_filled(tmp_path: Path) -> None:
    intake = read(tmp_path, ["type,weight_g", "US dime,2.4", ",2.45", "US dime,2.41"])
    assert column(intake, "type_text") == ["US dime", "", "US dime"]
    assert intake.doubts == ()


def test_section_lines_give_the_type_and_totals_are_left_out(tmp_path: Path) -> None:
    intake = read(
        tmp_path,
        [
            "No,Date,Weight (g)",
            "SILVER DOLLARS,,",
            "1,1881,26.70",
            "2,1882,26.71",
            "Subtotal,,53.41",
            "HALF DOLLARS:,,",
            ",,",
            "3,1876,12.40",
            "No,Date,Weight (g)",
            "4,1877,12.41",
            "Grand total,,78.22",
            "weighed by A,,",
        ],
    )
    assert column(intake, "coin_id") == ["1", "2", "3", "4"]
    assert column(intake, "type_text") == ["SILVER DOLLARS"] * 2 + ["HALF DOLLARS"] * 2
    reasons = dict(zip(intake.left_out["row"], intake.left_out["reason"], strict=True))
    assert sorted(reasons) == [2, 5, 6, 7, 9, 11, 12]
    assert "take their type" in reasons[2]
    assert "take their type" in reasons[6]
    assert "adds up" in reasons[5]
    assert "adds up" in reasons[11]
    assert reasons[7] == "empty row"
    assert "header" in reasons[9]
    assert "remark" in reasons[12]


def test_lines_that_open_a_roll_or_a_lot(tmp_path: Path) -> None:
    rows = ["No,Weight (g)", "Lot K-02,", "Roll 7,", "1,12.4", "2,12.3", "Roll 8,", "3,12.2"]
    intake = read(tmp_path, rows)
    assert column(intake, "lot") == ["Lot K-02"] * 3
    assert column(intake, "group") == ["Roll 7", "Roll 7", "Roll 8"]
    assert column(intake, "position") == [1, 2, 1]
    assert len(intake.left_out) == 3


def test_a_numbered_coin_not_measured_is_an_item(tmp_path: Path) -> None:
    intake = read(
        tmp_path, ["no,type,weight_g", "A-1,US dime,2.4", "A-2,,", "17,,", "A-4,US dime,2.5"]
    )
    assert column(intake, "coin_id") == ["A-1", "A-2", "17", "A-4"]
    assert len(intake.left_out) == 0
    assert len(intake.readings) == 2


def test_a_weight_alone_is_enough(tmp_path: Path) -> None:
    intake = read(tmp_path, ["weight_g", "12.4", "12.3", "12.31"])
    assert column(intake, "coin_id") == ["lot!2", "lot!3", "lot!4"]
    assert column(intake, "year") == [None] * 3
    assert column(intake, "position") == [None] * 3


def test_words_for_nothing_are_carried_verbatim(tmp_path: Path) -> None:
    rows = ["no,weight_g,diameter_mm", "1,n/a,30.6", "2,0,illeg.", "3,12.4,–", "4,12.3,30.5"]
    intake = read(tmp_path, rows)
    assert intake.items["carried"].tolist() == [
        {"weight_g": "n/a"},
        {"weight_g": "0", "diameter_mm": "illeg."},
        {"diameter_mm": "–"},
        {},
    ]
    assert intake.doubts == ()


def test_an_unreadable_cell_is_a_doubt_with_place_and_proposal_and_the_row_stays(
    tmp_path: Path,
) -> None:
    intake = read(tmp_path, ["title", "no,weight_g", "1,12.4", "2,12.3l", "3,12.2"])
    assert len(intake.items) == 3
    (doubt,) = intake.doubts
    assert (doubt.source_file, doubt.sheet, doubt.row, doubt.column) == (
        "lot.csv",
        "lot",
        4,
        "weight_g",
    )
    assert (doubt.raw, doubt.kind, doubt.proposal) == ("12.3l", "unreadable", "12.31")
    assert doubt.item_id == intake.items["item_id"][1]
    assert values(intake, "weight") == [12.4, 12.2]
    assert intake.items["carried"][1] == {"weight_g": "12.3l"}


def test_marked_numbers_are_read_in_doubt(tmp_path: Path) -> None:
    intake = read(tmp_path, ["no,weight_g", "1,12.4(?)", "2,≈12.3", "3,12.2"])
    assert values(intake, "weight") == [12.4, 12.3, 12.2]
    assert intake.readings["status"].tolist() == ["in doubt", "in doubt", "used"]
    assert intake.readings["raw"].tolist() == ["12.4(?)", "≈12.3", "12.2"]
    assert all(intake.readings["why"][:2] != "")


def test_the_other_decimal_sign_is_read_with_its_own_and_doubted(tmp_path: Path) -> None:
    intake = read(tmp_path, ["no;weight_g", "1;12.41", "2;12.30", "3;12,25"])
    assert values(intake, "weight") == [12.41, 12.3, 12.25]
    assert [d.raw for d in of_kind(intake, "decimal sign")] == ["12,25"]


def test_units_in_cells(tmp_path: Path) -> None:
    rows = [
        "no,weight,diameter",
        "1,12.5 g,30.6 mm",
        "2,412 1/2 grains,1.5 in",
        "3,17.2 dwt,38.1",
        "4,12.4,",
    ]
    intake = read(tmp_path, rows)
    expected = [12.5, 412.5 * GRAIN_G, 17.2 * DWT_G, 12.4]
    assert values(intake, "weight") == pytest.approx(expected)
    assert values(intake, "diameter") == pytest.approx([30.6, 1.5 * INCH_MM, 38.1])
    assert intake.readings["unit"].tolist() == ["g", "grain", "dwt", "g", "mm", "in", "mm"]


def test_a_unit_that_most_cells_name_holds_for_the_rest(tmp_path: Path) -> None:
    intake = read(tmp_path, ["no,weight", "1,412.5 grains", "2,411.9 grains", "3,410.2"])
    assert values(intake, "weight")[2] == pytest.approx(410.2 * GRAIN_G)
    assert intake.doubts == ()


def test_a_cell_in_another_unit_than_its_header_is_noted(tmp_path: Path) -> None:
    intake = read(tmp_path, ["no,Wt(g)", "1,26.73", "2,17.2 dwt", "3,12.5 gr", "4,26.7 mm"])
    assert values(intake, "weight") == pytest.approx([26.73, 17.2 * DWT_G, 12.5])
    assert [(d.row, d.kind) for d in intake.doubts] == [(3, "unit"), (4, "unit"), (5, "unit")]
    assert intake.readings["status"].tolist() == ["used", "used", "in doubt"]
    assert intake.items["carried"][3] == {"Wt(g)": "26.7 mm"}


@pytest.mark.parametrize(
    "rows",
    [["#,Coin,gr,mm", "1,sovereign,123.2,22.05"], ["#,Coin,weight", "1,sovereign,123.2 gr"],
     ["#,Coin,Gewicht [gr.]", "1,sovereign,123.2"]],
)  # fmt: skip
def test_gr_is_asked_never_guessed(tmp_path: Path, rows: list[str]) -> None:
    message = refused(tmp_path, rows)
    for part in ("lot.csv", "'lot'", "row 2", "123.2", "gram or grain", "--map"):
        assert part in message
    as_grains = read(tmp_path, rows, ReadOptions(weight_unit="grain"))
    assert values(as_grains, "weight") == pytest.approx([123.2 * GRAIN_G])
    as_grams = read(tmp_path, rows, ReadOptions(mapping={"weight_unit": "g"}))
    assert values(as_grams, "weight") == [123.2]


def test_a_median_that_is_no_coins_doubts_the_unit(tmp_path: Path) -> None:
    intake = read(tmp_path, ["no,weight,diameter", "1,412.5,1.5", "2,411,1.49", "3,410.4,1.5"])
    assert {(d.column, d.proposal) for d in of_kind(intake, "unit")} == {
        ("weight", "grain"),
        ("diameter", "in"),
    }
    assert values(intake, "weight") == [412.5, 411, 410.4]


def test_a_row_of_units_below_the_header_belongs_to_it(tmp_path: Path) -> None:
    intake = read(tmp_path, ["no,weight,diameter", ",(grains),(mm)", "1,412.5,38.1"])
    assert values(intake, "weight") == pytest.approx([412.5 * GRAIN_G])
    assert intake.rows_read == 1


def test_dates_are_split_and_kept(tmp_path: Path) -> None:
    rows = ["no,Date/Mint,g", "1,1891-S,7.98", "2,S/1891,7.97", "3,1891/0,7.96", "4,n.d.,7.95",
            "5,18991,7.94", "6,1853 arrows,7.93", "7,?,7.92"]  # fmt: skip
    intake = read(tmp_path, rows)
    assert column(intake, "year") == [1891, 1891, 1891, None, None, 1853, None]
    assert column(intake, "mint_mark") == ["S", "S", "", "", "", "", ""]
    assert column(intake, "date_text") == [row.split(",")[1] for row in rows[1:]]
    assert [(d.row, d.raw) for d in of_kind(intake, "date")] == [(6, "18991")]


def test_a_column_of_mint_marks_of_its_own(tmp_path: Path) -> None:
    intake = read(tmp_path, ["year,mint,weight_g", "1891,CC,12.4", "1892,,12.4", "1893-O,,12.4"])
    assert column(intake, "mint_mark") == ["CC", "", "O"]


def test_a_date_that_became_a_day_is_doubted(tmp_path: Path) -> None:
    path = tmp_path / "day.xlsx"
    book = xlsxwriter.Workbook(str(path))
    sheet = book.add_worksheet("Lot")
    sheet.write_row(0, 0, ["date", "weight_g"])
    day = book.add_format({"num_format": "yyyy-mm-dd"})
    sheet.write_datetime(1, 0, dt.datetime(2004, 5, 1), day)
    sheet.write_number(1, 1, 12.5)
    sheet.write_row(2, 0, [1891, 12.4])
    book.close()
    intake = read_sheets([path])
    assert column(intake, "year") == [None, 1891]
    assert column(intake, "date_text") == ["2004-05-01", "1891"]
    assert [(d.raw, d.kind, d.proposal) for d in intake.doubts] == [("2004-05-01", "date", "2004")]


def test_check_weights_groups_and_bags(tmp_path: Path) -> None:
    rows = [
        "Roll,No,Type,Count,Weight (g)",
        ",check 20.00,,,19.98",
        "1,1,US dime,1,2.41",
        "1,2,US dime,1,2.45",
        "2,,US dime,50,121.0",
        ",,check weight,,20.01",
        ",bag 1,US dime,2000,4830",
        "3,3,US dime,lots,2.40",
    ]
    intake = read(tmp_path, rows)
    assert column(intake, "kind") == ["check", "coin", "coin", "group", "check", "bag", "coin"]
    assert column(intake, "count") == [1, 1, 1, 50, 1, 2000, 1]
    nominal = intake.readings["nominal"].to_numpy()
    assert nominal[0] == 20.0
    assert np.isnan(nominal[1:]).all()
    assert [(d.row, d.kind) for d in intake.doubts] == [(6, "check weight"), (8, "count")]


@pytest.mark.parametrize(
    ("words", "grams"),
    [("check 20.00", 20.0), ("Prüfgewicht 50 g", 50.0), ("poids étalon 20 g (début)", 20.0),
     ("pesa patrón 100", 100.0), ("Check weight no 2: 200 mg", 0.2)],
)  # fmt: skip
def test_stated_values_of_check_weights(tmp_path: Path, words: str, grams: float) -> None:
    intake = read(tmp_path, ["no,weight_g", f"{words},19.98", "1,12.4"])
    assert column(intake, "kind") == ["check", "coin"]
    assert intake.readings["nominal"][0] == pytest.approx(grams)


def test_a_bag_number_in_every_coins_name_makes_no_bags(tmp_path: Path) -> None:
    intake = read(tmp_path, ["no,weight_g", "bag 3-1,5.6", "bag 3-2,5.5", "bag 3-3,5.4"])
    assert column(intake, "kind") == ["coin"] * 3


def test_repeats_by_column_person_and_place(tmp_path: Path) -> None:
    rows = [
        "no,weight_g,by,balance,weight_2_g,by,T1,T2,T3,D min,D max,time",
        "1,12.41,A,B-1,12.42,C,2.10,2.11,2.12,30.5,30.7,09:10",
        "2,12.31,A,B-1,,C,2.08,,2.09,30.4,30.6,09:11",
    ]
    intake = read(tmp_path, rows)
    readings = intake.readings
    first = readings[readings["item_id"] == intake.items["item_id"][0]]
    found = first[["quantity", "repeat", "person", "value"]].to_numpy().tolist()
    assert found == [
        ["weight", 1, "A", 12.41],
        ["weight", 2, "C", 12.42],
        ["thickness", 1, "C", 2.1],
        ["thickness", 2, "C", 2.11],
        ["thickness", 3, "C", 2.12],
        ["diameter_min", 1, "C", 30.5],
        ["diameter_max", 1, "C", 30.7],
    ]
    assert set(first["instrument"]) == {"B-1"}
    assert set(first["time"]) == {"09:10"}
    assert len(readings) == 12


def test_tare_is_noted_and_taken_off_gross_weights_only(tmp_path: Path) -> None:
    intake = read(tmp_path, ["no,weight_g,tare", "1,12.4,1.2 g", "2,12.3,"])
    assert values(intake, "weight") == [12.4, 12.3]
    assert intake.readings["tare"][0] == 1.2
    gross = read(tmp_path, ["no,gross weight (g),tare", "1,13.6,1.2", "2,13.5,"])
    assert values(gross, "weight") == pytest.approx([12.4, 13.5])
    assert gross.readings["raw"].tolist() == ["13.6", "13.5"]
    assert gross.readings["status"].tolist() == ["used", "in doubt"]
    assert [d.kind for d in gross.doubts] == ["tare"]


def test_steps_are_found_column_by_column_and_balance_by_balance() -> None:
    rng = np.random.default_rng(3)
    fine = rng.normal(12.3, 0.2, 60).round(2)
    coarse = rng.normal(12.3, 0.5, 60).round(1)
    frame = pd.DataFrame(
        {
            "balance": ["B-1"] * 60 + ["B-2"] * 60,
            "weight_g": np.concatenate([fine, coarse]),
            "diameter_mm": (rng.normal(30.6, 0.2, 120) / 0.05).round() * 0.05,
        }
    ).round(2)
    readings = read_frame(frame).readings
    weight = readings[readings["quantity"] == "weight"]
    assert weight["step"].to_numpy()[[0, 59, 60, 119]] == pytest.approx([0.01, 0.01, 0.1, 0.1])
    assert readings["step"].to_numpy()[-1] == pytest.approx(0.05)


def test_steps_in_grains_are_kept_in_grams(tmp_path: Path) -> None:
    rows = ["no,grains", "1,412.5", "2,411.9", "3,412.3", "4,411.2"]
    assert read(tmp_path, rows).readings["step"].to_numpy() == pytest.approx(
        np.full(4, 0.1 * GRAIN_G)
    )


def test_repeated_numbers_are_kept_marked_and_listed(tmp_path: Path) -> None:
    intake = read(tmp_path, ["no,weight_g", "51,12.4", "52,12.3", "52,12.2", "52 (2),12.1"])
    assert column(intake, "coin_id") == ["51", "52", "52 (3)", "52 (2)"]
    (doubt,) = of_kind(intake, "number twice")
    assert (doubt.row, doubt.raw) == (4, "52")


def test_one_number_in_two_lots_is_no_repeat(tmp_path: Path) -> None:
    intake = read(tmp_path, ["lot,no,weight_g", "K-01,1,12.4", "K-02,1,12.3"])
    assert column(intake, "coin_id") == ["1", "1"]
    assert intake.doubts == ()


def test_many_repeats_make_one_doubt(tmp_path: Path) -> None:
    rows = [f"{n % 30},{12 + n / 100:.2f}" for n in range(90)]
    intake = read(tmp_path, ["no,weight_g", *rows])
    (doubt,) = of_kind(intake, "number twice")
    assert "60 rows" in doubt.why


def test_numbers_that_begin_again_in_every_roll_are_places(tmp_path: Path) -> None:
    rows = [f"{roll},{n},12.4{n}" for roll in (1, 2, 3) for n in range(1, 6)]
    intake = read(tmp_path, ["Roll,No,Wt(g)", *rows])
    assert column(intake, "position") == [1, 2, 3, 4, 5] * 3
    assert column(intake, "coin_id")[:2] == ["lot!2", "lot!3"]
    assert intake.doubts == ()


def test_bag_and_roll_together_make_the_group(tmp_path: Path) -> None:
    intake = read(tmp_path, ["bag,roll,no,weight_g", "B1,1,1,12.4", "B1,2,2,12.3", ",3,3,12.2"])
    assert column(intake, "group") == ["B1 / 1", "B1 / 2", "3"]


def test_columns_not_understood_are_carried(tmp_path: Path) -> None:
    rows = ["no,weight_g,remarks,estimate,remarks", "1,12.4,scratched,10,x", "2,12.3,,,"]
    intake = read(tmp_path, rows)
    assert intake.items["carried"].tolist() == [
        {"remarks": "scratched", "estimate": "10", "remarks (2)": "x"},
        {},
    ]
    roles = {c.header: (c.role, c.why) for c in intake.tables[0].columns}
    assert roles["estimate"][0] == ""
    assert "carried" in roles["estimate"][1]


def test_of_two_columns_of_one_kind_the_better_word_wins(tmp_path: Path) -> None:
    intake = read(tmp_path, ["no,coin_id,Coin,weight_g", "7,A-1,US half dollar,12.4"])
    assert column(intake, "coin_id") == ["A-1"]
    assert column(intake, "type_text") == ["US half dollar"]
    assert intake.items["carried"][0] == {"no": "7"}


def test_a_second_table_below_with_other_columns(tmp_path: Path) -> None:
    rows = ["no,weight_g", "1,12.4", "", "type,no,weight_g,diameter_mm", "US dime,2,2.4,17.9"]
    intake = read(tmp_path, rows)
    assert values(intake, "weight") == [12.4, 2.4]
    assert column(intake, "source_row") == [2, 5]
    assert [table.header_row for table in intake.tables] == [1, 4]
    assert intake.rows_read == 3


def test_only_the_lot_asked_for(tmp_path: Path) -> None:
    rows = ["lot,no,weight_g,remarks", "K-01,1,12.4,a", "K-02,2,xx1,secret", "K-01,3,12.2,"]
    intake = read(tmp_path, rows, ReadOptions(lot="K-01"))
    assert column(intake, "coin_id") == ["1", "3"]
    assert intake.left_out["row"].tolist() == [3]
    assert "secret" not in str(intake)
    assert intake.doubts == ()
    assert "K-09" in refused(tmp_path, rows, ReadOptions(lot="K-09"))
    numbered = read(tmp_path, ["lot,weight_g", "1,12.4", "2,12.3"], ReadOptions(lot="2"))
    assert values(numbered, "weight") == [12.3]


def test_a_sheet_without_lots_takes_the_name_given(tmp_path: Path) -> None:
    intake = read(tmp_path, ["no,weight_g", "1,12.4"], ReadOptions(lot="K-07"))
    assert column(intake, "lot") == ["K-07"]


def test_types_given_beforehand(tmp_path: Path) -> None:
    rows = ["no,type,weight_g", "1,,12.4", "2,US half dollar,12.3", "3,US half dollar,13.3"]
    options = options_from_words(["UK shilling", "4=us-half-1837"])
    intake = read(tmp_path, rows, options)
    assert column(intake, "type_text") == ["UK shilling", "US half dollar", "us-half-1837"]
    assert intake.items["carried"].tolist() == [{}, {}, {"type": "US half dollar"}]
    assert "no coin stands" in refused(tmp_path, rows, options_from_words(["9-12=us-half-1837"]))
    assert "12-20=us-half-1853" in refused(tmp_path, rows, options_from_words(["x-y=us-half-1837"]))


def test_two_types_for_all_rows_are_refused() -> None:
    with pytest.raises(InputError, match="'us-dime' and 'us-half-1873'"):
        options_from_words(["us-dime", "us-half-1873"])


def test_rows_of_one_sheet_among_several_are_named_with_it(tmp_path: Path) -> None:
    path = tmp_path / "two.xlsx"
    book = xlsxwriter.Workbook(str(path))
    for name in ("a", "b"):
        sheet = book.add_worksheet(name)
        sheet.write_row(0, 0, ["no", "weight_g"])
        sheet.write_row(1, 0, [name, 12.4])
    book.close()
    with pytest.raises(InputError, match="'a!2=us-dime'"):
        read_sheets([path], options_from_words(["2=us-dime"]))
    intake = read_sheets([path], options_from_words(["b!2=us-dime"]))
    assert column(intake, "type_text") == ["", "us-dime"]


def test_a_map_overrides_the_words(tmp_path: Path) -> None:
    path = tmp_path / "map.toml"
    path.write_text(
        'decimal_sign = ","\n[columns]\n"Zahl 1" = "weight grain"\nno = ""\n'
        'd = { role = "thickness", unit = "in" }\n'
    )
    rows = ["no;Zahl 1;d", "1;412,500;0,1", "2;411,900;0,11"]
    intake = read(tmp_path, rows, ReadOptions(mapping=load_mapping(path)))
    assert values(intake, "weight") == pytest.approx([412.5 * GRAIN_G, 411.9 * GRAIN_G])
    assert values(intake, "thickness") == pytest.approx([2.54, 2.794])
    assert intake.items["carried"][0] == {"no": "1"}
    assert intake.tables[0].columns[1].why.startswith("your map")


def test_a_table_without_header_needs_a_map(tmp_path: Path) -> None:
    rows = ["1,US dime,2.41", "2,US dime,2.45"]
    assert "header_row = 0" in refused(tmp_path, rows)
    mapping = {"header_row": 0, "columns": {"A": "coin_id", "B": "type", "C": "weight g"}}
    intake = read(tmp_path, rows, ReadOptions(mapping=mapping))
    assert values(intake, "weight") == [2.41, 2.45]
    assert column(intake, "source_row") == [1, 2]


@pytest.mark.parametrize(
    ("mapping", "part"),
    [
        ({"columns": {"weight_g": "mass"}}, "'mass'"),
        ({"columns": {"weight_g": "weight mm"}}, "'mm'"),
        ({"columns": {"no": "coin_id g"}}, "none"),
        ({"columns": {"Gew.": "weight g"}}, "'no', 'weight_g'"),
        ({"colums": {}}, "'colums'"),
        ({"columns": 3}, "'columns'"),
        ({"header_row": -1}, "header_row"),
        ({"decimal_sign": ";"}, "decimal_sign"),
        ({"weight_unit": "stone"}, "'stone'"),
    ],
)
def test_a_wrong_map_names_the_mend(tmp_path: Path, mapping: dict[str, object], part: str) -> None:
    assert part in refused(tmp_path, ["no,weight_g", "1,12.4"], ReadOptions(mapping=mapping))


def test_a_map_that_is_no_toml_is_named(tmp_path: Path) -> None:
    (tmp_path / "map.toml").write_text("weight = = g")
    with pytest.raises(InputError, match=r"map\.toml"):
        load_mapping(tmp_path / "map.toml")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_encodings_and_hard_spaces(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "e.csv"
    path.write_bytes("Münze;Gewicht\u00a0(g)\nFünf\u00a0Mark;27,5\u00a0g\n".encode(encoding))
    intake = read_sheets([path])
    assert column(intake, "type_text") == ["Fünf Mark"]
    assert values(intake, "weight") == [27.5]
    assert intake.readings["raw"].tolist() == ["27,5\u00a0g"]


def test_the_type_words_of_a_clean_sheet_are_on_file(tmp_path: Path) -> None:
    rows = [
        "coin_id,type,date,weight_g",
        "1,US half dollar,1876,12.4",
        "2,US quarter dollar,1891,6.2",
        "3,US half eagle,1880,8.3",
        "4,UK sovereign,1890,7.97",
    ]
    items = read(tmp_path, rows).items
    table = load_standards()
    keys = [table.resolve(t, y).key for t, y in zip(items["type_text"], items["year"], strict=True)]
    assert all(keys)


def test_a_check_weight_that_is_read_again_is_no_number_twice(tmp_path: Path) -> None:
    rows = ["no,weight_g", "check 20.00,20.00", "1,12.4", "check 20.00,19.99", "1,12.3"]
    intake = read(tmp_path, rows)
    assert [d.row for d in intake.doubts] == [5]
