"""The drawings: what they show and tell in their alternative texts, and how numbers and
cells are printed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from report_blocks import lot_view, pictures
from report_lot import coin_rows, invented, screening_of

from lotscreen.report.blocks import (
    Items,
)
from lotscreen.report.figures.lot_map import ROW, plan_for
from lotscreen.report.figures.running import MOST_POINTS, running_chart, thinned
from lotscreen.report.figures.style import PAGE_WIDTH_MM, look
from lotscreen.report.numerals import counted, decimals_of_step, fixed, rarity, whole
from lotscreen.report.pages import (
    answer,
    lot_map,
    set_asides,
    types,
)
from lotscreen.report.printable import printable, shortened


def test_each_type_has_its_drawings_with_alternative_texts() -> None:
    view = lot_view(invented(300, types=("us-half-1873", "us-half-1853")))
    with look():
        drawn = pictures(types.build(view))
    assert len(drawn) == 16
    starts = [
        "Histogram of", "Loss of weight of", "Thickness against weight of", "Chance to",
        "Residuals of", "Residuals of", "Ordered residuals of", "Twenty small histograms",
    ]  # fmt: skip
    for picture, start in zip(drawn, starts * 2, strict=True):
        assert picture.alt.startswith(start)
    assert all(picture.width_mm <= PAGE_WIDTH_MM for picture in drawn)


def test_map_shows_every_coin_and_names_the_marked_places() -> None:
    view = lot_view(invented(200))
    with look():
        (picture,) = pictures(lot_map.build(view))
    marked = view.found(["not consistent", "set aside", "re-measure"])
    assert picture.alt.startswith(f"Map of 200 coins in 10 rows; {len(marked)} are marked")
    first = view.in_sheet_places(marked).iloc[0]
    assert f"Roll {first['group']}, no. {first['position']}" in picture.alt


@pytest.mark.parametrize(
    ("rows", "longest"), [(1, 2), (100, 20), (200, 50), (300, 50), (500, 20), (1_000, 2)]
)
def test_map_fits_the_page(rows: int, longest: int) -> None:
    plan = plan_for(rows, longest)
    assert plan is not None
    assert plan.rows_in_panel * plan.panels >= rows
    assert plan.rows_in_panel * plan.cell_mm <= 206
    assert plan.panels * (14 + longest * plan.cell_mm) + 5 * (plan.panels - 1) <= 167


def test_long_rolls_go_on_in_the_next_row_and_huge_lots_show_marked_rows_only() -> None:
    screening = invented(180)
    items = screening.intake.items.assign(group="bag", position=None)
    bag = replace(screening, intake=replace(screening.intake, items=items))
    rows = coin_rows(20_000, "", 8)
    rows["finding"] = np.where(np.arange(20_000) % 1000 == 0, "set aside", "consistent")
    with look():
        (long,) = pictures(lot_map.build(lot_view(bag)))
        (huge,) = pictures(lot_map.build(lot_view(screening_of(rows))))
    assert long.alt.startswith("Map of 180 coins in 4 rows")
    assert huge.alt.startswith("Map of 20\u202f000 coins in 20 rows; 20 are marked")
    assert "only rows that hold a marked coin" in huge.caption


def test_without_rolls_the_map_has_rows_of_fifty_and_coins_go_by_number() -> None:
    screening = invented(120)
    items = screening.intake.items.assign(group="", position=None)
    screening = replace(screening, intake=replace(screening.intake, items=items))
    view = lot_view(screening)
    with look():
        (picture,) = pictures(lot_map.build(view))
        blocks = answer.build(view)
    assert picture.alt.startswith(f"Map of 120 coins in {-(-120 // ROW)} rows")
    todo = next(block for block in blocks if isinstance(block, Items) and block.numbered)
    again = view.in_sheet_places(view.found(["re-measure"]))["coin_id"]
    assert any(f"no. {', '.join(again)}" in text for text in todo.texts)


def test_coins_only_weighed_are_drawn_by_their_weight() -> None:
    screening = invented(200)
    nothing = np.full(len(screening.table), np.nan)
    table = replace(screening.table, diameter_mm=nothing, thickness_mm=nothing)
    view = lot_view(replace(screening, table=table))
    with look():
        drawn = pictures(set_asides.build(view))
    assert len(drawn) == 1
    assert drawn[0].alt.startswith("Weights read beside what was expected")


def test_thinned_line_keeps_its_peaks() -> None:
    coin = np.arange(1, 100_001)
    values = np.zeros(100_000)
    values[77_777] = 9.0
    x, y = thinned(coin, values)
    assert len(x) <= MOST_POINTS
    assert y.max() == 9.0
    assert x[-1] == 100_000


def test_numbers_are_printed_as_people_write_them() -> None:
    assert whole(12_345) == "12\u202f345"
    assert counted(1, "coin") == "1\u00a0coin"
    assert counted(2, "coin") == "2\u00a0coins"
    assert fixed(-0.004, 2, signed=True) == "0.00"
    assert fixed(-1.5, 1) == "−1.5"
    assert fixed(float("nan"), 2) == "–"
    assert rarity(0.002) == "1 in 500"
    assert rarity(1e-9, short=True) == "under 1 in 1\u202f000\u202f000"
    steps = (1.0, 0.1, 0.01, 0.005, float("nan"))
    assert [decimals_of_step(step) for step in steps] == [0, 1, 2, 3, 3]


def test_cells_are_made_printable() -> None:
    assert printable("12 1/2 gr") == "12 1/2 gr"
    assert printable("a\x00b\u202ec") == "a[U+0000]b[U+202E]c"
    assert printable("\u4e2d") == "[U+4E2D]"
    assert printable("x" * 40).replace("\u200b", "") == "x" * 40
    assert "\u200b" in printable("x" * 40)
    assert shortened("abcdef", 4) == "abc…"


@pytest.mark.parametrize("nothing", ["cusum_limit", "cusum_up"])
def test_without_running_sums_no_limit_of_them_is_told(nothing: str) -> None:
    (chart,) = invented(60).running.values()
    with_sums, nan = running_chart(chart), np.full(len(chart.coin), np.nan)
    if nothing == "cusum_up":
        chart = replace(chart, cusum_up=nan, cusum_down=nan)
    without = running_chart(replace(chart, cusum_limit=float("nan")))
    assert with_sums is not None
    assert without is not None
    assert "running sums" in with_sums.alt
    assert "sums" not in without.alt
    assert "–" not in without.alt
    assert len(without.svg) < len(with_sums.svg)
