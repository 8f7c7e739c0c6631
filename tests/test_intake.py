"""Sheets of every kind become items and readings; nothing is lost and nothing altered."""

from __future__ import annotations

import hashlib
import itertools
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from lotscreen.intake import READERS, ReadOptions, read_frame, read_sheets
from lotscreen.intake.grid import Sheet
from lotscreen.records import (
    ITEM_COLUMNS,
    LEFT_OUT_COLUMNS,
    READING_COLUMNS,
    InputError,
    Intake,
)

CLEAN = [
    ["coin_id", "type", "date", "weight_g", "diameter_mm", "thickness_mm"],
    ["A-1", "US half dollar", 1876, 12.45, 30.6, 2.15],
    ["A-2", "US half dollar", 1877, 12.31, 30.58, 2.12],
    ["A-3", "US quarter dollar", 1891, 6.18, 24.3, None],
]


def write_csv(path: Path, rows: Sequence[Sequence[object]], separator: str = ",") -> Path:
    lines = (separator.join("" if c is None else str(c) for c in row) for row in rows)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def write_xlsx(path: Path, sheets: dict[str, Sequence[Sequence[object]]]) -> Path:
    book = xlsxwriter.Workbook(str(path))
    for name, rows in sheets.items():
        sheet = book.add_worksheet(name)
        for place, row in enumerate(rows):
            sheet.write_row(place, 0, ["" if c is None else c for c in row])
    book.close()
    return path


def write_ods(path: Path, rows: Sequence[Sequence[object]]) -> Path:
    frame = pd.DataFrame(list(rows[1:]), columns=list(rows[0]))
    with pd.ExcelWriter(path, engine="odf") as writer:
        frame.to_excel(writer, sheet_name="Lot", index=False)
    return path


def write_parquet(path: Path, rows: Sequence[Sequence[object]]) -> Path:
    pd.DataFrame(list(rows[1:]), columns=list(rows[0])).to_parquet(path)
    return path


def check_contract(intake: Intake) -> None:
    """What holds of every intake, whatever the sheet."""
    assert intake.rows_read == len(intake.items) + len(intake.left_out)
    assert intake.rows_read == sum(source.rows for source in intake.sources)
    assert tuple(intake.items.columns) == ITEM_COLUMNS
    assert tuple(intake.readings.columns) == READING_COLUMNS
    assert tuple(intake.left_out.columns) == LEFT_OUT_COLUMNS
    assert intake.items["item_id"].is_unique
    assert not intake.items[["lot", "coin_id"]].duplicated().any()
    assert (intake.items["coin_id"] != "").all()
    assert intake.readings["item_id"].isin(set(intake.items["item_id"])).all()
    assert np.isfinite(intake.readings["value"]).all()
    assert (intake.readings["step"] > 0).all()
    assert set(intake.readings["status"]) <= {"used", "in doubt"}


def weights(intake: Intake) -> list[float]:
    readings = intake.readings[intake.readings["quantity"] == "weight"]
    return [float(value) for value in readings["value"]]


def test_a_clean_sheet_is_understood_without_a_question(tmp_path: Path) -> None:
    path = write_csv(tmp_path / "clean.csv", CLEAN)
    intake = read_sheets([path])
    check_contract(intake)
    assert intake.doubts == ()
    assert len(intake.left_out) == 0
    assert intake.items["coin_id"].tolist() == ["A-1", "A-2", "A-3"]
    assert intake.items["type_text"].tolist() == [row[1] for row in CLEAN[1:]]
    assert intake.items["year"].tolist() == [1876, 1877, 1891]
    assert intake.items["source_row"].tolist() == [2, 3, 4]
    assert intake.items["source_digest"].unique().tolist() == [
        hashlib.sha256(path.read_bytes()).hexdigest()
    ]
    assert weights(intake) == [12.45, 12.31, 6.18]
    assert len(intake.readings) == 8
    assert intake.readings["step"].to_numpy() == pytest.approx(np.full(8, 0.01))
    assert intake.sources[0].name == "clean.csv"
    assert intake.tables[0].header_row == 1
    assert [c.unit for c in intake.tables[0].columns] == ["", "", "", "g", "mm", "mm"]


@pytest.mark.parametrize("suffix", [".csv", ".tsv", ".xlsx", ".ods", ".parquet"])
def test_every_kind_of_file_says_the_same(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"lot{suffix}"
    if suffix == ".xlsx":
        write_xlsx(path, {"Lot": CLEAN})
    elif suffix == ".ods":
        write_ods(path, CLEAN)
    elif suffix == ".parquet":
        write_parquet(path, CLEAN)
    else:
        write_csv(path, CLEAN, "\t" if suffix == ".tsv" else ",")
    found = read_sheets([path])
    plain = read_sheets([write_csv(tmp_path / "plain.csv", CLEAN)])
    check_contract(found)
    assert weights(found) == weights(plain)
    same = ["coin_id", "type_text", "date_text", "year", "source_row", "item_id"]
    pd.testing.assert_frame_equal(found.items[same], plain.items[same])


def test_a_frame_reads_like_a_file(tmp_path: Path) -> None:
    frame = pd.DataFrame(CLEAN[1:], columns=CLEAN[0])
    found = read_frame(frame, "lot")
    check_contract(found)
    plain = read_sheets([write_csv(tmp_path / "lot.csv", CLEAN)])
    assert found.items["item_id"].tolist() == plain.items["item_id"].tolist()
    assert found.items["source_row"].tolist() == [2, 3, 4]
    assert found.sources[0].name == "lot"


def test_an_index_and_missing_values_of_a_frame_do_no_harm() -> None:
    frame = pd.DataFrame(
        {"weight_g": pd.array([12, None, 13], dtype="Int64"), "date": [1876.0, np.nan, 1878.0]},
        index=[9, 9, 9],
    )
    found = read_frame(frame)
    check_contract(found)
    assert weights(found) == [12.0, 13.0]
    assert found.items["year"].tolist() == [1876.0, 1878.0]
    assert found.left_out["reason"].tolist() == ["empty row"]


def test_several_sheets_and_files_with_other_column_orders(tmp_path: Path) -> None:
    turned = [["Dicke", "Gewicht (g)", "Jahr", "Nr"], [2.1, 12.4, 1880, 7], [2.2, 12.2, 1881, 8]]
    book = write_xlsx(tmp_path / "two.xlsx", {"first": CLEAN, "second": turned})
    more = write_csv(tmp_path / "more.csv", [["weight_g"], [9.9]])
    intake = read_sheets([book, more])
    check_contract(intake)
    assert intake.items["coin_id"].tolist() == ["A-1", "A-2", "A-3", "7", "8", "more!2"]
    assert intake.items["order"].tolist() == list(range(6))
    assert [table.sheet for table in intake.tables] == ["first", "second", "more"]
    assert [source.name for source in intake.sources] == ["two.xlsx", "more.csv"]
    by_item = intake.readings.pivot_table(index="item_id", columns="quantity", values="value")
    seventh = by_item.loc[intake.items["item_id"][3]]
    assert (seventh["weight"], seventh["thickness"]) == (12.4, 2.1)


def test_a_sheet_without_a_table_is_left_out_row_by_row(tmp_path: Path) -> None:
    notes = [["Remarks"], [], ["weighed on Monday", "by A"]]
    intake = read_sheets([write_xlsx(tmp_path / "b.xlsx", {"notes": notes, "lot": CLEAN})])
    check_contract(intake)
    assert intake.left_out[["sheet", "row", "raw"]].to_numpy().tolist() == [
        ["notes", 1, "Remarks"],
        ["notes", 3, "weighed on Monday | by A"],
    ]


def test_title_lines_stand_above_the_table(tmp_path: Path) -> None:
    rows = [["Estate of K-01, weight of all: 31 g"], [], ["by A"], *CLEAN]
    intake = read_sheets([write_xlsx(tmp_path / "t.xlsx", {"Lot": rows})])
    check_contract(intake)
    assert intake.tables[0].header_row == 4
    assert intake.tables[0].title == "Estate of K-01, weight of all: 31 g / by A"
    assert intake.items["source_row"].tolist() == [5, 6, 7]


def test_re_sorting_a_sheet_keeps_the_ids() -> None:
    frame = pd.DataFrame(CLEAN[1:], columns=CLEAN[0])
    straight, turned = read_frame(frame), read_frame(frame.iloc[::-1])
    assert straight.items["item_id"].tolist() == turned.items["item_id"].tolist()[::-1]


def test_zeros_behind_and_the_kind_of_file_change_no_id(tmp_path: Path) -> None:
    short = write_csv(tmp_path / "a.csv", [["no", "weight_g"], ["1", "12.5"]])
    long = write_csv(tmp_path / "b.csv", [["no", "weight_g"], ["1", "12.50"]])
    assert (
        read_sheets([short]).items["item_id"].tolist()
        == read_sheets([long]).items["item_id"].tolist()
    )


def test_rows_of_one_content_are_told_apart() -> None:
    found = read_frame(pd.DataFrame({"weight_g": [12.5, 12.5, 12.4, 12.5]}))
    check_contract(found)
    first = found.items["item_id"][0]
    assert found.items["item_id"].tolist()[1::2] == [f"{first}-2", f"{first}-3"]


def test_options_do_not_change_ids() -> None:
    frame = pd.DataFrame(CLEAN[1:], columns=CLEAN[0])
    options = ReadOptions(default_type="x", type_rows=(("2-3", "us-half-1853"),), lot="L")
    assert (
        read_frame(frame, options=options).items["item_id"].tolist()
        == read_frame(frame).items["item_id"].tolist()
    )


def test_adding_a_reader_is_one_function_and_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def read_words(content: bytes, name: str) -> tuple[Sheet, ...]:
        return (Sheet(name, [line.split() for line in content.decode().splitlines()]),)

    monkeypatch.setitem(READERS, ".words", read_words)
    path = tmp_path / "lot.words"
    path.write_text("no weight_g\n1 12.5\n2 12.4\n")
    intake = read_sheets([path])
    check_contract(intake)
    assert weights(intake) == [12.5, 12.4]


def _refusal(paths: Sequence[Path], options: ReadOptions | None = None) -> str:
    with pytest.raises(InputError) as caught:
        read_sheets(paths, options or ReadOptions())
    assert caught.value.exit_code == 4
    return str(caught.value)


def test_files_that_cannot_be_read_are_named_with_the_mend(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(b"%PDF")
    assert "a.pdf" in _refusal([tmp_path / "a.pdf"])
    assert ".xlsx .xlsm .xls .ods" in _refusal([tmp_path / "a.pdf"])
    assert "none.csv" in _refusal([tmp_path / "none.csv"])
    (tmp_path / "empty.csv").write_bytes(b" \n")
    assert "empty" in _refusal([tmp_path / "empty.csv"])
    for name in ("broken.xlsx", "broken.ods", "broken.xls", "broken.parquet"):
        (tmp_path / name).write_bytes(b"PK\x03\x04 this is no workbook")
        assert name in _refusal([tmp_path / name])
    (tmp_path / "folder.csv").mkdir()
    assert "folder.csv" in _refusal([tmp_path / "folder.csv"])
    path = write_csv(tmp_path / "lot.csv", CLEAN)
    copy = write_csv(tmp_path / "copy.csv", CLEAN)
    assert "same content as lot.csv" in _refusal([path, copy])
    assert "no file" in _refusal([])


def test_headers_that_say_nothing_are_shown_with_the_option(tmp_path: Path) -> None:
    path = write_csv(tmp_path / "odd.csv", [["a title"], ["Ordnung", "Zahl"], [1, 12.5], [2, 12.4]])
    message = _refusal([path])
    assert "odd.csv, sheet 'odd', row 2: 'Ordnung', 'Zahl'" in message
    assert "--map" in message


def test_a_table_without_weights_is_refused(tmp_path: Path) -> None:
    path = write_csv(tmp_path / "d.csv", [["no", "diameter_mm"], [1, 30.6]])
    message = _refusal([path])
    assert "weights" in message
    assert "'diameter_mm'" in message


def test_a_header_without_rows_is_refused(tmp_path: Path) -> None:
    assert "no rows" in _refusal([write_csv(tmp_path / "h.csv", CLEAN[:1])])


@pytest.mark.slow
def test_a_hundred_thousand_rows_keep_columns_and_rows() -> None:
    rng = np.random.default_rng(5)
    frame = pd.DataFrame(
        {"no": np.arange(100_000), "weight_g": rng.normal(12.3, 0.1, 100_000).round(2)}
    )
    found = read_frame(frame)
    check_contract(found)
    assert weights(found) == frame["weight_g"].tolist()


CELLS = st.sampled_from(
    ["", " ", "12.5", "12,5", "12.50 g", "17.2 dwt", "n/a", "?", "0", "12.3l", '"', "do.", "-1",
     "US half dollar", "SILVER DOLLARS", "Roll 7", "Subtotal", "Total: 3", "check 20.00", "1891-S",
     "18991", "n.d.", "A-17", "17", "bag 3", "1e9", "≈12.4", "\u00a012.4", "weight_g", "type", "½",
     "9999999999", "x;y", "Münze", "12.4 (?)", "1.234,5", "#REF!", "=1+1"]
)  # fmt: skip
HEADERS = st.lists(
    st.sampled_from(
        ["no", "type", "date", "roll", "bag", "lot", "count", "diameter_mm", "thickness",
         "weight 2", "gross weight", "tare", "by", "remarks", "", "kind", "pos", "D min"]
    ),
    max_size=7,
)  # fmt: skip


@st.composite
def messy_sheets(draw: st.DrawFn) -> tuple[int, list[list[str]]]:
    """Place of the header and the rows of a sheet with one weight column and any cells."""
    headers = [*draw(HEADERS), "weight_g"]
    headers = draw(st.permutations(headers))
    width = len(headers) + draw(st.integers(0, 1))
    body = draw(st.lists(st.lists(CELLS, min_size=0, max_size=width), min_size=1, max_size=12))
    title = draw(st.lists(st.sampled_from([["a title"], [""], ["of", "K-01"]]), max_size=3))
    return len(title), [*title, headers, *body]


FILE_NUMBER = itertools.count()


@given(messy_sheets(), st.sampled_from([",", ";", "\t"]))
@settings(max_examples=150)
def test_no_row_is_lost_and_no_cell_altered(
    tmp_path_factory: pytest.TempPathFactory, sheet: tuple[int, list[list[str]]], separator: str
) -> None:
    _, rows = sheet
    path = tmp_path_factory.getbasetemp() / f"messy-{next(FILE_NUMBER)}.csv"
    quoted = [['"' + c.replace('"', '""') + '"' for c in row] for row in rows]
    path.write_text("\n".join(separator.join(row) for row in quoted) + "\n", encoding="utf-8")
    try:
        intake = read_sheets([path])
    except InputError:
        return
    check_contract(intake)
    last = max(i for i, row in enumerate(rows) if any(c.strip() for c in row)) + 1
    first = intake.tables[0].first_row
    headers = {table.header_row for table in intake.tables[1:]}
    expected = sorted(set(range(first, last + 1)) - headers)
    seen = sorted([*intake.items["source_row"], *intake.left_out["row"]])
    assert seen == expected
    row_of = dict(zip(intake.items["item_id"], intake.items["source_row"], strict=True))
    for item_id, raw in zip(intake.readings["item_id"], intake.readings["raw"], strict=True):
        assert raw in rows[row_of[item_id] - 1]
    for doubt in intake.doubts:
        assert doubt.raw in ["", *rows[doubt.row - 1], *(c.strip() for c in rows[doubt.row - 1])]


ODD_CELLS = st.one_of(
    st.none(),
    st.booleans(),
    st.floats(),
    st.integers(),
    st.text(max_size=5),
    st.dates(),
    st.datetimes(),
    st.times(),
    st.timedeltas(),
)


@pytest.mark.slow
@given(
    st.lists(
        st.tuples(ODD_CELLS, ODD_CELLS, ODD_CELLS, ODD_CELLS, ODD_CELLS), min_size=1, max_size=6
    )
)
@settings(max_examples=80)
def test_cells_of_any_kind_do_no_harm(rows: list[tuple[object, ...]]) -> None:
    headers = ["no", "type", "date", "count", "weight_g"]
    frame = pd.DataFrame(rows, columns=headers, dtype=object)
    try:
        intake = read_frame(frame, options=ReadOptions(weight_unit="g"))
    except InputError:
        return
    check_contract(intake)


@given(st.permutations(range(8)), st.integers(0, 3))
@settings(max_examples=40)
def test_ids_follow_the_content_wherever_the_row_stands(order: list[int], same: int) -> None:
    weight = [12.1, 12.2, 12.3, 12.4, 12.5, 12.6, 12.7, 12.8]
    weight[1 : 1 + same] = [12.1] * same
    frame = pd.DataFrame({"weight_g": weight, "date": [1876] * 8})
    straight = read_frame(frame).items["item_id"]
    moved = read_frame(frame.iloc[order]).items["item_id"]
    assert sorted(straight) == sorted(moved)
    unlike = [i for i in range(8) if weight.count(weight[i]) == 1]
    assert [moved[order.index(i)] for i in unlike] == [straight[i] for i in unlike]
