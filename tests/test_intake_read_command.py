"""The command ``read``: what it prints of a sheet, and how it ends."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd
import pytest
import typer
from click.testing import Result
from typer.testing import CliRunner

from lotscreen.cli import app
from lotscreen.cli.read import read
from lotscreen.intake import options_from_words, read_sheets

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


def run(*arguments: str | Path, typed: str | None = None) -> Result:
    app = typer.Typer(pretty_exceptions_enable=False)
    app.command()(read)
    return CliRunner().invoke(app, [str(argument) for argument in arguments], input=typed)


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


GRAINS = "no,coin,gr,D1,D2,by\n1,sovereign,123.2,22.05,22.0,A\n2,sovereign,122.9,22.0,22.1,C\n"


@pytest.fixture
def grains(tmp_path: Path) -> Path:
    path = tmp_path / "grains.csv"
    path.write_text(GRAINS)
    return path


def test_the_unit_is_given_as_an_option(grains: Path) -> None:
    result = run(grains, "--unit", "grain")
    assert result.exit_code == 0
    assert "weight in grain" in " ".join(result.stdout.split())
    wrong = run(grains, "--unit", "stone")
    assert wrong.exit_code == 4
    assert "'stone'" in wrong.stderr


def test_away_from_a_terminal_nothing_is_asked(grains: Path) -> None:
    result = run(grains)
    assert result.exit_code == 4
    assert "--unit g or --unit grain" in result.stderr


@pytest.fixture
def at_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("lotscreen.cli.asking._at_terminal", lambda: True)


@pytest.mark.usefixtures("at_terminal")
def test_at_a_terminal_the_unit_is_asked_and_the_answer_used(grains: Path) -> None:
    result = run(grains, typed="what\ngrain\n")
    assert result.exit_code == 0
    assert result.stderr.count("gram or grain?") == 2
    assert "column 'gr'" in result.stderr
    assert "--unit grain" in result.stderr
    assert "weight in grain" in " ".join(result.stdout.split())


@pytest.mark.usefixtures("at_terminal")
@pytest.mark.parametrize("typed", ["", "a\nb\nc\n"])
def test_no_answer_ends_as_away_from_a_terminal(grains: Path, typed: str) -> None:
    result = run(grains, typed=typed)
    assert result.exit_code == 4
    assert "--unit g or --unit grain" in result.stderr


@pytest.mark.parametrize("text", [MESSY, GRAINS, CLEAN])
def test_a_map_written_and_given_back_changes_nothing(tmp_path: Path, text: str) -> None:
    sheet, mapping = tmp_path / "s.csv", tmp_path / "map.toml"
    sheet.write_text(text)
    first = run(sheet, "--unit", "grain", "--write-map", mapping, "--json")
    again = run(sheet, "--map", mapping, "--json")
    before, after = json.loads(first.stdout), json.loads(again.stdout)
    for found in (before, after):
        for column in found["tables"][0]["columns"]:
            column["why"] = ""
    assert before == after
    intakes = [read_sheets([sheet], options) for options in (
        options_from_words([], None, "grain"), options_from_words([], mapping),
    )]  # fmt: skip
    for name in ("items", "readings", "left_out"):
        pd.testing.assert_frame_equal(getattr(intakes[0], name), getattr(intakes[1], name))


def test_an_edited_map_is_obeyed_and_none_is_overwritten(grains: Path, tmp_path: Path) -> None:
    mapping = tmp_path / "map.toml"
    run(grains, "--unit", "grain", "--write-map", mapping)
    text = mapping.read_text()
    assert '"gr" = "weight grain"' in text
    assert '"D2" = { role = "diameter", unit = "mm", repeat = 2 }' in text
    mapping.write_text(text.replace('"gr" = "weight grain"', '"gr" = "weight dwt"'))
    assert "weight in dwt" in " ".join(run(grains, "--map", mapping).stdout.split())
    refused = run(grains, "--unit", "grain", "--write-map", mapping)
    assert refused.exit_code == 6
    assert "map.toml: exists" in refused.stderr.replace("\n", " ")
    assert run(grains, "--unit", "g", "--write-map", tmp_path / "no" / "m.toml").exit_code == 6


def test_a_column_without_header_goes_by_its_letter_in_a_map(tmp_path: Path) -> None:
    sheet, mapping = tmp_path / "s.csv", tmp_path / "m.toml"
    sheet.write_text("no,weight_g,\n1,12.4,17.9\n2,12.3,17.8\n")
    assert "C (carried through)" in " ".join(run(sheet).stdout.split())
    mapping.write_text('[columns]\nC = "diameter mm"\n')
    assert "C diameter in mm" in " ".join(run(sheet, "--map", mapping).stdout.split())


def test_the_screen_takes_the_unit_too(grains: Path, tmp_path: Path) -> None:
    refused = CliRunner().invoke(app, ["screen", str(grains), "--out", str(tmp_path / "a")])
    assert refused.exit_code == 4
    assert "--unit g or --unit grain" in refused.stderr
    done = CliRunner().invoke(
        app, ["screen", str(grains), "--unit", "grain", "--out", str(tmp_path / "b"), "--json"]
    )
    told = json.loads(done.stdout)
    assert done.exit_code == 0
    assert told["run"]["options"]["weight_unit"] == "grain"
    assert told["rows"]["coins"] == 2
