"""What README.md and DEVELOPERS.md tell is so: commands, options, files, codes, examples."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import fields
from functools import cache
from pathlib import Path

import pandas as pd
import pytest
from typer.testing import CliRunner

from lotscreen import records
from lotscreen.cli import app
from lotscreen.intake import ReadOptions, read_frame
from lotscreen.quantities import GRAIN_G
from lotscreen.settings import Settings

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")

FENCED = re.compile(r"^```(\w*)\n(.*?)^```", re.M | re.S)
LARGEST_PICTURE_BYTES = 200_000


def _blocks(text: str, language: str) -> list[str]:
    return [body for found, body in FENCED.findall(text) if found == language]


@cache
def _help(*command: str) -> str:
    """The help text of a command, as a user sees it on a wide screen."""
    run = CliRunner().invoke(app, [*command, "--help"], env={"COLUMNS": "200"})
    assert run.exit_code == 0, run.output
    return run.stdout


def test_one_paragraph_states_the_job_before_anything_else() -> None:
    title, job, following, *_ = README.split("\n\n")
    assert title == "# lotscreen"
    assert "\n" not in job
    assert not job.startswith(("#", "```", "!", "|"))
    assert following.endswith(":")


def test_the_two_commands_come_first_and_are_one_line_each() -> None:
    """``.ci/run`` takes them from here and runs them as they stand."""
    first, second = [body.strip() for _, body in FENCED.findall(README)[:2]]
    assert "\n" not in first
    assert first.endswith("lotscreen screen sample_lots/all_honest.csv")
    assert "\n" not in second
    assert second.endswith("pytest -q -n 2")


def test_commands_in_the_table_are_the_commands_there_are() -> None:
    told = set(re.findall(r"^\| `lotscreen (\w+)", README, re.M))
    listed = _help()
    assert told == set(re.findall(r"^  (\w+)  ", listed.split("Commands:")[1], re.M))
    for command in told:
        assert re.search(rf"\b{command}\b", listed)


def _helps_below(helps: dict[str, str]) -> Iterator[str]:
    """The help texts of commands that belong to a command."""
    for command, text in helps.items():
        for below in re.findall(r"^  (\w+)  ", text.partition("Commands:")[2], re.M):
            yield _help(command, below)


def test_options_told_are_options_of_the_commands() -> None:
    told = {o for o in re.findall(r"(?<![\w-])--[a-z]+\b", README) if o not in ("--version",)}
    commands = set(re.findall(r"^\| `lotscreen (\w+)", README, re.M))
    helps = {command: _help(command) for command in sorted(commands)}
    known = _help() + "".join(helps.values()) + "".join(_helps_below(helps))
    assert not {option for option in told if option not in known}


def test_exit_codes_told_are_the_codes_of_the_errors() -> None:
    section = README.split("## Exit codes")[1].split("##")[0]
    told = {int(number) for number in re.findall(r"(?:^|· )(\d+) ", section, re.M)}
    errors = [records.LotscreenError, *records.LotscreenError.__subclasses__()]
    assert {error.exit_code for error in errors} <= told


def test_files_named_are_there() -> None:
    for text in (README, DEVELOPERS):
        for link in re.findall(r"\]\(([^)#]+)\)", text):
            assert (ROOT / link).exists(), link
    for named in re.findall(r"`((?:lotscreen|tests|sample_lots|\.ci)/[\w./*]*)`", DEVELOPERS):
        assert list(ROOT.glob(named.rstrip("/"))), named


def test_every_room_is_on_the_map() -> None:
    rooms = {p.name for p in (ROOT / "lotscreen").glob("*.py")} - {"__init__.py", "__main__.py"}
    rooms |= {f"{p.parent.name}/" for p in (ROOT / "lotscreen").glob("*/__init__.py")}
    assert rooms == set(re.findall(r"^\| `([\w./]+)` \|", DEVELOPERS, re.M)) & rooms


def test_the_picture_is_a_small_png() -> None:
    (picture,) = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README)
    content = (ROOT / picture).read_bytes()
    assert content.startswith(b"\x89PNG")
    assert len(content) < LARGEST_PICTURE_BYTES


def _table(after: str) -> list[list[str]]:
    """The cells of the first table after a text, header first."""
    lines = README.split(after, 1)[1].lstrip().split("\n\n")[0].splitlines()
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]
    return [rows[0], *rows[2:]]


def test_the_plainest_sheet_is_understood_without_a_question() -> None:
    header, *rows = _table("The plainest sheet:")
    intake = read_frame(pd.DataFrame(rows, columns=header))
    assert all(column.role for column in intake.tables[0].columns)
    assert intake.items["type_text"].tolist() == ["US half dollar"]
    assert intake.readings["value"].tolist() == [12.41, 30.58, 2.14]
    assert not intake.doubts


def test_the_map_shown_overrules_a_sheet() -> None:
    (text,) = [block for block in _blocks(README, "toml") if "[columns]" in block]
    sheet = pd.DataFrame({"Wt": ["412,5"], "Size": ["38,1"], "Remark": ["toned"]})
    intake = read_frame(sheet, options=ReadOptions(mapping=tomllib.loads(text)))
    assert intake.readings["value"].tolist() == pytest.approx([412.5 * GRAIN_G, 38.1])
    assert intake.items["carried"].iloc[0] == {"Remark": "toned"}


def test_the_settings_told_are_the_settings_there_are() -> None:
    def default(value: float | None) -> str:
        return "none" if value is None else f"{value:g}"

    assert _table('each with its source or "assumed".')[1:] == [
        [f"`{f.name}`", default(f.default), f.metadata["unit"], f.metadata["says"]]
        for f in fields(Settings)
    ]


@pytest.mark.parametrize("example", _blocks(README, "python"))
def test_python_examples_run(example: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    exec(compile(example, "README.md", "exec"), {})
