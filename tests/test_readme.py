"""What README.md and DEVELOPERS.md tell is so: commands, options, files, codes, examples."""

from __future__ import annotations

import re
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

from lotscreen import records

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
    door = "import sys; from lotscreen.cli import main; sys.exit(main())"
    run = subprocess.run(
        [sys.executable, "-c", door, *command, "--help"],
        capture_output=True,
        text=True,
        env={"COLUMNS": "200", "NO_COLOR": "1", "PATH": "", "TERM": "dumb"},
    )
    assert run.returncode == 0, run.stderr
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
    assert second.endswith("pytest -q")


def test_commands_in_the_table_are_the_commands_there_are() -> None:
    told = set(re.findall(r"^\| `lotscreen (\w+)", README, re.M))
    listed = _help()
    assert told == {"screen", "read", "types"}
    for command in told:
        assert re.search(rf"\b{command}\b", listed)


def test_options_told_are_options_of_the_commands() -> None:
    told = {o for o in re.findall(r"(?<![\w-])--[a-z]+\b", README) if o not in ("--version",)}
    known = _help() + _help("screen") + _help("read") + _help("types")
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


def test_the_sheet_shown_has_the_headers_that_need_no_question() -> None:
    assert "| coin_id | type | date | weight_g | diameter_mm | thickness_mm |" in README


@pytest.mark.parametrize("example", _blocks(README, "python"))
def test_python_examples_run(example: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    exec(compile(example, "README.md", "exec"), {})
