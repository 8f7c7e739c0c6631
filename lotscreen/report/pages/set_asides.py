"""The coins set aside or not consistent: drawings, reasons, explanations, next tests."""

from __future__ import annotations

import pandas as pd

from lotscreen.display import TypeDisplay
from lotscreen.report.blocks import (
    Block,
    Column,
    Heading,
    Paragraph,
    SideBySide,
    Table,
    Together,
)
from lotscreen.report.figures.coin_on_map import coin_drawing
from lotscreen.report.figures.strips import MOST_ROWS as MOST_STRIPS
from lotscreen.report.figures.strips import weight_strips
from lotscreen.report.numerals import rarity, whole
from lotscreen.report.pages.coin_told import coin_title, coin_told, moves_told
from lotscreen.report.pages.readings import expected, readings
from lotscreen.report.printable import shortened
from lotscreen.report.view import DEPARTING, LotView
from lotscreen.words import phrase, say, table

MOST_ROWS = 60
MOST_PROFILES = 24


def build(view: LotView) -> list[Block]:
    """Most in doubt first: coins whose size was taken each with a paragraph beside its
    drawing, the others in a table and by their weight; the workbook has what is beyond."""
    coins = view.found(DEPARTING)
    if coins.empty:
        return []
    known = {display.type_key: display for display in view.displays}
    sized = coins["diameter_mm"].notna() | coins["thickness_mm"].notna()
    drawn = coins[sized & coins["type_key"].isin(list(known))].head(MOST_PROFILES)
    others = coins[~coins["item_id"].isin(drawn["item_id"])]
    blocks: list[Block] = [Heading(phrase("report.set_asides.heading"))]
    if len(drawn):
        blocks.append(Paragraph(phrase("report.profiles.intro"), "intro"))
        blocks += [_entry(view, coin, known[str(coin["type_key"])]) for _, coin in drawn.iterrows()]
    return [*blocks, *_others(view, others), *_strips(view, others)]


def _entry(view: LotView, coin: pd.Series, display: TypeDisplay) -> Block:
    """One coin: what is told of it, and its drawing."""
    told = Paragraph(coin_told(view, coin, display), "note")
    left = (Heading(coin_title(view, coin), level=3), told)
    return Together((SideBySide(left, (coin_drawing(view, coin, display),)),))


def _others(view: LotView, coins: pd.DataFrame) -> list[Block]:
    """The coins without a drawing of their own, in a table."""
    if coins.empty:
        return []
    shown = coins.head(MOST_ROWS)
    blocks: list[Block] = [
        Paragraph(phrase("report.set_asides.intro"), "intro"),
        _table(view, shown),
    ]
    if len(shown) < len(coins):
        blocks.append(_cut_short(len(shown), len(coins)))
    return blocks


def _cut_short(shown: int, of: int) -> Paragraph:
    return Paragraph(say("report.set_asides.cut_short", shown=whole(shown), n=whole(of)), "note")


def _table(view: LotView, coins: pd.DataFrame) -> Table:
    heads = table("report_columns")["set_asides"]
    columns = tuple(Column(head, share=float(place == 3)) for place, head in enumerate(heads))
    rows = tuple(_row(view, coin) for _, coin in coins.iterrows())
    return Table(columns, rows, phrase("report.set_asides.summary"), small=True)


def _row(view: LotView, coin: pd.Series) -> tuple[str, ...]:
    place = f"{shortened(str(coin['coin_id']), 24)}\n{shortened(view.place(coin), 28)}"
    weight = say("report.set_asides.expected", weight=expected(view, coin))
    told = [f"{coin['finding']}: {coin['reason']}"]
    if coin["explanations"]:
        told.append(say("report.set_asides.explained", by=coin["explanations"]))
    told += moves_told(view, coin)
    if coin["next_test"]:
        told.append(say("report.set_asides.next", test=coin["next_test"]))
    return (
        place,
        f"{readings(view, coin)}\n{weight}",
        rarity(coin["p_value"]),
        "\n".join(told),
    )


def _strips(view: LotView, coins: pd.DataFrame) -> list[Block]:
    """Coins that were only weighed, by their weight."""
    weighed = coins[coins["diameter_mm"].isna() & coins["thickness_mm"].isna()]
    strips = weight_strips(view, weighed)
    if strips is None:
        return []
    parts: list[Block] = [Heading(phrase("report.profiles.weighed")), strips]
    if len(weighed) > MOST_STRIPS:
        parts.append(_cut_short(MOST_STRIPS, len(weighed)))
    return [Together(tuple(parts))]
