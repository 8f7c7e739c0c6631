"""The coins set aside or not consistent: drawings, reasons, explanations, next tests."""

from __future__ import annotations

import pandas as pd

from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table
from lotscreen.report.figures.profile import profiles
from lotscreen.report.numerals import rarity, whole
from lotscreen.report.pages.readings import expected, readings
from lotscreen.report.printable import shortened
from lotscreen.report.view import DEPARTING, LotView
from lotscreen.words import phrase, say, table

MOST_ROWS = 120
MOST_PROFILES = 24


def build(view: LotView) -> list[Block]:
    """The table, most in doubt first, then the drawings; the workbook has what is beyond."""
    coins = view.found(DEPARTING)
    if coins.empty:
        return []
    new_page = not view.small
    blocks: list[Block] = [Heading(phrase("report.set_asides.heading"), new_page=new_page)]
    shown = coins.head(MOST_ROWS)
    blocks.append(Paragraph(phrase("report.set_asides.intro"), "note"))
    blocks.append(_table(view, shown))
    if len(shown) < len(coins):
        blocks.append(_cut_short(len(shown), len(coins)))
    return blocks + _profiles(view, coins)


def _cut_short(shown: int, of: int) -> Paragraph:
    return Paragraph(say("report.set_asides.cut_short", shown=whole(shown), n=whole(of)), "note")


def _table(view: LotView, coins: pd.DataFrame) -> Table:
    heads = table("report_columns")["set_asides"]
    shares = (0, 0, 0, 5, 4)
    columns = tuple(Column(head, share=share) for head, share in zip(heads, shares, strict=True))
    rows = tuple(_row(view, coin) for _, coin in coins.iterrows())
    return Table(columns, rows, phrase("report.set_asides.summary"), small=True)


def _row(view: LotView, coin: pd.Series) -> tuple[str, ...]:
    explained = f"\n{coin['explanations']}" if coin["explanations"] else ""
    place = f"{shortened(str(coin['coin_id']), 24)}\n{shortened(view.place(coin), 28)}"
    weight = say("report.set_asides.expected", weight=expected(view, coin))
    return (
        place,
        f"{readings(view, coin)}\n{weight}",
        rarity(coin["p_value"]),
        f"{coin['finding']}: {coin['reason']}{explained}",
        str(coin["next_test"]),
    )


def _profiles(view: LotView, coins: pd.DataFrame) -> list[Block]:
    drawn = coins.head(MOST_PROFILES)
    pictures = profiles(view, drawn)
    if not pictures:
        return []
    blocks: list[Block] = [
        Heading(phrase("report.profiles.heading"), level=2),
        Paragraph(phrase("report.profiles.intro"), "note"),
        *pictures,
    ]
    if len(drawn) < len(coins):
        blocks.append(_cut_short(len(drawn), len(coins)))
    return blocks
