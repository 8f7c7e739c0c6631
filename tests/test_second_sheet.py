"""Sheets of second tests as people write them, and the command that takes them."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from typer.testing import CliRunner

from lotscreen.cli import app
from lotscreen.records import InputError
from lotscreen.second_tests.results import SecondResult
from lotscreen.second_tests.sheet import ResultSheet, read_tests

LOT = "sample_lots/two_parcels.csv"


def written(folder: Path, text: str) -> ResultSheet:
    path = folder / "tests.csv"
    path.write_text(text, encoding="utf-8")
    return read_tests(path)


def only(found: ResultSheet) -> SecondResult:
    assert found.not_taken == ()
    (result,) = found.results
    return result


def test_a_german_sheet_with_decimal_commas(tmp_path: Path) -> None:
    found = written(
        tmp_path,
        "Zweite Prüfung (erfunden)\n\nMünznr;Prüfung;Wert;Einheit;Temperatur;Waage;von\n"
        "12;Wasser;10,31;g/cm³;21,5;W1;A2\n12;Klang;;;;;\n13;Magnet;nein;;;;A2\n",
    )
    density, magnet = found.results
    assert (density.coin, density.test, density.value) == ("12", "water_density", 10.31)
    assert (density.temperature_c, density.instrument, density.who) == (21.5, "W1", "A2")
    assert (magnet.test, magnet.word) == ("magnet", "no")
    assert len(found.not_taken) == 1
    assert "row 5" in found.not_taken[0]


@pytest.mark.parametrize(
    ("row", "field", "value"),
    [
        ("7,water density,25.59 g,,,", "immersed_g", 25.59),
        ("7,displaced,2.59,g,,", "displaced_g", 2.59),
        ("7,SG,10310,kg/m3,,", "value", 10.31),
        ("7,conductivity,49.3,MS/m,,", "value", 85.0),
        ("7,ring tone,4.6,kHz,,4.5", "value", 4600.0),
        ("7,ring tone,4.6,kHz,,4.5", "reference", 4500.0),
        ("7,X-ray,899.5,,,", "value", 0.8995),
        ("7,XRF,89.95 %,,,", "value", 0.8995),
        ("7,assay,0.8995,,,", "value", 0.8995),
        ("7,re-weighing,412.5,grain,,", "value", 26.7296),
        ("7,water density,10.3 g/cm3,,22,", "temperature_c", 22.0),
    ],
)
def test_units_are_taken_as_written(tmp_path: Path, row: str, field: str, value: float) -> None:
    found = written(tmp_path, f"coin,test,value,unit,temperature,reference\n{row}\n")
    assert getattr(only(found), field) == pytest.approx(value, rel=1e-5)


@pytest.mark.parametrize(
    ("row", "column", "mend"),
    [
        ("7,water density,10.3,", "unit", "g/cm3 or g"),
        ("7,magnet,perhaps,", "value", "yes, weak, no"),
        ("7,ring tone,4600,", "reference", "known piece"),
        ("7,smell,odd,", "test", "water density"),
        ("7,conductivity,85,furlongs", "unit", "%IACS"),
        (",magnet,no,", "coin", "roll and no"),
        ("7,X-ray,9000,", "value", "per mille"),
        ("7,conductivity,much,", "value", "no number"),
        ("7,water density,-3,g/cm3", "value", "'-3' must be above zero"),
        ("7,water density,0,g/cm3", "value", "'0' must be above zero"),
        ("7,water density,11.1,g,55", "temperature", "holds from 0 to 40"),
    ],
)
def test_a_row_not_taken_says_where_and_what_to_write(
    tmp_path: Path, row: str, column: str, mend: str
) -> None:
    found = written(tmp_path, f"coin,test,value,unit,temperature\n{row}\n")
    assert found.results == ()
    (said,) = found.not_taken
    assert f"tests.csv, sheet tests, row 2, column {column}" in said
    assert mend in said


def test_a_sheet_without_columns_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="coin"):
        written(tmp_path, "a,b\n1,2\n")


def test_a_workbook_is_read_too(tmp_path: Path) -> None:
    path = tmp_path / "tests.xlsx"
    frame = pd.DataFrame(
        {"Roll": [3, 3], "No": [3, 4], "Test": ["magnet", "density"], "Result": ["no", 10.2],
         "Unit": ["", "g/cm3"]}
    )  # fmt: skip
    frame.to_excel(path, index=False)
    first, second = read_tests(path).results
    assert (first.group, first.position) == ("3", 3)
    assert second.value == 10.2


TESTS = """lot;coin;test;value;unit;temperature;instrument;who
K-01;1;water density;10.28;g/cm3;20;b1;A1
K-02;64;magnet;no;;;;A1
K-02;64;magnet;no;;;;A1
K-09;64;magnet;no;;;;A1
"""


def run(folder: Path, *more: str) -> tuple[int, str]:
    path = folder / "tests.csv"
    path.write_text(TESTS, encoding="utf-8")
    found = CliRunner().invoke(app, ["second", LOT, "--tests", str(path), *more])
    return found.exit_code, found.stdout


@pytest.mark.slow
def test_the_command_tells_each_coin_in_80_columns(tmp_path: Path) -> None:
    code, text = run(tmp_path)
    assert code == 3  # a row was not taken: lot K-09 is none
    assert max(map(len, text.splitlines())) <= 80
    assert "Before: " in text
    assert "After: " in text
    assert "2 times" in text
    assert "no probabilities" in text
    assert run(tmp_path) == (code, text)
    told = json.loads(run(tmp_path, "--json")[1])
    assert len(told["coins"]) == 2
    for coin in told["coins"]:
        assert np.isclose(sum(coin["before"].values()), 1.0, atol=1e-3)
        assert np.isclose(sum(coin["after"].values()), 1.0, atol=1e-3)
    assert len(told["not_taken"]) == 1
