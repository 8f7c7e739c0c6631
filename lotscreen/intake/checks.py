"""The stated value of a check weight, from the words of its row."""

from __future__ import annotations

import re

import numpy as np

from lotscreen.intake.cells import text_cell
from lotscreen.intake.grid import plain_words
from lotscreen.intake.headers import unit_factors
from lotscreen.intake.layout import Layout
from lotscreen.intake.vocabulary import starts_with
from lotscreen.records import Bools, Floats

_NUMBER_AND_UNIT = re.compile(r"(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>mg|kg|g|grains?|dwt|ozt)?\b")


def nominal_g(layout: Layout, is_check: Bools, decimal_sign: str) -> Floats:
    """Stated grams of each check weight, NaN where the row does not say.

    A column of stated values goes first, then the number behind the word "check" (or its
    like), then a number in the row's name.
    """
    found = np.full(len(is_check), np.nan)
    for row in np.flatnonzero(is_check):
        found[row] = _of_row(layout, int(row), decimal_sign)
    return found


def _of_row(layout: Layout, row: int, decimal_sign: str) -> float:
    if "nominal" in layout.single:
        cell = text_cell(str(layout.single["nominal"].texts[row]), decimal_sign)
        grams = cell.value * unit_factors("nominal").get(cell.unit or "g", np.nan)
        if np.isfinite(grams):
            return float(grams)
    names = [
        plain_words(str(layout.single[role].texts[row]))
        for role in ("coin_id", "type", "kind")
        if role in layout.single
    ]
    behind = [m["rest"] for name in names if (m := starts_with("check").match(name))]
    for text in (*behind, *names):
        grams = _grams_in(text)
        if np.isfinite(grams):
            return grams
    return float("nan")


def _grams_in(text: str) -> float:
    """The number with a unit in a text, else its first number as grams."""
    numbers = list(_NUMBER_AND_UNIT.finditer(text))
    if not numbers:
        return float("nan")
    best = next((n for n in numbers if n["unit"]), numbers[0])
    unit = (best["unit"] or "g").removesuffix("s")
    return float(best["number"].replace(",", ".")) * unit_factors("nominal")[unit]
