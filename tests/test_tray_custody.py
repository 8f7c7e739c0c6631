"""``lotscreen tray custody``: closed at difference zero, and as the set was built, only."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from pdf_text import page_texts
from tray_sets import write_register
from typer.testing import CliRunner, Result

from lotscreen.cli import app


def _run(*words: object) -> Result:
    return CliRunner().invoke(app, ["tray", *map(str, words)])


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A set of two trays."""
    folder = tmp_path_factory.mktemp("trays")
    write_register(folder)
    result = _run("build", folder / "reg.csv", "--out", folder / "out", "--purpose", "certifying",
                  "--trainees", "T01,T02,T03", "--seed", 3, "--name", "C")  # fmt: skip
    assert result.exit_code == 0, result.output
    return folder


def test_custody_closes_at_difference_zero_only(built: Path, tmp_path: Path):
    sheet = pd.read_csv(built / "out" / "custody.csv", dtype=str, keep_default_na=False)
    assert list(sheet.columns) == ["box", "piece", "permission", "tray", "cell", "out", "in"]
    assert sheet["out"].eq("1").all()
    path = tmp_path / "custody.csv"

    def counted(values: list[str]) -> Result:
        sheet.assign(**{"in": values}).to_csv(path, index=False)
        return _run("custody", path, "--set", built / "out")

    going = counted([""] * 50)
    assert (going.exit_code, going.stdout[:16]) == (3, "50 pieces go out")
    closed = counted(["1"] * 50)
    assert (closed.exit_code, closed.stdout) == (0, "50 out, 50 in, difference 0: closed.\n")
    missing = counted(["1"] * 20 + ["0", ""] + ["x"] * 28)
    assert missing.exit_code == 3
    assert "50 out, 48 in, difference 2: NOT closed." in missing.stdout
    assert f"Missing (1): {sheet['piece'][20]} of box {sheet['box'][20]}" in missing.stdout
    assert "Not counted yet (1)" in missing.stdout
    wrong = counted(["1"] * 49 + ["perhaps"])
    assert wrong.exit_code == 4
    assert "row 51, column in: 'perhaps': write 1 for a piece that is back" in wrong.stderr


def test_a_list_that_lost_a_line_is_not_closed(built: Path, tmp_path: Path):
    sheet = pd.read_csv(built / "out" / "custody.csv", dtype=str, keep_default_na=False)
    sheet = sheet.assign(**{"in": "1"})
    path = tmp_path / "custody.csv"
    sheet.drop(index=11).to_csv(path, index=False)
    result = _run("custody", path)
    assert result.exit_code == 4
    gone = sheet.loc[11]
    assert f"no line for tray {gone['tray']}, cell {gone['cell']};" in result.stderr
    sheet[sheet["tray"] == "C-2"].to_csv(path, index=False)
    assert "no line for tray 1 of the set" in _run("custody", path).stderr
    pd.concat([sheet, sheet.iloc[:1]]).to_csv(path, index=False)
    assert f"piece {sheet['piece'][0]} stands in 2 lines" in _run("custody", path).stderr


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda s: s[s["tray"] != "C-2"], "no line for tray C-2 of the set"),
        (
            lambda s: s.replace({"piece": {s["piece"][2]: "P9-999"}}),
            "row 4, column piece: 'P9-999'",
        ),
        (lambda s: s.assign(out=["1", "0"] + ["1"] * 48), "row 3, column out: '0'"),
        (lambda s: s.replace({"cell": {"25": "26"}}), "column cell: '26'"),
    ],
)
def test_a_list_unlike_the_set_is_not_closed(
    built: Path, tmp_path: Path, change: Callable[[pd.DataFrame], pd.DataFrame], told: str
):
    sheet = pd.read_csv(built / "out" / "custody.csv", dtype=str, keep_default_na=False)
    change(sheet.assign(**{"in": "1"})).to_csv(tmp_path / "custody.csv", index=False)
    result = _run("custody", tmp_path / "custody.csv", "--set", built / "out")
    assert result.exit_code == 4
    assert told in result.stderr


def test_without_the_key_only_the_lines_are_counted(built: Path, tmp_path: Path):
    sheet = pd.read_csv(built / "out" / "custody.csv", dtype=str, keep_default_na=False)
    path = tmp_path / "custody.csv"
    sheet[sheet["tray"] == "C-1"].assign(**{"in": "1"}).to_csv(path, index=False)
    result = _run("custody", path)
    assert result.exit_code == 0
    assert "Only the lines of this list were counted" in result.stdout
    assert "no KEY.csv there" in _run("custody", path, "--set", tmp_path).stderr
    (tmp_path / "KEY.csv").write_bytes((built / "out" / "KEY.csv").read_bytes())
    assert "no line for tray C-2 of the set" in _run("custody", path).stderr


def test_a_counted_list_goes_on_paper(built: Path, tmp_path: Path):
    sheet = pd.read_csv(built / "out" / "custody.csv", dtype=str, keep_default_na=False)
    sheet.assign(**{"in": "1"}).to_csv(tmp_path / "custody.csv", index=False)
    words = ("custody", tmp_path / "custody.csv", "--pdf", tmp_path / "back.pdf")
    assert _run(*words).exit_code == 0
    page = page_texts(tmp_path / "back.pdf")[0]
    assert "Custody list, set C" in page
    assert "difference 0: closed" in page
    assert _run(*words).exit_code == 6, "nothing is overwritten"
