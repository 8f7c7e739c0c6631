"""Several lots in one report, a report cut to one lot, and sheets with awkward cells."""

from __future__ import annotations

import re
import time
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from pdf_text import page_texts, words_of
from report_blocks import lot_view
from report_lot import coin_rows, invented, screening_of

from lotscreen.report.pdf import report_bytes
from lotscreen.report.view import ReportView, report_view
from lotscreen.screening import Screening

AWKWARD = (
    "#image(\"x.png\")", "*bold* _it_ $x^2$ @ref <label> // no", "\\u{41} ~ `raw` = head",
    "=SUM(A1:A9)", "{brace} %d {0}", "\u4e2d\u6587 \U0001f600", "\u202eabc\u0007", "w" * 300,
    "line\nbreak", "&amp; <b>", "ﬁ ½ Ø −", "$", "",
)  # fmt: skip


def _awkward(coins: int) -> Screening:
    """A screening whose every user-written text is awkward, all coins set aside."""
    rows = coin_rows(coins, "K*_1$", 4)
    rows["finding"] = np.where(np.arange(coins) % 2, "set aside", "re-measure")
    screening = screening_of(rows)
    texts = [AWKWARD[i % len(AWKWARD)] for i in range(coins)]
    items = screening.intake.items.assign(
        coin_id=texts, group=texts, date_text=texts, position=None
    )
    left_out = screening.intake.left_out.assign(raw=(texts * 30)[:30])
    doubts = tuple(replace(d, raw=t) for d, t in zip(screening.intake.doubts, texts, strict=False))
    intake = replace(screening.intake, items=items, left_out=left_out, doubts=doubts)
    return replace(screening, intake=intake)


def test_awkward_cells_are_printed_as_found() -> None:
    text = words_of(report_bytes(report_view(_awkward(26), None, "0.1.0")))
    for cell in (
        '#image("x.png")',
        "*bold* _it_ $x^2$",
        "\\u{41}",
        "=SUM(A1:A9)",
        "{brace} %d {0}",
    ):
        assert cell in text
    assert "[U+4E2D][U+6587]" in text
    assert "[U+202E]abc[U+0007]" in text
    assert "Lot K*_1$" in text


def test_index_comes_first_with_the_most_doubtful_lot_on_top_and_its_page() -> None:
    calm = coin_rows(40, "calm", 1)
    calm["finding"] = "consistent"
    odd = coin_rows(40, "odd", 2)
    screening = screening_of(pd.concat([calm, odd], ignore_index=True))
    view = report_view(screening, None, "0.1.0")
    assert [lot.lot for lot in view.lots] == ["odd", "calm"]
    pages = page_texts(report_bytes(view))
    first = " ".join(pages[0].split())
    assert first.index("Lot odd") < first.index("Lot calm")
    for lot in ("odd", "calm"):
        page = next(
            number for number, page in enumerate(pages[1:], start=2) if f"\nLot {lot}\n" in page
        )
        printed = re.search(rf"Lot {lot}((?: \d+)+)", first)
        assert printed is not None
        assert int(printed[1].split()[-1]) == page


def test_report_of_one_lot_names_no_other() -> None:
    rows = [coin_rows(30, "K-01", 1), coin_rows(30, "K-02", 2)]
    text = words_of(report_bytes(report_view(screening_of(pd.concat(rows)), "K-02", "0.1.0")))
    assert "Lot K-02" in text
    assert "K-01" not in text
    assert "Lots in this report" not in text
    # The two lots share a sheet: what was left out of it belongs to neither.
    assert "sum;250.00" not in text


def test_many_small_lots_need_few_pages_each() -> None:
    rows = [coin_rows(3, f"{number:03d}", number) for number in range(30)]
    pdf = report_bytes(report_view(screening_of(pd.concat(rows)), None, "0.1.0"))
    pages = len(page_texts(pdf))
    assert pages <= 30 * 3 + 9


def test_a_lot_without_drawings_or_readings_still_gives_a_report() -> None:
    rows = coin_rows(6, "", 1).assign(weight_g=np.nan, diameter_mm=np.nan, thickness_mm=np.nan)
    rows["finding"] = "not judged"
    screening = screening_of(rows)
    table = replace(screening.table, weight_step_g=np.full(6, np.nan))
    bare = replace(screening, table=table, displays={}, running={})
    text = words_of(report_bytes(report_view(bare, None, "0.1.0")))
    assert "Coins not judged" in text
    assert "Not judged: 6" in text.replace("\u00a0", " ")


def test_place_falls_back_from_roll_to_row() -> None:
    screening = invented(40)
    items = screening.intake.items.copy()
    items["position"] = items["position"].astype("object")
    items.loc[0, "position"] = None
    items.loc[1, "group"] = ""
    items.loc[2, "group"] = "green box"
    view = lot_view(replace(screening, intake=replace(screening.intake, items=items)))
    places = [view.place(coin) for _, coin in view.coins.head(4).iterrows()]
    assert places == ["Roll 1, no. 1", "row 3", "green box, no. 3", "Roll 1, no. 4"]


@pytest.mark.slow
def test_two_thousand_coins_of_five_types_are_reported_in_the_time_of_their_pages() -> None:
    """Five types have five times the pages of one; ten times the coins add little."""
    keys = ("us-half-1873", "us-quarter-1873", "us-dime-1873", "us-half-1853", "us-half-1837")
    many = report_view(invented(2_000, types=keys), None, "0.1.0")
    few = report_view(invented(200, types=keys[:1]), None, "0.1.0")

    def seconds(view: ReportView) -> float:
        started = time.process_time()
        report_bytes(view)
        return time.process_time() - started

    assert min(seconds(many) for _ in range(2)) < 8.0 * min(seconds(few) for _ in range(2))
