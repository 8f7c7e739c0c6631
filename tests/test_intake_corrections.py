"""The round trip: a workbook of results is filled in by persons and screened again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pandas as pd
import pytest
from typer.testing import CliRunner

from lotscreen.cli import app
from lotscreen.intake import ReadOptions, read_sheets
from lotscreen.intake.corrections import weighed_anew
from lotscreen.records import Doubt, InputError, Intake
from lotscreen.report.outputs import write_outputs
from lotscreen.screening import screen

Edit = Callable[[pd.DataFrame], None]


def sheet_text() -> str:
    """Forty halves in two rolls: a check weight, repeats by two persons, a cell nobody can
    read, two diameters, a remark, a roll weighed together, a total."""
    rng = np.random.default_rng(8)
    rows = ["Roll,No,Denom,Year,Count,Wt(g),by,Wt 2 (g),by,D min,D max,T,Remark"]
    for n in range(1, 41):
        w = rng.normal(12.32, 0.06)
        first, again = f"{w:.2f}", f"{w + 0.01:.2f}" if n % 8 == 0 else ""
        first = "12.3l" if n == 5 else first
        first = "13.22" if n == 9 else first
        rows.append(
            f"{(n - 1) // 20 + 1},{n},US half dollar,{1900 + n},,{first},P1,{again},P2,"
            f"{rng.normal(30.55, 0.02):.2f},{rng.normal(30.6, 0.02):.2f},"
            f"{rng.normal(2.1, 0.03):.2f},{'=1+1' if n == 3 else ''}"
        )
    rows.insert(21, ",,check weight 20.00,,,20.01,P1,,,,,,")
    rows.append("1,,US half dollar,,20,246.4,P1,,,,,,")
    rows.append("Total,,,,,,,,,,,,40 coins")
    return "\n".join(rows) + "\n"


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the sheet and the outputs of one run."""
    folder = tmp_path_factory.mktemp("run")
    (folder / "lot.csv").write_text(sheet_text())
    write_outputs(screen(folder / "lot.csv"), folder / "out")
    return folder


@pytest.fixture
def edited(run: Path, tmp_path: Path) -> Callable[..., Path]:
    """A copy of the workbook with ``edit`` done to its coins by a person."""

    def save(edit: Edit, name: str = "coins.xlsx") -> Path:
        book = openpyxl.load_workbook(run / "out" / "coins.xlsx")
        sheet = book["coins"]
        header, *rows = sheet.iter_rows(values_only=True)
        frame = pd.DataFrame(rows, columns=list(header), dtype=object).set_index(
            "coin_id", drop=False
        )
        frame.index = frame.index.astype(str)
        edit(frame)
        for at, row in enumerate(frame.itertuples(index=False, name=None), 2):
            for place, value in enumerate(row, 1):
                sheet.cell(at, place).value = None if value != value else value
        book.save(tmp_path / name)
        return tmp_path / name

    return save


def nothing(_: pd.DataFrame) -> None: ...


def of_coin(intake: Intake, coin: str, quantity: str = "weight") -> list[tuple[Any, ...]]:
    (item,) = intake.items.loc[intake.items["coin_id"] == coin, "item_id"]
    rows = intake.readings[
        (intake.readings["item_id"] == item) & (intake.readings["quantity"] == quantity)
    ]
    return list(rows[["value", "status", "person"]].itertuples(index=False, name=None))


def about_corrections(intake: Intake) -> list[Doubt]:
    return [d for d in intake.doubts if d.kind in ("correction", "disposition")]


def counted(intake: Intake) -> Intake:
    assert intake.rows_read == len(intake.items) + len(intake.left_out)
    return intake


def test_the_workbook_alone_stands_for_its_sheet(run: Path) -> None:
    sheet = read_sheets([run / "lot.csv"])
    book = counted(read_sheets([run / "out" / "coins.xlsx"]))
    own = ["order", "source_file", "source_digest", "source_sheet", "source_row", "carried"]
    pd.testing.assert_frame_equal(
        book.items.drop(columns=own), sheet.items.drop(columns=own), check_dtype=False
    )
    assert book.items["carried"].tolist() == sheet.items["carried"].tolist()
    pd.testing.assert_frame_equal(book.readings, sheet.readings, check_dtype=False)
    assert book.left_out["reason"].tolist() == sheet.left_out["reason"].tolist()
    assert [d.why for d in book.doubts] == [d.why for d in sheet.doubts]
    assert book.corrections.empty


def test_the_table_as_csv_stands_for_the_coins(run: Path) -> None:
    sheet = read_sheets([run / "lot.csv"])
    book = counted(read_sheets([run / "out" / "coins.csv"]))
    coins = sheet.items[sheet.items["kind"] == "coin"]
    assert book.items["item_id"].tolist() == coins["item_id"].tolist()
    assert of_coin(book, "8")[0][0] == pytest.approx(
        np.mean([value for value, _, _ in of_coin(sheet, "8")]), abs=1e-4
    )


@pytest.mark.parametrize(("with_sheet"), [False, True])
def test_a_new_reading_takes_the_place_of_the_old(
    run: Path, edited: Callable[..., Path], with_sheet: bool
) -> None:
    def edit(coins: pd.DataFrame) -> None:
        coins.loc["9", ["new_weight_g", "new_by"]] = [12.32, "P3"]
        coins.loc["5", ["new_weight_g", "new_by"]] = ["12,31", "P3"]
        coins.loc["9", "disposition"] = "Hold"

    paths = [run / "lot.csv"] if with_sheet else []
    intake = counted(read_sheets([*paths, edited(edit)]))
    assert of_coin(intake, "9") == [(13.22, "withdrawn", "P1"), (12.32, "used", "P3")]
    assert of_coin(intake, "5") == [(12.31, "used", "P3")]
    told = intake.corrections.set_index("coin_id")[["old", "new", "person", "outcome"]]
    assert told.loc["9"].tolist() == [13.22, 12.32, "P3", "replaces"]
    assert told.loc["5"].tolist()[1:] == [12.31, "P3", "adds"]
    (item,) = intake.items.loc[intake.items["coin_id"] == "9", "item_id"]
    assert intake.dispositions == {item: "hold"}
    assert about_corrections(intake) == []
    assert intake.readings["why"].tolist().count("replaced by 12.32, measured anew by P3") == 1


def test_no_check_weight_of_the_sheet_speaks_of_a_coin_weighed_only_later(
    run: Path, edited: Callable[..., Path]
) -> None:
    """Replaced or added, a later weight stands alone; one that agrees stands beside the old."""

    def edit(coins: pd.DataFrame) -> None:
        coins.loc["9", ["new_weight_g", "new_by"]] = [12.32, "P3"]
        coins.loc["5", ["new_weight_g", "new_by"]] = [12.31, "P3"]
        coins.loc["7", ["new_weight_g", "new_by"]] = [coins.loc["7", "weight_g"], "P3"]

    both = [run / "lot.csv", edited(edit)]
    intake = read_sheets(both)
    outcomes = intake.corrections.set_index("coin_id")["outcome"]
    assert outcomes.to_dict() == {"5": "adds", "7": "confirms", "9": "replaces"}
    names = intake.items.set_index("item_id")["coin_id"]
    assert {names[item] for item in weighed_anew(intake.readings)} == {"5", "9"}
    table = screen(both, check=[(20.0, 19.0)]).table
    free = table.item_id[~table.suspended]
    assert {names[item] for item in free} == {"5", "9"}


def test_a_new_reading_that_agrees_stands_beside_the_old(edited: Callable[..., Path]) -> None:
    def edit(coins: pd.DataFrame) -> None:
        coins.loc["9", ["new_weight_g", "new_by"]] = [13.23, "P3"]

    intake = read_sheets([edited(edit)])
    assert of_coin(intake, "9") == [(13.22, "used", "P1"), (13.23, "used", "P3")]
    assert intake.corrections["outcome"].tolist() == ["confirms"]


def test_a_new_diameter_takes_the_place_of_both(edited: Callable[..., Path]) -> None:
    def edit(coins: pd.DataFrame) -> None:
        coins.loc["2", ["new_diameter_mm", "new_by"]] = [30.1, "P3"]

    intake = read_sheets([edited(edit)])
    assert of_coin(intake, "2", "diameter_min")[0][1] == "withdrawn"
    assert of_coin(intake, "2", "diameter") == [(30.1, "used", "P3")]


def test_rows_may_be_sorted(run: Path, edited: Callable[..., Path]) -> None:
    def edit(coins: pd.DataFrame) -> None:
        coins.loc["7", ["new_weight_g", "new_by"]] = [12.01, "P3"]
        coins[:] = coins.sort_values("weight_g", ascending=False).to_numpy()

    sheet, book = read_sheets([run / "lot.csv"]), read_sheets([edited(edit)])
    assert book.items["item_id"].tolist() == sheet.items["item_id"].tolist()
    assert of_coin(book, "7")[-1] == (12.01, "used", "P3")


def test_two_persons_who_disagree_are_both_named_and_neither_is_used(
    edited: Callable[..., Path],
) -> None:
    def one(coins: pd.DataFrame) -> None:
        coins.loc["9", ["new_weight_g", "new_by", "disposition"]] = [12.32, "P3", "hold"]
        coins.loc["7", ["new_weight_g", "new_by"]] = [12.01, "P3"]

    def other(coins: pd.DataFrame) -> None:
        coins.loc["9", ["new_weight_g", "new_by", "disposition"]] = [12.62, "P4", "return"]
        coins.loc["7", ["new_weight_g", "new_by"]] = [12.01, "P4"]
        coins.loc["6", "lot"] = "changes the bytes"

    intake = counted(read_sheets([edited(one, "a.xlsx"), edited(other, "b.xlsx")]))
    assert of_coin(intake, "9") == [(13.22, "used", "P1")]
    assert of_coin(intake, "7")[-1] == (12.01, "used", "P3")
    assert len(intake.items) == 42
    conflict, disposition = about_corrections(intake)
    assert "12.32 by P3 in a.xlsx, 12.62 by P4 in b.xlsx" in conflict.why
    assert "neither" in disposition.why
    assert intake.dispositions == {}


def _number_typed_over(coins: pd.DataFrame) -> None:
    coins.loc["9", "weight_g"] = 12.32


def _no_number(coins: pd.DataFrame) -> None:
    coins.loc["9", ["new_weight_g", "new_by"]] = ["12.3l", "P3"]


def _grains(coins: pd.DataFrame) -> None:
    coins.loc["9", ["new_weight_g", "new_by"]] = ["190.2 grains", "P3"]


def _nobody(coins: pd.DataFrame) -> None:
    coins.loc["9", "new_weight_g"] = 12.32


def _no_disposition(coins: pd.DataFrame) -> None:
    coins.loc["9", "disposition"] = "melt"


def _no_such_coin(coins: pd.DataFrame) -> None:
    coins.loc["9", ["item_id", "new_weight_g", "new_by"]] = ["0" * 16, 12.32, "P3"]


@pytest.mark.parametrize(
    ("edit", "says", "used"),
    [
        (_number_typed_over, "belongs in the column of new ones", False),
        (_no_number, "the old reading stays", False),
        (_grains, "the old reading stays", False),
        (_nobody, "who measured anew", True),
        (_no_disposition, "pay, hold, return, refer", False),
        (_no_such_coin, "not in the sheets given", False),
    ],
)
def test_what_is_filled_in_wrongly_is_said(
    run: Path, edited: Callable[..., Path], edit: Edit, says: str, used: bool
) -> None:
    intake = counted(read_sheets([run / "lot.csv", edited(edit)]))
    (doubt,) = about_corrections(intake)
    assert says in doubt.why
    assert doubt.source_file == "coins.xlsx"
    assert of_coin(intake, "9")[-1][0] == (12.32 if used else 13.22)


def test_a_doubt_about_a_replaced_cell_is_settled(run: Path, edited: Callable[..., Path]) -> None:
    def edit(coins: pd.DataFrame) -> None:
        coins.loc["5", ["new_weight_g", "new_by"]] = [12.31, "P3"]

    unread = [d for d in read_sheets([run / "lot.csv"]).doubts if d.raw == "12.3l"]
    assert len(unread) == 1
    for paths in ([], [run / "lot.csv"]):
        intake = read_sheets([*paths, edited(edit)])
        assert not [d for d in intake.doubts if d.raw == "12.3l"]


def test_a_row_added_or_doubled_in_the_workbook_is_left_out(edited: Callable[..., Path]) -> None:
    def edit(coins: pd.DataFrame) -> None:
        coins.loc["new"] = [None] * len(coins.columns)
        coins.loc["new", ["coin_id", "weight_g"]] = ["41", 12.3]
        coins.loc["double"] = coins.loc["9"].to_numpy()

    intake = counted(read_sheets([edited(edit)]))
    assert len(intake.items) == 42
    reasons = " ".join(intake.left_out["reason"])
    assert "without an id" in reasons
    assert "second row of the same coin" in reasons


@pytest.mark.parametrize("name", ["readings.csv", "left_out.csv", "groups.csv"])
def test_other_outputs_are_known_as_such(run: Path, name: str) -> None:
    with pytest.raises(InputError, match="a table that lotscreen wrote itself"):
        read_sheets([run / "out" / name])


def test_one_lot_and_types_can_be_chosen_of_a_workbook(edited: Callable[..., Path]) -> None:
    def edit(coins: pd.DataFrame) -> None:
        coins["lot"] = ["K-1"] * 30 + ["K-2"] * 10

    options = ReadOptions(lot="K-2", type_rows=(("32-41", "us-half-1873"),))
    intake = counted(read_sheets([edited(edit)], options))
    assert len(intake.items) == 10
    assert set(intake.items["type_text"]) == {"us-half-1873"}


def test_screened_again_the_correction_counts_and_is_told(
    edited: Callable[..., Path], tmp_path: Path
) -> None:
    def edit(coins: pd.DataFrame) -> None:
        coins.loc["9", ["new_weight_g", "new_by", "disposition"]] = [12.32, "P3", "pay"]

    path = edited(edit)
    result = CliRunner().invoke(app, ["screen", str(path), "--out", str(tmp_path / "again")])
    assert result.exit_code == 3, result.output
    coins = pd.read_excel(tmp_path / "again" / "coins.xlsx", engine="calamine", dtype=str)
    nine = coins[coins["coin_id"] == "9"].iloc[0]
    assert (nine["weight_g"], nine["disposition"]) == ("12.32", "pay")
    assert coins["new_weight_g"].isna().all()
    told = pd.read_excel(
        tmp_path / "again" / "coins.xlsx", sheet_name="corrections", engine="calamine"
    )
    assert told[["coin_id", "old", "new", "person"]].to_numpy().tolist() == [
        [9, 13.22, 12.32, "P3"]
    ]
    shown = CliRunner().invoke(app, ["read", str(path)])
    assert "coin 9: weight 13.22 replaced by 12.32, measured anew by P3" in " ".join(
        shown.stdout.split()
    )
