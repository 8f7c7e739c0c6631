"""The offer on paper: what it says, that it is made alike, that it overwrites nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from pdf_text import page_texts

from lotscreen.money.full_offer import BagAsked, FullOffer, full_offer_of_bag
from lotscreen.money.terms import Terms, spot_of_texts
from lotscreen.records import OutputError
from lotscreen.report.blocks import Paragraph
from lotscreen.report.figures.offer_steps import offer_steps
from lotscreen.report.figures.style import look
from lotscreen.report.offer_pdf import offer_blocks, write_offer_pdf
from lotscreen.standards import load_standards


@pytest.fixture(scope="module")
def offered() -> FullOffer:
    spot = spot_of_texts(("silver=30",), "USD", "2026-03-02 14:05+01:00", "bid")
    bag = BagAsked(2000, 24690.0, 5.0, 150, 1)
    half = load_standards().get("us-half-1873")
    return full_offer_of_bag(half, bag, spot, Terms(fixed=150, work=300))


def test_the_page_says_bid_bad_case_time_and_that_it_is_no_advice(
    offered: FullOffer, tmp_path: Path
) -> None:
    path = tmp_path / "offer.pdf"
    write_offer_pdf(offered, "0.0", path)
    pages = page_texts(path)
    text = " ".join(" ".join(pages).split())
    for said in ("19,784 USD on the mean", "19,583 in the bad case", "Not advice",
                 "2026-03-02 14:05+01:00", "holds until 2026-03-02 14:35+01:00", "assumed",
                 "21,450.00"):  # fmt: skip
        assert said in text, said
    assert len(pages) <= 3


def test_a_warning_stands_on_the_page_before_the_bid(offered: FullOffer) -> None:
    bag = BagAsked(2000, 25400.0, 5.0, 150, 1)
    half = load_standards().get("us-half-1873")
    blocks = offer_blocks(full_offer_of_bag(half, bag, offered.offer.spot, Terms()))
    texts = [block.text for block in blocks if isinstance(block, Paragraph)]
    assert texts[0].startswith("WARNING: 2,000 coins")
    assert "Highest sensible bid" in texts[1]


def test_the_same_offer_gives_the_same_bytes_and_overwrites_nothing(
    offered: FullOffer, tmp_path: Path
) -> None:
    first, second = tmp_path / "a.pdf", tmp_path / "b.pdf"
    write_offer_pdf(offered, "0.0", first)
    write_offer_pdf(offered, "0.0", second)
    assert first.read_bytes() == second.read_bytes()
    with pytest.raises(OutputError, match="not overwritten"):
        write_offer_pdf(offered, "0.0", first)


def test_the_drawing_tells_its_steps_to_those_who_cannot_see_it(offered: FullOffer) -> None:
    with look():
        picture = offer_steps(offered.offer.whole, "all coins", "USD")
    assert "19\u202f784" in picture.alt
    assert "19\u202f583" in picture.alt
    assert "not start at nought" in picture.svg.decode()
