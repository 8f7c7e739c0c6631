"""Same sheet and settings, same bytes: whatever the hash seed, time zone, language and
number of threads of the machine."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

from lotscreen.cli.exit_codes import ExitCode
from lotscreen.report.outputs import FILES

SAMPLES = Path(__file__).parent.parent / "sample_lots"
DOOR = "import sys; from lotscreen.cli import main; sys.exit(main())"
HERE = {"PYTHONHASHSEED": "1", "TZ": "UTC", "LC_ALL": "C.UTF-8", "OMP_NUM_THREADS": "1"}
THERE = {"PYTHONHASHSEED": "2", "TZ": "Pacific/Auckland", "LC_ALL": "C", "OMP_NUM_THREADS": "4"}


def _digests(sheet: Path, folder: Path, machine: dict[str, str]) -> dict[str, str]:
    run = subprocess.run(
        [sys.executable, "-c", DOOR, "screen", str(sheet), "--out", str(folder)],
        env={**os.environ, **machine},
        capture_output=True,
        text=True,
    )
    assert run.returncode in (ExitCode.DONE, ExitCode.DONE_WITH_DOUBTS), run.stderr
    return {name: hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in FILES}


@pytest.mark.slow
@pytest.mark.parametrize(
    "sheet", ["all_honest.csv", "jar_of_halves.xlsx", "salted_bag.ods", "two_parcels.csv"]
)
def test_another_machine_gives_the_same_bytes(tmp_path: Path, sheet: str) -> None:
    here = _digests(SAMPLES / sheet, tmp_path / "here", HERE)
    assert here == _digests(SAMPLES / sheet, tmp_path / "there", THERE)
