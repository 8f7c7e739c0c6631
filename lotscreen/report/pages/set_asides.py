"""The coins set aside or not consistent, with reasons, explanations and next tests."""

from __future__ import annotations

import pandas as pd

from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table
from lotscreen.report.numerals import fixed, rarity, whole
from lotscreen.report.printable import shortened
from lotscreen.report.view import DEPARTING, LotView
from lotscreen.words import phrase, say, table

MOST_ROWS = 120


def build(view: LotView) -> list[Block]:
    """One row a coin, most in doubt first; beyond ``MOST_ROWS`` the workbook has them."""
    coins = view.found(DEPARTING)
    blocks: list[Block] = [Heading(phrase("report.set_asides.heading"), new_page=len(coins) > 3)]
    if coins.empty:
        return [*blocks, Paragraph(phrase("report.set_asides.none"))]
    shown = coins.head(MOST_ROWS)
    blocks.append(Paragraph(phrase("report.set_asides.intro"), "note"))
    blocks.append(_table(view, shown))
    if len(shown) < len(coins):
        text = say("report.set_asides.cut_short", shown=whole(len(shown)), n=whole(len(coins)))
        blocks.append(Paragraph(text, "note"))
    return blocks


def _table(view: LotView, coins: pd.DataFrame) -> Table:
    heads = table("report_columns")["set_asides"]
    shares = (0, 0, 0, 5, 4)
    columns = tuple(Column(head, share=share) for head, share in zip(heads, shares, strict=True))
    rows = tuple(_row(view, coin) for _, coin in coins.iterrows())
    return Table(columns, rows, phrase("report.set_asides.summary"), small=True)


def _row(view: LotView, coin: pd.Series) -> tuple[str, ...]:
    explained = f"\n{coin['explanations']}" if coin["explanations"] else ""
    return (
        f"{shortened(str(coin['coin_id']), 24)}\n{shortened(view.place(coin), 28)}",
        f"{readings(view, coin)}\n{say('report.set_asides.expected', weight=expected(view, coin))}",
        rarity(coin["p_value"]),
        f"{coin['finding']}: {coin['reason']}{explained}",
        str(coin["next_test"]),
    )


def readings(view: LotView, coin: pd.Series) -> str:
    """What was read: weight, diameter (least and greatest where both were), thickness."""
    parts = [f"{fixed(coin['weight_g'], view.decimals)} g"]
    low, high = coin["diameter_min_mm"], coin["diameter_max_mm"]
    if pd.notna(low) and pd.notna(high):
        parts.append(f"Ø {fixed(low, 2)}–{fixed(high, 2)} mm")
    elif pd.notna(coin["diameter_mm"]):
        parts.append(f"Ø {fixed(coin['diameter_mm'], 2)} mm")
    if pd.notna(coin["thickness_mm"]):
        parts.append(say("report.readings.thickness", mm=fixed(coin["thickness_mm"], 2)))
    return ", ".join(parts)


def expected(view: LotView, coin: pd.Series) -> str:
    """The 95 % interval for the weighing of an honest coin like this."""
    low, high = coin["expected_low_g"], coin["expected_high_g"]
    if pd.isna(low):
        return fixed(low, 2)
    decimals = max(2, view.decimals)
    return f"{fixed(low, decimals)}–{fixed(high, decimals)} g"
