"""The command ``screen``: what it writes and prints, and the exit codes."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

import lotscreen
from lotscreen import screening
from lotscreen.cli import app
from lotscreen.cli.exit_codes import ExitCode
from lotscreen.records import LotscreenError
from lotscreen.report.outputs import FILES

HEADER = ["coin_id", "type", "date", "weight_g", "diameter_mm", "thickness_mm"]
WEIGHTS = (12.41, 12.38, 12.44, 12.47, 12.40, 12.36, 12.45, 12.42, 12.39, 12.43, 12.46, 12.37)


def _sheet(path: Path, odd_weight: str = "", lots: bool = False) -> Path:
    """Twelve plausible halves, and one with ``odd_weight`` where it is given."""
    rows = [
        [f"c{n}", "US half dollar", str(1940 + n), f"{weight:.2f}", "30.58", "2.12"]
        for n, weight in enumerate(WEIGHTS)
    ]
    if odd_weight:
        rows.append(["odd", "US half dollar", "1945", odd_weight, "30.58", "2.12"])
    header = [*HEADER, "lot"] if lots else HEADER
    if lots:
        rows = [[*row, "K-01" if n % 2 else "K-02"] for n, row in enumerate(rows)]
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([header, *rows])
    return path


def _run(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("LOTSCREEN_DEBUG", raising=False)


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    return _sheet(tmp_path / "halves.csv")


def test_one_command_leaves_every_file_and_one_screen(sheet: Path) -> None:
    run = _run("screen", sheet.name)
    assert run.exit_code == ExitCode.DONE, run.output
    (folder,) = Path("reports").iterdir()
    assert folder.name.startswith("halves-")
    assert sorted(path.name for path in folder.iterdir()) == sorted(FILES)
    lines = run.stdout.splitlines()
    assert len(lines) <= 22
    assert max(map(len, lines)) <= 80
    assert "Read 12 rows = 12 used + 0 left out: 12 coins." in lines
    assert f"Written to {folder}/" in lines
    assert "reading" in run.stderr
    assert "reading the sheet" not in run.stdout


def test_the_python_door_gives_what_the_command_gives(sheet: Path) -> None:
    assert _run("screen", sheet, "--out", "command").exit_code == 0
    made = lotscreen.screen(sheet)
    written = lotscreen.write_outputs(made, Path("python"))
    for name in FILES:
        assert (Path("python") / name).read_bytes() == (Path("command") / name).read_bytes(), name
    with (Path("command") / "coins.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    coins = lotscreen.coins_frame(made)
    assert [row["finding"] for row in rows] == list(coins["finding"])
    assert [float(row["p_value"]) for row in rows] == list(coins["p_value"])
    assert written.run in written.json_text


def test_json_goes_to_stdout_alone(sheet: Path) -> None:
    run = _run("screen", sheet, "--out", "out", "--json")
    assert run.exit_code == 0
    assert run.stdout == Path("out/lot.json").read_text(encoding="utf-8")
    assert json.loads(run.stdout)["rows"]["read"] == 12


@pytest.mark.slow
def test_the_same_run_is_found_again_and_another_never_overwrites(sheet: Path) -> None:
    assert _run("screen", sheet, "--out", "out").exit_code == 0
    again = _run("screen", sheet, "--out", "out")
    assert again.exit_code == 0
    assert "already in out/" in again.stdout
    other = _run("screen", sheet, "--out", "out", "--limit", "0.01")
    assert other.exit_code == ExitCode.OUTPUT
    assert "nothing is overwritten" in other.stderr
    assert _run("screen", sheet, "--limit", "0.01").exit_code == 0
    assert _run("screen", sheet).exit_code == 0
    assert len(list(Path("reports").iterdir())) == 2


def test_findings_change_no_exit_code(tmp_path: Path) -> None:
    run = _run("screen", _sheet(tmp_path / "odd.csv", odd_weight="10.30"))
    assert "Pull, " in run.stdout
    assert "odd" in run.stdout
    assert run.exit_code == ExitCode.DONE


def test_a_row_left_out_or_a_doubt_is_told_by_the_exit_code(tmp_path: Path) -> None:
    sheet = _sheet(tmp_path / "halves.csv")
    with sheet.open("a", encoding="utf-8") as file:
        file.write("total,,,148.98,,\n")
    run = _run("screen", sheet)
    assert run.exit_code == ExitCode.DONE_WITH_DOUBTS, run.output
    assert "Read 13 rows = 12 used + 1 left out (left_out.csv): 12 coins." in run.stdout
    (folder,) = Path("reports").iterdir()
    assert "total" in (folder / "left_out.csv").read_text(encoding="utf-8")


def _wrong_standards(tmp_path: Path) -> list[object]:
    path = tmp_path / "own.toml"
    path.write_text("[[type]]\nkey = 3\n", encoding="utf-8")
    return ["--standards", path]


def _wrong_settings(tmp_path: Path) -> list[object]:
    path = tmp_path / "own.toml"
    path.write_text("limits = 3\n", encoding="utf-8")
    return ["--settings", path]


def _used_folder(tmp_path: Path) -> list[object]:
    (tmp_path / "used").mkdir()
    (tmp_path / "used" / "letter.txt").write_text("x", encoding="utf-8")
    return ["--out", tmp_path / "used"]


@pytest.mark.parametrize(
    ("arguments", "code", "named"),
    [
        (lambda _: ["missing.csv"], ExitCode.INPUT, "missing.csv"),
        (lambda _: ["--map", "missing.toml"], ExitCode.INPUT, "missing.toml"),
        (lambda _: ["--lot", "K-9"], ExitCode.INPUT, "the sheet names no lots"),
        (_wrong_standards, ExitCode.STANDARDS_OR_SETTINGS, "own.toml"),
        (_wrong_settings, ExitCode.STANDARDS_OR_SETTINGS, "own.toml: setting 'limits'"),
        (lambda _: ["--limit", "0.9"], ExitCode.STANDARDS_OR_SETTINGS, "limit is 0.9"),
        (_used_folder, ExitCode.OUTPUT, "used is not empty"),
        (lambda _: ["--out", "halves.csv"], ExitCode.OUTPUT, "is a file"),
        (lambda _: ["--out", "halves.csv/deep"], ExitCode.OUTPUT, "halves.csv"),
        (lambda _: ["--check", "20.00"], 2, "20.00=19.98"),
        (lambda _: ["--check", "0=1"], 2, "20.00=19.98"),
        (lambda _: ["--check", "20=0"], 2, "above zero"),
        (lambda _: ["--type", "a", "--type", "b"], 2, "'a' and 'b'"),
        (lambda _: ["--type", "x-3=us-half-1873"], ExitCode.INPUT, "x-3"),
        (lambda _: ["--seed", "-1"], 2, "--seed"),
        (lambda _: ["--nothing"], 2, "--nothing"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_named_with_its_exit_code(
    arguments: object, code: int, named: str, sheet: Path, tmp_path: Path
) -> None:
    assert callable(arguments)
    run = _run("screen", sheet.name, *arguments(tmp_path))
    assert run.exit_code == code, run.output
    assert named in " ".join(run.stderr.split())
    assert "Traceback" not in run.output
    assert run.stdout == ""
    assert not Path("reports").exists()


def test_codes_of_errors_are_in_the_enum() -> None:
    codes = {error.exit_code for error in (LotscreenError, *LotscreenError.__subclasses__())}
    assert codes <= set(ExitCode)
    assert {1, 2}.isdisjoint(set(ExitCode))


def test_a_fault_of_ours_is_told_as_such(sheet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("in the middle")

    monkeypatch.setattr(screening, "screen", broken)
    run = _run("screen", sheet)
    assert run.exit_code == ExitCode.OUR_FAULT
    assert "ZeroDivisionError: in the middle" in run.stderr
    assert "LOTSCREEN_DEBUG" in run.stderr
    monkeypatch.setenv("LOTSCREEN_DEBUG", "1")
    assert isinstance(_run("screen", sheet).exception, ZeroDivisionError)


def test_an_interrupt_leaves_nothing_and_says_so(
    sheet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("lotscreen.report.outputs.write_workbook", interrupted)
    run = _run("screen", sheet)
    assert run.exit_code == ExitCode.INTERRUPTED
    assert "nothing was written" in run.stderr
    assert not Path("reports").exists()


def test_a_lot_of_its_own_is_cut(tmp_path: Path) -> None:
    sheet = _sheet(tmp_path / "two.csv", lots=True)
    run = _run("screen", sheet, "--lot", "K-01", "--out", "one")
    assert run.exit_code == 0, run.output
    assert "Read 6 rows = 6 used + 0 left out: 6 coins." in run.stdout
    for path in Path("one").glob("*.[cj]s*"):
        assert "K-02" not in path.read_text(encoding="utf-8"), path.name


def test_options_reach_the_screening(sheet: Path) -> None:
    arguments = ["--check", "20.00=19.98", "--type", "rows 2-3, 5=us-quarter-1873", "--seed", "7"]
    run = _run("screen", sheet, *arguments, "--limit", "0.01", "--json", "--out", "out")
    told = json.loads(run.stdout)
    assert told["run"]["options"] == {
        "check": [[20.0, 19.98]], "type": ["2-3, 5=us-quarter-1873"],
    }  # fmt: skip
    assert told["run"]["seed"] == 7
    assert told["run"]["settings"]["limit"] == 0.01
    (check,) = told["lots"][0]["checks"]
    assert (check["nominal_g"], check["read_g"]) == (20.0, 19.98)
    with Path("out/coins.csv").open(encoding="utf-8", newline="") as file:
        types = {int(row["source_row"]): row["type"] for row in csv.DictReader(file)}
    assert {row for row, key in types.items() if key == "us-quarter-1873"} == {2, 3, 5}
    assert {key for row, key in types.items() if row not in (2, 3, 5)} == {"us-half-1873"}
