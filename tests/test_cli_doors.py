"""The doors, command and package: they open at once, and to what they promise."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

import lotscreen
from lotscreen.cli import app
from lotscreen.cli.common import emit
from lotscreen.cli.exit_codes import ExitCode

ROOT = Path(__file__).parent.parent
# A program of typer with two commands and nothing else, in the same run: how long 0.2 s is
# on this machine. The benchmark of the jar tells the seconds.
LEAST = """
import typer
app = typer.Typer()
@app.command()
def one(sheet: str) -> None: "One."
@app.command()
def two(sheet: str) -> None: "Two."
app()
"""
HEAVY = ("numpy", "pandas", "scipy", "matplotlib", "typst", "pyarrow")
DOOR = "import sys; from lotscreen.cli import main; sys.exit(main())"


def _program(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", DOOR, *arguments],
        capture_output=True,
        text=True,
        env={**os.environ, **environment},
    )


def test_help_answers_at_once_and_imports_nothing_heavy() -> None:
    probe = "import sys, lotscreen.cli; print([m for m in sys.argv[1:] if m in sys.modules])"
    loaded = subprocess.run(
        [sys.executable, "-c", probe, *HEAVY], capture_output=True, text=True, check=True
    )
    assert loaded.stdout.strip() == "[]"

    def seconds(code: str) -> float:
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, "-c", code, "--help"], capture_output=True, check=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime

    ours, least = zip(*((seconds(DOOR), seconds(LEAST)) for _ in range(5)), strict=True)
    assert min(ours) < 1.1 * min(least)


def test_every_command_has_help_and_is_told_in_the_readme() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    commands = app.registered_commands
    assert commands
    for command in commands:
        assert command.help, command.name
        assert f"`lotscreen {command.name}" in readme
        told = CliRunner().invoke(app, [str(command.name), "--help"])
        assert told.exit_code == 0
        assert command.help.split()[0] in told.stdout


def test_the_version_is_one_and_the_same() -> None:
    assert CliRunner().invoke(app, ["--version"]).stdout == f"lotscreen {lotscreen.__version__}\n"


def test_the_python_door_opens_what_it_promises_and_nothing_else() -> None:
    for name in lotscreen.__all__:
        assert getattr(lotscreen, name).__name__ == name
    assert set(lotscreen.__all__) < set(dir(lotscreen))
    with pytest.raises(AttributeError, match="no attribute 'scream'"):
        lotscreen.scream  # noqa: B018


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="/dev/full: no such device here")
def test_a_full_place_for_stdout_is_an_output_error() -> None:
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        run = subprocess.run(
            [sys.executable, "-c", DOOR, "--version"],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
        )
    assert run.returncode == ExitCode.OUTPUT, run.stderr


def test_a_narrow_alphabet_on_stdout_stops_nothing() -> None:
    run = _program("--help", PYTHONIOENCODING="ascii", NO_COLOR="1")
    assert run.returncode == 0
    assert "\x1b" not in run.stdout


def test_cells_steer_no_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    emit("a\x1b[2Jb\n")
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    emit("a\x1b[2Jb\n")
    assert capsys.readouterr().out == "a\x1b[2Jb\na?[2Jb\n"
