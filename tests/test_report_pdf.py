"""The PDF report: what stands in it, that it can be read by all, and that it is the same
every time."""

from __future__ import annotations

import re
import shutil
import subprocess
from functools import cache
from io import BytesIO
from pathlib import Path

import pypdf
import pytest
from pdf_text import page_texts
from report_lot import invented

from lotscreen.records import InputError, OutputError
from lotscreen.report.pdf import report_bytes, write_report
from lotscreen.report.view import report_view
from lotscreen.words import table

BARRED = re.compile(r"\b(fake|forge[dr]|forger|counterfeit|genuine|authentic|guarantee)", re.I)


@cache
def _halves() -> bytes:
    """The report of one invented lot of halves."""
    return report_bytes(report_view(invented(400), None, "0.1.0"))


@cache
def _texts(pdf: bytes) -> list[str]:
    return page_texts(pdf)


def _joined(pdf: bytes) -> str:
    return " ".join(" ".join(_texts(pdf)).split())


def test_page_one_answers_in_words() -> None:
    first = " ".join(_texts(_halves())[0].split())
    for words in (
        "398 coins judged",
        "Of the 8 put apart, about 3 are probably honest",
        "What to do next",
        "Put 6 coins back on the scale: Roll 1, no. 20",
        "What came in",
        "430 rows",
        "19.95 g",
        "What this screen cannot see",
        "a copy struck in the right alloy",
    ):
        assert words in first.replace("\u202f", " ").replace("\u00a0", " ")


def test_all_cautions_are_printed() -> None:
    text = _joined(_halves())
    cautions = table("cautions")["cautions"]
    assert len(cautions) == 12
    for caution in cautions:
        assert caution in text


def test_no_page_is_empty_and_pages_are_numbered() -> None:
    texts = _texts(_halves())
    for number, text in enumerate(texts, start=1):
        assert f"page {number} of {len(texts)}" in text
        assert len(text.split()) > 40
    assert "End of report" in texts[-1]
    assert all("End of report" not in text for text in texts[:-1])


def test_no_barred_word_is_ours() -> None:
    assert not BARRED.search(_joined(_halves()))


def test_same_screening_gives_same_bytes() -> None:
    again = report_bytes(report_view(invented(400), None, "0.1.0"))
    assert again == _halves()
    dates = re.findall(rb"/(?:CreationDate|ModDate)", again)
    assert not dates


def _fonts(pdf: bytes) -> dict[str, bool]:
    """Every font of the file and whether its program is inside."""
    found: dict[str, bool] = {}
    for page in pypdf.PdfReader(BytesIO(pdf)).pages:
        for font in page["/Resources"].get("/Font", {}).values():
            for inner in font.get_object().get("/DescendantFonts", []):
                descriptor = inner.get_object()["/FontDescriptor"]
                embedded = any(key in descriptor for key in ("/FontFile2", "/FontFile3"))
                found[str(font.get_object()["/BaseFont"])] = embedded
    return found


def test_fonts_are_embedded() -> None:
    fonts = _fonts(_halves())
    assert fonts
    assert all(fonts.values())
    assert all("Libertinus" in name or "DejaVu" in name for name in fonts)


def test_report_is_tagged_with_alternative_texts_and_bookmarks() -> None:
    reader = pypdf.PdfReader(BytesIO(_halves()))
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.trailer["/Root"]["/Lang"] == "en"
    assert b"pdfuaid" in reader.trailer["/Root"]["/Metadata"].get_object().get_data()
    titles = [mark.title for mark in _flat(reader.outline)]
    assert "Coins set aside" in titles
    assert "Cautions" in titles
    assert "Histogram of 398 weights" in _alternative_texts(reader).replace("\u202f", " ")


def _flat(outline: list[object]) -> list[pypdf.generic.Destination]:
    flat = []
    for mark in outline:
        flat.extend(_flat(mark) if isinstance(mark, list) else [mark])
    return flat


def _alternative_texts(reader: pypdf.PdfReader) -> str:
    texts = []
    for number in range(1, len(reader.xref[0]) + 1):
        thing = reader.get_object(number)
        if isinstance(thing, dict) and "/Alt" in thing:
            texts.append(str(thing["/Alt"]))
    return "\n".join(texts)


def test_nothing_stands_outside_the_page(tmp_path: Path) -> None:
    tool = shutil.which("pdftotext")
    if tool is None:
        pytest.skip("pdftotext is not on this machine: no check of what lies outside the page")
    path = tmp_path / "report.pdf"
    path.write_bytes(_halves())
    boxes = subprocess.run([tool, "-bbox", str(path), "-"], capture_output=True, check=True).stdout
    words = re.findall(
        r'<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)"',
        boxes.decode(),
    )
    assert len(words) > 500
    # Margins of the page, in points; header and footer lie in the upper and lower ones.
    for x0, y0, x1, y1 in ([float(part) for part in word] for word in words):
        assert 64 <= x0 <= x1 <= 537
        assert 30 <= y0 <= y1 <= 812


def test_unknown_lot_names_the_lots_there_are(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="K-01"):
        write_report(invented(40, lots=("K-01", "K-02")), "K-03", "0.1.0", tmp_path / "r.pdf")


def test_unwritable_path_is_an_output_error(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match=re.escape("r.pdf: cannot be written")):
        write_report(invented(40), None, "0.1.0", tmp_path / "nowhere" / "r.pdf")
