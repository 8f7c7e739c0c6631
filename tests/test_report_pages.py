"""The pages one by one: what they hold, when they are left away, how one is added."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd
import pytest
from report_blocks import flat, lot_view, pictures, tables
from report_lot import coin_rows, invented, screening_of

from lotscreen.lot.density import ApparentDensity
from lotscreen.report.blocks import (
    Block,
    Column,
    Heading,
    Items,
    Paragraph,
)
from lotscreen.report.figures.style import look
from lotscreen.report.numerals import fixed
from lotscreen.report.pages import (
    all_coins,
    answer,
    groups,
    lot_map,
    re_measure,
    running,
    set_asides,
    sheet,
    worked,
)
from lotscreen.report.pages.page import LotPage
from lotscreen.report.pages.register import PAGES
from lotscreen.report.pdf import all_blocks
from lotscreen.report.view import LotView, report_view


def test_a_page_is_added_with_one_file_and_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """The example of DEVELOPERS.md: the function is the file, the list entry the line."""

    def heaviest(view: LotView) -> list[Block]:
        weight = fixed(view.coins["weight_g"].max(), view.decimals)
        return [Heading("The heaviest coin"), Paragraph(f"It weighs {weight} g.")]

    screening = invented(40)
    before = all_blocks(report_view(screening, None, "0.1.0"))
    monkeypatch.setattr(
        "lotscreen.report.pdf.PAGES", [*PAGES, LotPage("the heaviest coin", heaviest)]
    )
    after = all_blocks(report_view(screening, None, "0.1.0"))
    assert len(after) == len(before) + 2
    most = screening.table.weight_g.max()
    assert Paragraph(f"It weighs {most:.2f} g.") in after
    # The new page belongs to the lot: it stands before the pages of the whole report.
    titles = [block.text for block in after if isinstance(block, Heading)]
    assert titles.index("The heaviest coin") < titles.index("Method and settings")


def test_every_page_has_its_own_name_and_the_answer_comes_first() -> None:
    names = [page.name for page in PAGES]
    assert len(set(names)) == len(names)
    assert next(page.name for page in PAGES if isinstance(page, LotPage)) == "the answer in words"


def test_set_asides_come_most_in_doubt_first_with_reason_and_next_test() -> None:
    view = lot_view(invented(400))
    with look():
        blocks = set_asides.build(view)
    coins = view.found(["not consistent", "set aside"])
    titles = [b.text for b in flat(blocks) if isinstance(b, Heading) and b.level == 3]
    assert [title.split(" · ")[0] for title in titles] == list(coins["coin_id"])
    kinds = [title.split(" · ")[2] for title in titles]
    assert kinds == sorted(kinds, key=["not consistent", "set aside"].index)
    scores = coins.loc[coins["finding"] == "not consistent", "score"]
    assert scores.is_monotonic_decreasing
    told = [b.text for b in flat(blocks) if isinstance(b, Paragraph)][1:]
    assert len(told) == len(pictures(blocks)) == len(coins)
    for text in told:
        assert text.startswith("Read ")
        assert "in weight (z" in text
        assert "base metal, same size 62 %" in text
        assert text.endswith("Next test: ring it beside a known coin.")
    assert not tables(blocks)  # each coin is told of once


def test_the_place_on_the_map_and_the_density_of_a_coin_are_told() -> None:
    made = invented(400)
    first = lot_view(made).found(["not consistent", "set aside"]).iloc[0]
    density = ApparentDensity(8.6, 0.12, 0.83, ("brass", "copper"))
    view = lot_view(replace(made, densities={str(first["item_id"]): density}))
    with look():
        blocks = flat(set_asides.build(view))
    told = [b.text for b in blocks if isinstance(b, Paragraph)][1:]
    assert "8.60 ±\u202f0.12 g/cm³" in told[0]
    assert "admits brass, copper" in told[0]
    assert not any("g/cm³" in text for text in told[1:])
    assert all("from the middle of honest coins" in p.alt for p in pictures(blocks))


def test_many_set_asides_are_cut_short_and_it_says_so() -> None:
    rows = coin_rows(600, "", 5)
    rows["finding"] = "set aside"
    view = lot_view(screening_of(rows))
    with look():
        blocks = set_asides.build(view)
    notes = [block.text for block in flat(blocks) if isinstance(block, Paragraph)]
    assert len(tables(blocks)[0].rows) == set_asides.MOST_ROWS
    left = 600 - set_asides.MOST_PROFILES
    assert f"The first {set_asides.MOST_ROWS} of {left} are shown" in " ".join(notes)
    assert len(pictures(blocks)) == set_asides.MOST_PROFILES + 1


def test_coins_to_measure_again_lie_in_the_order_of_the_rolls() -> None:
    view = lot_view(invented(600))
    rows = tables(re_measure.build(view))[0].rows
    numbers = [int(row[1]) for row in rows]
    assert numbers == sorted(numbers)
    assert rows[0][0].startswith("Roll ")


def test_full_table_up_to_two_hundred_coins_only() -> None:
    short, long = lot_view(invented(200)), lot_view(invented(201))
    assert len(tables(all_coins.build(short))[0].rows) == 200
    (note,) = [b.text for b in all_coins.build(long) if isinstance(b, Paragraph)]
    assert "workbook" in note
    assert not tables(all_coins.build(long))


def test_sheet_page_counts_by_reason_and_shows_the_first_twenty() -> None:
    blocks = sheet.build(report_view(invented(60), None, "0.1.0"))
    texts = [block.text for block in blocks if isinstance(block, Paragraph)]
    assert "25 × decimal slip." in texts
    assert "30 × a subtotal, not a coin." in texts
    types_told, doubts, left_out = tables(blocks)
    assert len(types_told.rows) == 2
    assert len(doubts.rows) == len(left_out.rows) == 20


def test_worked_coin_and_groups_are_printed_as_stated() -> None:
    view = lot_view(invented(60))
    steps = tables(worked.build(view))[0].rows
    assert [row[0] for row in steps] == ["read", "standard", "z"]
    assert "lighter than 20 honest coins" in tables(groups.build(view))[0].rows[0][4]


def test_running_chart_stands_with_its_caution() -> None:
    with look():
        blocks = flat(running.build(lot_view(invented(60))))
    assert Items(("For illustration; promises nothing.",), small=True) in blocks
    assert "looking back" in next(b.text for b in blocks if isinstance(b, Heading))


def test_a_small_lot_has_no_map_and_no_running_chart() -> None:
    view = lot_view(invented(12))
    with look():
        assert lot_map.build(view) == []
        assert running.build(view) == []


def test_an_honest_lot_says_that_there_is_nothing_to_do() -> None:
    rows = coin_rows(50, "", 3)
    rows["finding"] = "consistent"
    screening = screening_of(rows)
    told = screening.lots[""]
    told = replace(told, checks=(), other_types=(), group_statements=(), alerts=())
    view = lot_view(replace(screening, lots={"": told}))
    blocks = answer.build(view)
    lead = next(b.text for b in blocks if isinstance(b, Paragraph) and b.tone == "lead")
    assert lead.replace("\u00a0", " ").startswith("50 coins judged: all consistent")
    todo = next(b for b in blocks if isinstance(b, Items) and b.numbered)
    assert todo.texts[0].startswith("Nothing asks to be measured again")


def test_columns_of_tables_match_their_rows() -> None:
    """The typesetter would shift cells silently otherwise."""
    blocks = flat(all_blocks(report_view(invented(60, lots=("A", "B")), None, "0.1.0")))
    printed = tables(blocks)
    assert len(printed) > 10
    for table in printed:
        assert table.summary
        assert all(isinstance(column, Column) for column in table.columns)
        assert {len(row) for row in table.rows} <= {len(table.columns)}


def test_coin_frame_keeps_coins_only_in_the_order_of_the_sheet() -> None:
    screening = invented(60)
    kind = screening.table.kind.copy()
    kind[[3, 7]] = "check"
    view = lot_view(replace(screening, table=replace(screening.table, kind=kind)))
    assert len(view.coins) == 58
    assert isinstance(view.coins, pd.DataFrame)
    assert view.coins["order"].is_monotonic_increasing


def test_words_of_types_are_told_with_their_notes_first() -> None:
    made = invented(40)
    texts, notes = made.table.type_text.copy(), made.table.type_note.copy()
    texts[3], notes[3] = "oz half", "words not understood: oz"
    built = sheet.build(report_view(replace(made, table=replace(
        made.table, type_text=texts, type_note=notes
    )), None, "0.1.0"))  # fmt: skip
    (told,) = [found for found in tables(built) if "taken for" in found.summary]
    assert told.rows[0] == ("oz half", "us-half-1873", "1", "words not understood: oz")
    assert sum(int(row[2]) for row in told.rows) == 40
    assert {row[3] for row in told.rows[1:]} == {"–"}
