"""Our words in every output of a run: none is barred. Cells as found are quoted and exempt."""

from __future__ import annotations

import csv
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdf
import pytest
from pdf_text import page_texts

import lotscreen
from lotscreen import words

ROOT = Path(__file__).parent.parent
BARRED = re.compile(r"\b(fake|forge[dr]|forgery|counterfeit|genuin|authentic|guarante)\w*", re.I)
CELLS = ("fake says the seller", "Genuine?", "counterfeit-7", "forged 90")
CELLS_ROW = 5


def _leaves(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield str(key)
            yield from _leaves(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _leaves(inner)


def _text_of(path: Path) -> str:
    if path.suffix == ".pdf":
        pages = "\n".join(page_texts(path))
        about = pypdf.PdfReader(path).metadata or {}
        titles = " ".join(str(value) for value in about.values())
        return f"{pages}\n{titles}".replace("-\n", "")
    if path.suffix == ".xlsx":
        with zipfile.ZipFile(path) as book:
            return "\n".join(book.read(name).decode("utf-8") for name in book.namelist())
    return path.read_text(encoding="utf-8")


def _outputs(sheet: Path, folder: Path) -> dict[str, str]:
    """Every output of a run as text, the screen among them."""
    written = lotscreen.write_outputs(lotscreen.screen(sheet), folder)
    texts = {path.name: _text_of(path) for path in sorted(written.folder.iterdir())}
    return {**texts, "screen": written.summary()}


@pytest.mark.parametrize(
    "name", [path.stem for path in sorted(Path(words.__file__).parent.glob("*.toml"))]
)
def test_no_phrase_on_file_is_barred(name: str) -> None:
    phrases = list(_leaves(words.table(name)))
    assert phrases
    assert not [phrase for phrase in phrases if BARRED.search(phrase)]


def test_no_word_of_a_run_is_barred(tmp_path: Path) -> None:
    texts = _outputs(ROOT / "sample_lots" / "two_parcels.csv", tmp_path / "run")
    assert len(texts) == 8
    for output, text in texts.items():
        assert not BARRED.findall(text), output
    for finding in ("not consistent", "re-measure"):
        assert finding in texts["coins.csv"]
        assert finding in " ".join(texts["report.pdf"].split())


@pytest.fixture(scope="module")
def quoted(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Outputs of a sheet whose cells hold barred words: number, type, date and a remark."""
    folder = tmp_path_factory.mktemp("quoted")
    rows = [
        [f"c{n}", "US half dollar", str(1940 + n), f"{12.35 + 0.01 * n:.2f}", ""] for n in range(12)
    ]
    rows[CELLS_ROW] = [CELLS[2], CELLS[1], CELLS[3], "12.40", CELLS[0]]
    with (folder / "halves.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([["coin_id", "type", "date", "weight_g", "remark"], *rows])
    return _outputs(folder / "halves.csv", folder / "run")


def test_cells_as_found_are_quoted_and_nothing_else_is_barred(quoted: dict[str, str]) -> None:
    for output, text in quoted.items():
        ours = " ".join(text.split())
        for cell in CELLS:
            ours = ours.replace(cell, "")
        assert not BARRED.findall(ours), output
    assert CELLS[2] in quoted["coins.csv"]
    assert CELLS[1] in quoted["coins.csv"]
    assert CELLS[0] in quoted["coins.xlsx"]
