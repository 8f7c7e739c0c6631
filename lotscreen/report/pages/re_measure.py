"""Coins to put back on the scale, by roll and position, and coins that were not judged."""

from __future__ import annotations

import pandas as pd

from lotscreen.records import FindingKind
from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table
from lotscreen.report.numerals import counted, whole
from lotscreen.report.pages.readings import expected, readings
from lotscreen.report.pages.to_do import places
from lotscreen.report.printable import shortened
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say, table

MOST_ROWS = 200


def build(view: LotView) -> list[Block]:
    """Two lists: to measure again in the order they lie, and not judged by reason."""
    return [*_again(view), *_not_judged(view)]


def _again(view: LotView) -> list[Block]:
    coins = view.found([FindingKind.RE_MEASURE.value])
    if coins.empty:
        return []
    shown = view.in_sheet_places(coins).head(MOST_ROWS)
    heads = table("report_columns")["re_measure"]
    columns = tuple(
        Column(head, share=share) for head, share in zip(heads, (0, 0, 0, 0, 1), strict=True)
    )
    rows = tuple(_row(view, coin) for _, coin in shown.iterrows())
    blocks: list[Block] = [
        Heading(phrase("report.re_measure.heading")),
        Paragraph(phrase("report.re_measure.intro"), "intro"),
        Table(columns, rows, phrase("report.re_measure.summary"), small=True),
    ]
    if len(shown) < len(coins):
        text = say("report.re_measure.cut_short", shown=whole(len(shown)), n=whole(len(coins)))
        blocks.append(Paragraph(text, "note"))
    return blocks


def _row(view: LotView, coin: pd.Series) -> tuple[str, ...]:
    return (
        shortened(view.place(coin), 28),
        shortened(str(coin["coin_id"]), 24),
        readings(view, coin),
        expected(view, coin),
        str(coin["reason"]),
    )


def _not_judged(view: LotView) -> list[Block]:
    coins = view.found([FindingKind.NOT_JUDGED.value])
    if coins.empty:
        return []
    heads = table("report_columns")["not_judged"]
    columns = (Column(heads[0], share=1), Column(heads[1], "right"), Column(heads[2], share=1))
    rows = tuple(
        (str(reason), whole(len(group)), places(view, group))
        for reason, group in coins.groupby("reason", sort=False)
    )
    return [
        Heading(phrase("report.not_judged.heading")),
        Paragraph(say("report.not_judged.intro", coins=counted(len(coins), "coin"))),
        Table(columns, rows, phrase("report.not_judged.summary"), small=True),
    ]
