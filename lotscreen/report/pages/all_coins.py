"""The full table of a lot, where it is short enough to be read."""

from __future__ import annotations

import pandas as pd

from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table
from lotscreen.report.numerals import fixed, rarity, whole
from lotscreen.report.pages.readings import across, date, expected
from lotscreen.report.printable import shortened
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say, table

MOST_ROWS = 200
_RIGHT = frozenset({"weight", "diameter", "thickness", "expected", "rare"})


def build(view: LotView) -> list[Block]:
    """Every coin up to ``MOST_ROWS``; beyond, where the full table is to be found."""
    heading = Heading(phrase("report.all_coins.heading"))
    if len(view.coins) > MOST_ROWS:
        text = say("report.all_coins.in_workbook", n=whole(len(view.coins)), most=whole(MOST_ROWS))
        return [heading, Paragraph(text)]
    if view.coins.empty:
        return []
    heads = table("report_columns")["all_coins"]
    rows = [_row(view, coin) for _, coin in view.coins.iterrows()]
    names = [name for name in heads if _told(name, view)]
    columns = tuple(
        Column(heads[name], "right" if name in _RIGHT else "left", share=float(name == "finding"))
        for name in names
    )
    cells = tuple(tuple(row[name] for name in names) for row in rows)
    return [heading, Table(columns, cells, phrase("report.all_coins.summary"), small=True)]


def _told(name: str, view: LotView) -> bool:
    """Whether a column says anything: the same type in every row does not."""
    if name == "type":
        return len(set(view.coins["type_key"])) > 1
    read = {"diameter": "diameter_mm", "thickness": "thickness_mm"}.get(name)
    return read is None or bool(view.coins[read].notna().any())


def _row(view: LotView, coin: pd.Series) -> dict[str, str]:
    return {
        "coin": shortened(str(coin["coin_id"]), 20),
        "type": shortened(str(coin["type_key"]), 24),
        "date": shortened(date(coin), 14),
        "where": shortened(view.place(coin), 22),
        "weight": fixed(coin["weight_g"], view.decimals),
        "diameter": across(coin),
        "thickness": fixed(coin["thickness_mm"], 2),
        "expected": expected(view, coin).removesuffix(" g"),
        "rare": rarity(coin["p_value"], short=True),
        "finding": str(coin["finding"]),
    }
