"""The sample report in the repository is the report on the sample lot beside it."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from pdf_text import page_texts

from lotscreen import __version__
from lotscreen.report.pdf import write_report
from lotscreen.screening import screen
from lotscreen.settings import Settings

ROOT = Path(__file__).parent.parent
LOT = ROOT / "sample_lots" / "jar_of_halves.xlsx"
SAMPLE = ROOT / "reports" / "sample" / "jar_of_halves.pdf"


def _texts(path: Path, *places: int) -> list[str]:
    """The words of all pages, or of those at ``places``."""
    pages = page_texts(path)
    wanted = [pages[place] for place in places] if places else pages
    return [" ".join(page.split()) for page in wanted]


def test_sample_is_of_the_lot_and_the_settings_in_this_tree() -> None:
    first, last = _texts(SAMPLE, 0, -1)
    digest = hashlib.sha256(LOT.read_bytes()).hexdigest()
    assert digest in last.replace(" ", "").replace("\u200b", "")
    assert Settings().digest() in first
    assert f"lotscreen {__version__}" in first


def test_sample_is_small_enough_to_keep() -> None:
    assert SAMPLE.stat().st_size < 1_000_000
    assert (SAMPLE.parent / "page.png").stat().st_size < 300_000


@pytest.mark.slow
def test_sample_is_what_the_screen_says_today(tmp_path: Path) -> None:
    """Words only: the last digits of a drawing may differ from machine to machine."""
    write_report(screen(LOT), None, __version__, tmp_path / "report.pdf")
    assert _texts(tmp_path / "report.pdf") == _texts(SAMPLE)
