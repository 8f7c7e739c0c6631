"""Reference pieces: rows that say so in four languages are compared with, and not judged."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd
import pytest

from lotscreen import screen, write_outputs
from lotscreen.intake import read_frame
from lotscreen.records import FindingKind, Intake, ItemKind

COLUMNS = ["coin_id", "type", "date", "weight_g", "diameter_mm", "thickness_mm", "note"]
HALF = "US half dollar"


def sheet(*last: list[object]) -> pd.DataFrame:
    """Seven halves, one too few for their thickness to speak, and the rows ``last``."""
    coins = [
        [str(n), HALF, 1940 + n, round(12.38 + 0.01 * n, 2), 30.58, round(2.1 + 0.01 * n, 2), ""]
        for n in range(1, 8)
    ]
    return pd.DataFrame([*coins, *last], columns=COLUMNS)


def row(number: str, type_text: str, note: str = "") -> list[object]:
    return [number, type_text, 1943, 12.42, 30.58, 2.14, note]


def last_item(intake: Intake) -> pd.Series:
    return intake.items.iloc[-1]


@pytest.mark.parametrize(
    "words",
    [
        "reference piece", "Reference coin no. 3", "Vergleichsstück", "Vergleichsmünze 2",
        "pièce de référence", "Pieza de referencia",
    ],
)  # fmt: skip
@pytest.mark.parametrize("place", ["coin_id", "type", "note"])
def test_a_row_that_says_so_is_a_reference_piece(words: str, place: str) -> None:
    said = {"coin_id": ("8", HALF, ""), "type": ("8", HALF, ""), "note": ("8", HALF, "")}[place]
    cells = dict(zip(("coin_id", "type", "note"), said, strict=True)) | {place: words}
    found = read_frame(sheet(row(cells["coin_id"], cells["type"], cells["note"])))
    assert last_item(found)["kind"] == ItemKind.REFERENCE
    assert (found.items["kind"][:-1] == ItemKind.COIN).all()
    assert found.rows_read == 8


def test_a_column_of_kinds_may_say_it() -> None:
    frame = sheet(row("8", HALF)).rename(columns={"note": "kind"})
    frame.loc[7, "kind"] = "Referenz"
    assert last_item(read_frame(frame))["kind"] == ItemKind.REFERENCE


def test_the_type_stands_behind_the_words_or_in_the_row_above() -> None:
    found = read_frame(
        sheet(row("8", "reference piece: US quarter dollar"), row("9", "Vergleichsstück"))
    )
    behind, above = found.items.iloc[-2], found.items.iloc[-1]
    assert behind["type_text"].casefold() == "us quarter dollar"
    assert behind["carried"]["type"] == "reference piece: US quarter dollar"
    assert above["type_text"].casefold() == "us quarter dollar"
    assert [doubt.column for doubt in found.doubts] == ["type"]


@pytest.mark.parametrize("words", ["referenced piece", "reference: page 12", "no reference piece"])
def test_a_remark_about_references_makes_no_reference_piece(words: str) -> None:
    assert last_item(read_frame(sheet(row("8", HALF, words))))["kind"] == ItemKind.COIN


def test_it_lets_thickness_speak_is_counted_and_not_judged(tmp_path: Path) -> None:
    without = screen(sheet())
    made = screen(sheet(row("reference piece", HALF)))
    assert pd.isna(without.findings.z_thickness).all()
    assert pd.notna(made.findings.z_thickness[:7]).all()
    assert made.findings.finding[7] == ""
    assert set(made.findings.finding[:7]) == {FindingKind.CONSISTENT}
    written = write_outputs(made, tmp_path / "out")
    coins = pd.read_csv(written.folder / "coins.csv")
    readings = pd.read_csv(written.folder / "readings.csv")
    told = json.loads(written.json_text)
    assert "reference piece" not in set(coins["coin_id"])
    assert "reference piece" in set(readings["coin_id"])
    assert told["rows"]["reference_pieces"] == told["lots"][0]["reference_rows"] == 1
    assert "8 rows = 8 used + 0 left out: 7 coins, 1 reference piece." in written.summary()
