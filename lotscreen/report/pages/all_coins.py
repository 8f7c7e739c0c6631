"""The full table of a lot, where it is short enough to be read."""

from __future__ import annotations

import pandas as pd

from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table
from lotscreen.report.numerals import fixed, rarity, whole
from lotscreen.report.pages.readings import across, expected
from lotscreen.report.printable import shortened
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say, table

MOST_ROWS = 200


def build(view: LotView) -> list[Block]:
    """Every coin up to ``MOST_ROWS``; beyond, where the full table is to be found."""
    heading = Heading(
        phrase("report.all_coins.heading"), new_page=30 < len(view.coins) <= MOST_ROWS
    )
    if len(view.coins) > MOST_ROWS:
        text = say("report.all_coins.in_workbook", n=whole(len(view.coins)), most=whole(MOST_ROWS))
        return [heading, Paragraph(text)]
    if view.coins.empty:
        return []
    heads = table("report_columns")["all_coins"]
    sides = ("left", "left", "left", "left", "right", "right", "right", "right", "right", "left")
    columns = tuple(
        Column(head, "right" if side == "right" else "left", share=1.0 if place == 1 else 0.0)
        for place, (head, side) in enumerate(zip(heads, sides, strict=True))
    )
    rows = tuple(_row(view, coin) for _, coin in view.coins.iterrows())
    return [heading, Table(columns, rows, phrase("report.all_coins.summary"), small=True)]


def _row(view: LotView, coin: pd.Series) -> tuple[str, ...]:
    mark = f" {coin['mint_mark']}" if coin["mint_mark"] else ""
    return (
        shortened(str(coin["coin_id"]), 20),
        shortened(view.type_name(coin["type_key"]), 40),
        shortened(f"{coin['date_text']}{mark}", 12),
        shortened(view.place(coin), 22),
        fixed(coin["weight_g"], view.decimals),
        across(coin),
        fixed(coin["thickness_mm"], 2),
        expected(view, coin).removesuffix(" g"),
        rarity(coin["p_value"]).replace("\n", " "),
        str(coin["finding"]),
    )
