"""A table of malformed sheets, each with the exit code and the message it must get, within
twenty seconds and a gigabyte."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from malformed.makers import MAKERS
from typer.testing import CliRunner

from lotscreen.cli import app

TABLE = Path(__file__).parent / "malformed" / "sheets.toml"
SHEETS: list[dict[str, Any]] = tomllib.loads(TABLE.read_text(encoding="utf-8"))["sheet"]
HOSTILE = (
    "bomb", "lying_bomb", "entities", "shared_string_bomb", "far_corner", "many_empty_columns",
    "repeated_ods", "long_cell", "open_quote", "a_million_commas", "commas_beyond_number",
)  # fmt: skip
SECONDS, KILOBYTES = 20, 1_000_000
READ_EACH = """
import re, sys, time
from pathlib import Path
from lotscreen.cli import app
for path in sys.argv[1:]:
    begin = time.monotonic()
    try:
        app(["read", path])
    except SystemExit as end:
        print(int(end.code), time.monotonic() - begin)
print(re.search(r"VmHWM:\\s+(\\d+) kB", Path("/proc/self/status").read_text()).group(1))
"""


def written(sheet: dict[str, Any], folder: Path) -> Path:
    path = folder / sheet.get("file", "lot.csv")
    content = MAKERS[sheet["made"]]() if "made" in sheet else sheet["text"].encode()
    path.write_bytes(content)
    return path


def read(*arguments: str | Path) -> Result:
    return CliRunner().invoke(app, ["read", *map(str, arguments)])


def test_the_table_is_long_enough_and_names_no_sheet_twice() -> None:
    assert len(SHEETS) >= 80
    assert len({sheet["name"] for sheet in SHEETS}) == len(SHEETS)
    assert {sheet["made"] for sheet in SHEETS if "made" in sheet} == set(MAKERS)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet["name"])
def test_a_malformed_sheet_gets_its_exit_code_and_message(
    sheet: dict[str, Any], tmp_path: Path
) -> None:
    result = read(written(sheet, tmp_path))
    told = " ".join(f"{result.stdout} {result.stderr}".split())
    assert result.exit_code == sheet["exit"], told
    for part in sheet["says"]:
        assert part in told
    assert "Traceback" not in told


@pytest.mark.slow
def test_hostile_files_are_refused_in_little_time_and_memory(tmp_path: Path) -> None:
    """All of them one after the other in a process of their own, whose memory is measured:
    its own peak, as the kernel tells it (what it counts for a child holds the parent's, too)."""
    sheets = [sheet for sheet in SHEETS if sheet.get("made") in HOSTILE]
    paths = []
    for sheet in sheets:
        folder = tmp_path / sheet["made"]
        folder.mkdir()
        paths.append(str(written(sheet, folder)))
    done = subprocess.run(
        [sys.executable, "-c", READ_EACH, *paths],
        capture_output=True, text=True, timeout=SECONDS * len(paths), check=True,
    )  # fmt: skip
    *each, kilobytes = done.stdout.splitlines()
    codes, seconds = zip(*(line.split() for line in each), strict=True)
    assert set(codes) == {"4"}
    assert len(codes) == len(HOSTILE)
    assert max(map(float, seconds)) < SECONDS
    assert int(kilobytes) <= KILOBYTES
    assert len(done.stderr.strip().splitlines()) == len(HOSTILE)  # no complaint of a library


def test_a_file_given_twice_or_not_there_or_a_folder_is_named(tmp_path: Path) -> None:
    one, two = tmp_path / "one.csv", tmp_path / "two.csv"
    for path in (one, two):
        path.write_text("no,weight_g\n1,12.4\n")
    twice = read(one, two)
    assert twice.exit_code == 4
    assert "two.csv: the same content as one.csv" in twice.stderr
    assert read(tmp_path / "none.csv").exit_code == 4
    (tmp_path / "folder.csv").mkdir()
    assert "folder.csv: cannot be opened" in read(tmp_path / "folder.csv").stderr


def test_a_file_that_changes_while_it_is_read_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "lot.csv"
    path.write_text("no,weight_g\n1,12.4\n")
    moments = iter(range(10))
    monkeypatch.setattr("lotscreen.intake.guards._moment", lambda _: (0, next(moments)))
    result = read(path)
    assert result.exit_code == 4
    assert "lot.csv: the file changed while it was read" in result.stderr


def test_a_file_too_large_to_be_a_sheet_is_not_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "lot.csv"
    path.write_text("no,weight_g\n1,12.4\n")
    monkeypatch.setattr("lotscreen.intake.guards.MOST_FILE_BYTES", 10)
    result = read(path)
    assert result.exit_code == 4
    assert "lot.csv: larger than" in result.stderr
