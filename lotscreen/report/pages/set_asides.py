"""The coins set aside or not consistent: drawings, reasons, explanations, next tests."""

from __future__ import annotations

import pandas as pd

from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table, Together
from lotscreen.report.figures.profile import profiles
from lotscreen.report.figures.strips import MOST_ROWS as MOST_STRIPS
from lotscreen.report.figures.strips import weight_strips
from lotscreen.report.numerals import rarity, whole
from lotscreen.report.pages.readings import expected, readings
from lotscreen.report.printable import shortened
from lotscreen.report.view import DEPARTING, LotView
from lotscreen.words import phrase, say, table

MOST_ROWS = 60
MOST_PROFILES = 24


def build(view: LotView) -> list[Block]:
    """The table, most in doubt first, then the drawings; the workbook has what is beyond."""
    coins = view.found(DEPARTING)
    if coins.empty:
        return []
    blocks: list[Block] = [Heading(phrase("report.set_asides.heading"))]
    shown = coins.head(MOST_ROWS)
    blocks.append(Paragraph(phrase("report.set_asides.intro"), "intro"))
    blocks.append(_table(view, shown))
    if len(shown) < len(coins):
        blocks.append(_cut_short(len(shown), len(coins)))
    return blocks + _drawings(view, coins)


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
    if coin["next_test"]:
        told.append(say("report.set_asides.next", test=coin["next_test"]))
    return (
        place,
        f"{readings(view, coin)}\n{weight}",
        rarity(coin["p_value"]),
        "\n".join(told),
    )


def _drawings(view: LotView, coins: pd.DataFrame) -> list[Block]:
    """Profiles of coins whose size was taken; the others by their weight alone."""
    sized = coins["diameter_mm"].notna() | coins["thickness_mm"].notna()
    blocks: list[Block] = []
    drawn = coins[sized].head(MOST_PROFILES)
    pictures = profiles(view, drawn)
    if pictures:
        blocks.append(Heading(phrase("report.profiles.heading")))
        blocks.append(Paragraph(phrase("report.profiles.intro"), "intro"))
        blocks.extend(pictures)
        if len(drawn) < sized.sum():
            blocks.append(_cut_short(len(drawn), int(sized.sum())))
    strips = weight_strips(view, coins[~sized])
    if strips is not None:
        parts: list[Block] = [Heading(phrase("report.profiles.weighed")), strips]
        if (~sized).sum() > MOST_STRIPS:
            parts.append(_cut_short(MOST_STRIPS, int((~sized).sum())))
        blocks.append(Together(tuple(parts)))
    return blocks
