"""Units with exact factors, and the parsing of a quantity written in a cell.

The grain is 64.798 91 mg exactly (international yard and pound agreement of 1959); the
pennyweight is 24 grains, the troy ounce 480, the avoirdupois ounce 437.5; the inch is
25.4 mm exactly.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

GRAIN_G = 0.06479891
DWT_G = 24 * GRAIN_G
TROY_OUNCE_G = 480 * GRAIN_G
OUNCE_G = 437.5 * GRAIN_G
INCH_MM = 25.4

WEIGHT_UNITS: dict[str, float] = {
    "g": 1.0,
    "mg": 0.001,
    "kg": 1000.0,
    "grain": GRAIN_G,
    "dwt": DWT_G,
    "ozt": TROY_OUNCE_G,
    "oz": OUNCE_G,
}
LENGTH_UNITS: dict[str, float] = {"mm": 1.0, "cm": 10.0, "in": INCH_MM}

UNIT_WORDS: dict[str, str] = {
    "g": "g", "gm": "g", "gms": "g", "gram": "g", "grams": "g", "gramme": "g",
    "grammes": "g", "gramm": "g", "gramos": "g", "grm": "g",
    "mg": "mg", "kg": "kg", "kilo": "kg",
    "grain": "grain", "grains": "grain", "grn": "grain", "grns": "grain", "grs": "grain",
    "dwt": "dwt", "dwts": "dwt", "pennyweight": "dwt", "pennyweights": "dwt",
    "ozt": "ozt", "troy oz": "ozt", "oz t": "ozt", "oz": "oz",
    "mm": "mm", "millimetre": "mm", "millimetres": "mm", "millimeter": "mm",
    "cm": "cm", "in": "in", "inch": "in", "inches": "in", '"': "in",
}  # fmt: skip
AMBIGUOUS_UNIT_WORDS = frozenset({"gr", "gr."})  # gram in French and German, grain in English

_FRACTIONS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_NUMBER = re.compile(
    r"^\s*(?P<sign>[-+])?\s*(?P<num>\d[\d ]*(?:\.\d+)?|\.\d+)"
    r"(?:\s+(?P<top>\d+)\s*/\s*(?P<bottom>\d+)|\s*/\s*(?P<only>\d+))?"
    r"\s*(?P<unit>[^\d\s].*)?$"
)


@dataclass(frozen=True, slots=True)
class ParsedNumber:
    """A number found in a cell: value as written, unit word as written ('' if none) and
    the number of decimals (None for a fraction)."""

    value: float
    unit_word: str
    decimals: int | None


def parse_number(text: str, decimal_sign: str = ".") -> ParsedNumber | None:
    """Read ``'12.5 g'``, ``'412 1/2 gr'`` or ``'26,73'`` (decimal sign ``','``).

    Returns None where the text is not one number with an optional unit; the caller
    keeps the raw text. Thousands separators of the other sign are accepted.
    """
    clean = text.replace("\u00a0", " ").replace("\u202f", " ").replace("\u2009", " ")
    clean = clean.replace("\u2212", "-").strip()
    for glyph, plain in _FRACTIONS.items():
        clean = clean.replace(glyph, f" {plain}")
    if decimal_sign == ",":
        clean = clean.replace(".", "").replace(",", ".")
    else:
        clean = re.sub(r"(?<=\d),(?=\d{3}(\D|$))", "", clean)
    match = _NUMBER.match(clean)
    if match is None:
        return None
    return _number_of(match)


def _number_of(match: re.Match[str]) -> ParsedNumber | None:
    digits = match["num"].replace(" ", "")
    value = float(digits)
    decimals: int | None = len(digits.partition(".")[2])
    bottom = match["bottom"] or match["only"]
    if bottom is not None:
        if int(bottom) == 0:
            return None
        value = value / int(bottom) if match["only"] else value + int(match["top"]) / int(bottom)
        decimals = None
    if match["sign"] == "-":
        value = -value
    return ParsedNumber(value, (match["unit"] or "").strip().lower(), decimals)


def to_grams(value: float, unit: str) -> float:
    """Grams of ``value`` in a key of ``WEIGHT_UNITS``; KeyError names an unknown unit."""
    return value * WEIGHT_UNITS[unit]


def to_millimetres(value: float, unit: str) -> float:
    """Millimetres of ``value`` in a key of ``LENGTH_UNITS``."""
    return value * LENGTH_UNITS[unit]
