"""A run cut to one lot holds nothing of another consignor's."""

from __future__ import annotations

import io
import json
import zipfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from outputs_lot import COINS_A_LOT, OWN_SHEET, SECRET, mixed
from pdf_text import page_texts

from lotscreen.records import InputError
from lotscreen.report import tables
from lotscreen.report.cut import cut_to_lot
from lotscreen.report.outputs import write_outputs


def _text_of(path: Path) -> str:
    if path.suffix == ".pdf":
        return "\n".join(page_texts(path))
    if path.suffix == ".xlsx":
        with zipfile.ZipFile(io.BytesIO(path.read_bytes())) as book:
            return "\n".join(book.read(name).decode() for name in book.namelist())
    return path.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def cut_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_outputs(mixed(), tmp_path_factory.mktemp("cut") / "run", lot="K-01").folder


def test_no_output_of_a_cut_names_another_lot(cut_folder: Path) -> None:
    texts = {path.name: _text_of(path) for path in sorted(cut_folder.iterdir())}
    assert len(texts) == 7
    others = set(mixed().intake.items.query("lot != 'K-01'")["item_id"])
    for name, text in texts.items():
        for foreign in (SECRET, "K-02", "K-03", OWN_SHEET, *others):
            assert foreign not in text, f"{name} holds {foreign}"
        assert "K-01" in text or name == "left_out.csv"


def test_the_secret_would_be_seen(tmp_path: Path) -> None:
    """Uncut, the very cells that the test above looks for are in the outputs."""
    folder = write_outputs(mixed(), tmp_path / "run").folder
    for name in ("coins.xlsx", "coins.csv", "readings.csv", "left_out.csv", "lot.json"):
        assert SECRET in _text_of(folder / name), name


def test_summary_and_json_of_a_cut_name_no_other_lot(tmp_path: Path) -> None:
    written = write_outputs(mixed(), tmp_path / "run", lot="K-03")
    for text in (written.summary(), written.json_text):
        assert "K-01" not in text
        assert "K-02" not in text
        assert SECRET not in text
        assert "K-03" in text


def test_a_cut_says_that_other_lots_had_a_part_in_the_fit(cut_folder: Path) -> None:
    learned = "learned from all lots of the sheet together"
    assert learned in " ".join(_text_of(cut_folder / "report.pdf").split())
    assert json.loads(_text_of(cut_folder / "lot.json"))["run"]["fitted_with_other_lots"] is True
    made = mixed()
    others = made.table.lot != "K-01"
    alone = replace(
        made, table=replace(made.table, type_key=np.where(others, "", made.table.type_key))
    )
    assert not cut_to_lot(alone, "K-01").fitted_with_others
    assert not made.fitted_with_others


def test_a_cut_changes_no_number_of_its_own_lot() -> None:
    made = mixed()
    whole = tables.coins_frame(made)
    own = whole[whole["lot"] == "K-02"].reset_index(drop=True)
    assert tables.coins_frame(made, "K-02").equals(own)


def test_rows_of_a_sheet_of_its_own_stay_and_shared_ones_go() -> None:
    made = mixed()
    first, third = cut_to_lot(made, "K-01").intake, cut_to_lot(made, "K-03").intake
    assert len(first.left_out) == 0
    assert [row["reason"] for row in third.left_out.to_dict("records")] == ["a heading, not a coin"]
    assert [table.title for table in third.tables] == ["Third"]
    (shared,) = first.tables
    assert shared.title == ""
    assert (shared.first_row, shared.last_row) == (2, 1 + COINS_A_LOT)
    for intake in (first, third):
        assert intake.rows_read == len(intake.items) + len(intake.left_out)
        assert sum(source.rows for source in intake.sources) == intake.rows_read


def test_doubts_go_with_their_item_or_their_sheet() -> None:
    made = mixed()
    kinds = [doubt.kind for doubt in cut_to_lot(made, "K-01").intake.doubts]
    assert kinds == ["decimal slip"]
    assert cut_to_lot(made, "K-01").lots["K-01"].doubts == 1
    assert [d.raw for d in cut_to_lot(made, "K-03").intake.doubts] == ["12.6"]


def test_an_unknown_lot_is_named_with_those_there_are() -> None:
    with pytest.raises(InputError, match=r"'K-9' .* 'K-01', 'K-02', 'K-03'"):
        cut_to_lot(mixed(), "K-9")
