"""The command ``read``: what it prints of a sheet, and how it ends."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from click.testing import Result
from typer.testing import CliRunner

from lotscreen.cli.read import read
from lotscreen.intake import read_sheets

MESSY = """Jar of halves of K-01
Roll,No,Denom,Year,Wt(g),T,Remark
1,1,US half dollar,1876-S,12.31,2.15,
1,2,do.,1877,12.3l,,scratched
,,check weight 20.00,,19.98,,
2,1,US half dollar,18991,12.40,,
2,2,US half dollar,1878,12.41,n/a,
Total,,,,37.12,,
"""
CLEAN = "coin_id,type,date,weight_g\n1,US half dollar,1876,12.45\n2,US half dollar,1877,12.31\n"


@pytest.fixture
def messy(tmp_path: Path) -> Path:
    path = tmp_path / "jar.csv"
    path.write_text(MESSY)
    return path


def run(*arguments: str | Path) -> Result:
    app = typer.Typer(pretty_exceptions_enable=False)
    app.command()(read)
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def test_it_shows_table_columns_units_counts_and_doubts(messy: Path) -> None:
    result = run(messy)
    assert result.exit_code == 3
    text = " ".join(result.stdout.split())
    for part in (
        "jar.csv: 6 rows read",
        "header in row 2, rows 3 to 8, decimal sign '.'",
        "above it: Jar of halves of K-01",
        "Wt(g) weight in g the word 'wt'; g in the header",
        "No place in the roll the numbers begin again",
        "T thickness in mm the word 't'; no unit written, mm taken",
        "Remark (carried through)",
        "6 rows read = 5 used + 1 left out",
        "single coins 4, check weights 1",
        "'jar' row 8: adds up or averages other rows: Total | 37.12",
        "'jar' row 4, Wt(g): '12.3l', perhaps '12.31': not a number",
        "'jar' row 6, Year: '18991', perhaps '1891 / 1899 / 1991'",
        "ditto marks in row 4 are filled with 'US half dollar' from row 3",
    ):
        assert part in text
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_a_clean_sheet_ends_with_0(tmp_path: Path) -> None:
    path = tmp_path / "clean.csv"
    path.write_text(CLEAN)
    result = run(path)
    assert result.exit_code == 0
    assert "2 rows read = 2 used + 0 left out" in result.stdout
    assert "Doubts" not in result.stdout


def test_json_holds_the_same(messy: Path) -> None:
    result = run(messy, "--json")
    found = json.loads(result.stdout)
    intake = read_sheets([messy])
    assert result.exit_code == 3
    assert found["schema"] == "1.0"
    assert found["rows_read"] == found["rows_used"] + found["rows_left_out"] == intake.rows_read
    assert [d["raw"] for d in found["doubts"]] == [d.raw for d in intake.doubts]
    assert found["left_out"][0]["row"] == 8
    assert found["tables"][0]["columns"][4] == {
        "header": "Wt(g)", "role": "weight", "unit": "g", "why": "the word 'wt'; g in the header",
    }  # fmt: skip


def test_several_files_are_named_at_every_place(messy: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.csv"
    other.write_text("no,weight_g\n1,x7\n")
    assert "other.csv 'other' row 2, weight_g: 'x7'" in " ".join(run(messy, other).stdout.split())


def test_map_and_type_are_taken(tmp_path: Path) -> None:
    sheet, mapping = tmp_path / "s.csv", tmp_path / "m.toml"
    sheet.write_text("A,Zahl\n1,12.4\n")
    mapping.write_text('[columns]\nZahl = "weight g"\n')
    result = run(sheet, "--map", mapping, "--type", "2=us-half-1873")
    assert result.exit_code == 0
    assert "Zahl weight in g your map file" in " ".join(result.stdout.split())


def test_what_is_not_understood_ends_with_4_and_the_mend(tmp_path: Path) -> None:
    path = tmp_path / "s.csv"
    path.write_text("no,gr\n1,123.2\n")
    result = run(path)
    assert result.exit_code == 4
    assert result.stdout == ""
    assert "'gr' may be gram or grain" in result.stderr
    assert "--map" in result.stderr


def test_many_doubts_are_cut_short_and_counted(tmp_path: Path) -> None:
    path = tmp_path / "s.csv"
    path.write_text("no,weight_g\n" + "".join(f"{n},12.{n}?\n" for n in range(100)))
    result = run(path)
    assert "Doubts: 100." in result.stdout
    assert "... and 40 more; --json prints all" in result.stdout
