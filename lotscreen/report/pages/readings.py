"""One coin's readings and expectation as the tables of the report print them."""

from __future__ import annotations

import pandas as pd

from lotscreen.report.numerals import MISSING, as_read, fixed
from lotscreen.report.view import LotView
from lotscreen.words import say


def readings(view: LotView, coin: pd.Series) -> str:
    """What was read: weight, diameter (least and greatest where both were), thickness."""
    weight = as_read(coin["weight_g"], view.decimals)
    parts = [weight if weight == MISSING else f"{weight} g"]
    diameter = across(coin)
    if diameter != MISSING:
        parts.append(f"Ø {diameter} mm")
    if pd.notna(coin["thickness_mm"]):
        parts.append(say("report.readings.thickness", mm=fixed(coin["thickness_mm"], 2)))
    return ", ".join(parts)


def across(coin: pd.Series) -> str:
    """The diameter in mm, or the least and the greatest where they differ."""
    low, high = coin["diameter_min_mm"], coin["diameter_max_mm"]
    if pd.notna(low) and pd.notna(high) and low != high:
        return f"{fixed(low, 2)}–{fixed(high, 2)}"
    return fixed(coin["diameter_mm"], 2)


def date(coin: pd.Series) -> str:
    """The date as written, with the mint mark where that stands in a column of its own."""
    text, mark = str(coin["date_text"]), str(coin["mint_mark"])
    return text if not mark or mark in text else f"{text} {mark}".strip()


def expected(view: LotView, coin: pd.Series) -> str:
    """The 95 % interval for the weighing of an honest coin like this."""
    low, high = coin["expected_low_g"], coin["expected_high_g"]
    if pd.isna(low):
        return MISSING
    decimals = max(2, view.decimals)
    return f"{fixed(low, decimals)}–{fixed(high, decimals)} g"
