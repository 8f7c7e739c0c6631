"""coins.xlsx: the same as coins.csv, no formula, findings in words and in bold."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import openpyxl
import pandas as pd
import pytest
from openpyxl.workbook import Workbook
from outputs_lot import FORMULA_ROW, mixed

from lotscreen import words
from lotscreen.records import DispositionKind
from lotscreen.report import tables, workbook
from lotscreen.report.workbook import as_found_frame, write_workbook


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("book") / "coins.xlsx"
    write_workbook(mixed(), "1.2.3", "0123456789ab", path)
    return path


@pytest.fixture(scope="module")
def book(path: Path) -> Iterator[Workbook]:
    opened = openpyxl.load_workbook(path)
    yield opened
    opened.close()


def test_sheets_are_named_and_coins_come_first(book: Workbook) -> None:
    assert book.sheetnames == [
        "coins", "how to read", "groups", "left out", "doubts", "corrections", "readings",
        "other rows",
    ]  # fmt: skip
    assert book.active is book["coins"]


def test_coins_are_those_of_the_csv_and_as_found_columns_follow(book: Workbook) -> None:
    made = mixed()
    header, *rows = book["coins"].iter_rows(values_only=True)
    coins = tables.coins_frame(made)
    assert header[: len(coins.columns)] == tuple(coins.columns)
    assert header[len(coins.columns) :] == (
        "new_weight_g", "new_diameter_mm", "new_thickness_mm", "new_by",
        "position", "as found: type", "as found: date", "as found: Remark",
    )  # fmt: skip
    read = pd.DataFrame(rows, columns=list(header))
    assert list(read["coin_id"]) == list(coins["coin_id"])
    assert list(read["finding"]) == list(coins["finding"])
    for name in tables.COIN_DECIMALS:
        written = pd.to_numeric(read[name]).to_numpy(float)
        assert written == pytest.approx(coins[name].to_numpy(float), nan_ok=True), name


def test_no_cell_is_a_formula_and_texts_are_as_found(book: Workbook) -> None:
    kinds = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row}
    assert "f" not in kinds
    row = FORMULA_ROW  # one roll and one check weight stand before it, and one header row
    values = [cell.value for cell in book["coins"][row]]
    assert values[0] == "=1+1"
    assert values[5] == "-A2"
    assert values[-1] == f"@note {FORMULA_ROW}"
    assert book["left out"]["E3"].value == "=HYPERLINK(1)"


def test_bold_marks_what_the_finding_says_and_no_colour_does(book: Workbook) -> None:
    sheet = book["coins"]
    place = [cell.value for cell in sheet[1]].index("finding")
    said = [row[place].value for row in sheet.iter_rows(min_row=2)]
    bold = [row[0].font.b for row in sheet.iter_rows(min_row=2)]
    assert bold == [finding != "consistent" for finding in said]
    assert {True, False} == set(bold)
    fills = {cell.fill.fill_type for row in sheet.iter_rows() for cell in row}
    assert fills == {None}


@pytest.mark.parametrize("name", ["coins", "groups"])
def test_the_empty_disposition_offers_what_a_person_may_decide(book: Workbook, name: str) -> None:
    sheet = book[name]
    (offer,) = sheet.data_validations.dataValidation
    column = [cell.value for cell in sheet[1]].index("disposition")
    letter = sheet.cell(1, column + 1).column_letter
    last = "" if sheet.max_row == 2 else f":{letter}{sheet.max_row}"
    assert str(offer.sqref) == f"{letter}2{last}"
    assert offer.type == "list"
    assert offer.formula1 == '"' + ",".join(kind.value for kind in DispositionKind) + '"'
    assert offer.allow_blank
    assert {row[column].value for row in sheet.iter_rows(min_row=2)} == {None}


def test_header_stays_and_filters(book: Workbook) -> None:
    sheet = book["coins"]
    assert sheet.freeze_panes == "B2"
    assert sheet.auto_filter.ref == f"A1:AM{sheet.max_row}"
    assert sheet.column_dimensions["X"].width > sheet.column_dimensions["D"].width


def test_notes_explain_every_column_and_finding_and_carry_the_cautions(book: Workbook) -> None:
    notes = {row[0]: row[1] for row in book["how to read"].iter_rows(values_only=True) if row[0]}
    texts = [row[1] for row in book["how to read"].iter_rows(values_only=True) if row[1]]
    assert set(tables.COIN_COLUMNS) < set(notes)
    assert {"consistent", "re-measure", "set aside", "not consistent", "not judged"} < set(notes)
    assert set(words.table("cautions")["cautions"]) < set(texts)
    assert any("1.2.3" in text and "0123456789ab" in text for text in texts)
    assert any("0.000001" in text for text in texts)
    assert not any("{" in text for text in texts)


def test_the_same_lot_gives_the_same_bytes_and_no_clock_enters(path: Path, tmp_path: Path) -> None:
    write_workbook(mixed(), "1.2.3", "0123456789ab", tmp_path / "again.xlsx")
    assert (tmp_path / "again.xlsx").read_bytes() == path.read_bytes()
    with zipfile.ZipFile(path) as archive:
        assert {info.date_time[0] for info in archive.infolist()} == {1980}
        assert b"2000-01-01T00:00:00Z" in archive.read("docProps/core.xml")


def test_a_text_too_long_for_a_cell_is_cut_and_says_so(tmp_path: Path) -> None:
    made = mixed()
    reason = made.findings.reason.copy()
    reason[FORMULA_ROW] = "x" * 40_000
    made = replace(made, findings=replace(made.findings, reason=reason))
    write_workbook(made, "1", "", tmp_path / "long.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "long.xlsx")["coins"]
    text = str(sheet.cell(FORMULA_ROW, tables.COIN_COLUMNS.index("reason") + 1).value)
    assert len(text) == 32_767
    assert text.endswith("CSV file)")


def test_more_coins_than_a_sheet_holds_go_on_in_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(workbook, "ROWS_A_SHEET", 50)
    write_workbook(mixed(), "1", "", tmp_path / "many.xlsx")
    book = openpyxl.load_workbook(tmp_path / "many.xlsx")
    pages = [book[name] for name in ("coins", "coins 2", "coins 3")]
    rows = [row[0] for page in pages for row in page.iter_rows(min_row=2, values_only=True)]
    assert rows == list(tables.coins_frame(mixed())["coin_id"])
    assert [page["A1"].value for page in pages] == ["coin_id"] * 3


def test_a_column_called_like_ours_is_carried_beside_it() -> None:
    made = mixed()
    items = made.intake.items.copy()
    items["carried"] = [{"type": "a", "date": "b"} for _ in range(len(items))]
    found = as_found_frame(replace(made, intake=replace(made.intake, items=items)))
    assert len(set(found.columns)) == len(found.columns) == 5
    assert found.iloc[0, 3:].tolist() == ["a", "b"]


def test_a_place_that_cannot_be_written_is_an_os_error(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="No such file"):
        write_workbook(mixed(), "1", "", tmp_path / "missing" / "coins.xlsx")
