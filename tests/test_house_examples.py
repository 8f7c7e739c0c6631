"""The examples of DEVELOPERS.md run as they stand: a type, a mechanism, a page, a reader."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from lotscreen.standards import load_standards

TESTS = Path(__file__).parent
PACKAGE = TESTS.parent / "lotscreen"
DEVELOPERS = (TESTS.parent / "DEVELOPERS.md").read_text(encoding="utf-8")

MECHANISM_PROBE = """
import pandas as pd
import lotscreen

weights = [12.5 - 0.004 * k for k in range(30)] + [15.0]
half = {"type": "US half dollar", "date": 1943, "diameter_mm": 30.6}
sheet = pd.DataFrame({"weight_g": weights, **half})
coins = lotscreen.coins_frame(lotscreen.screen(sheet))
print(coins["finding"].iloc[-1], "|", coins["explanations"].iloc[-1])
"""

PAGE_PROBE = """
from report_lot import invented
from lotscreen.report.pdf import all_blocks
from lotscreen.report.view import report_view

print([block.text for block in all_blocks(report_view(invented(40), None, "0.1.0"))
       if isinstance(block, Paragraph) and block.text.startswith("It weighs")])
"""

READER_PROBE = """
import tempfile
from pathlib import Path
from lotscreen.intake import read_sheets

with tempfile.TemporaryDirectory() as folder:
    path = Path(folder) / "lot.words"
    path.write_text("no weight_g\\n1 12.5\\n2 12.4\\n")
    print(read_sheets([path]).readings["value"].tolist())
"""


def _example(language: str, holding: str) -> str:
    blocks = re.findall(rf"^```{language}\n(.*?)^```", DEVELOPERS, re.M | re.S)
    (found,) = [block for block in blocks if holding in block]
    return found


def _told(program: str, folder: Path = TESTS) -> str:
    """What a program prints, run in ``folder`` in a process of its own: the registers of
    this one stay as they are."""
    run = subprocess.run(
        [sys.executable, "-c", program], cwd=folder, capture_output=True, text=True
    )
    assert run.returncode == 0, run.stderr
    return run.stdout.strip()


def test_adding_a_type(tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    own.write_text(_example("toml", "[[type]]"), encoding="utf-8")
    table = load_standards([own])
    assert len(table.types) == len(load_standards().types) + 1
    assert table.get("oz-florin-1851").weight_g == 11.5
    assert table.resolve("Oz florin", 1860).key == "oz-florin-1851"


@pytest.mark.slow
def test_adding_a_mechanism(tmp_path: Path) -> None:
    """In a copy of the package: one function, one line, one name in the words."""
    copy = tmp_path / "lotscreen"
    shutil.copytree(PACKAGE, copy, ignore=shutil.ignore_patterns("__pycache__"))
    with (copy / "evidence" / "mechanisms.py").open("a", encoding="utf-8") as file:
        file.write("\n\n" + _example("python", "MECHANISMS"))
    words = copy / "words" / "findings.toml"
    named = '[explanation]\nloop_left_on = "a loop left on"'
    text = words.read_text(encoding="utf-8").replace("[explanation]", named)
    words.write_text(text, encoding="utf-8")
    finding, explanations = _told(MECHANISM_PROBE, tmp_path).split(" | ")
    assert finding == "set aside"
    assert explanations.startswith("a loop left on")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("register", "probe", "told"),
    [
        ("PAGES", PAGE_PROBE, r"\['It weighs \d+\.\d\d g\.'\]"),
        ("READERS", READER_PROBE, r"\[12\.5, 12\.4\]"),
    ],
)
def test_adding_a_page_or_a_reader(register: str, probe: str, told: str) -> None:
    assert re.fullmatch(told, _told(_example("python", register) + probe))
