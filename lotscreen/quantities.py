"""Units with exact factors, and the parsing of a quantity written in a cell.

The grain is 64.798 91 mg exactly (international yard and pound agreement of 1959); the
pennyweight is 24 grains, the troy ounce 480, the avoirdupois ounce 437.5; the inch is
25.4 mm exactly.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

GRADES = ("AU", "EF", "VF", "F", "VG", "G", "AG")
"""How worn a coin is by eye, least worn first: about uncirculated and better, extremely
fine, very fine, fine, very good, good, about good and worse."""

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
DENSITY_UNITS: dict[str, float] = {"g/cm3": 1.0, "kg/m3": 0.001}
CONDUCTIVITY_UNITS: dict[str, float] = {"%IACS": 1.0, "MS/m": 100.0 / 58.0}

UNIT_WORDS: dict[str, str] = {
    "g": "g", "gm": "g", "gms": "g", "gram": "g", "grams": "g", "gramme": "g",
    "grammes": "g", "gramm": "g", "gramo": "g", "gramos": "g", "grm": "g",
    "mg": "mg", "kg": "kg", "kilo": "kg", "kilos": "kg",
    "grain": "grain", "grains": "grain", "grn": "grain", "grns": "grain", "grs": "grain",
    "gran": "grain", "grän": "grain", "grano": "grain", "granos": "grain",
    "dwt": "dwt", "dwts": "dwt", "pennyweight": "dwt", "pennyweights": "dwt",
    "ozt": "ozt", "troy oz": "ozt", "oz t": "ozt", "oz troy": "ozt", "oz": "oz",
    "mm": "mm", "millimetre": "mm", "millimetres": "mm", "millimeter": "mm",
    "millimeters": "mm", "millimètres": "mm", "milímetros": "mm",
    "cm": "cm", "in": "in", "inch": "in", "inches": "in", "zoll": "in", '"': "in",
    "g/cm3": "g/cm3", "g/cm³": "g/cm3", "g/ml": "g/cm3", "kg/m3": "kg/m3", "kg/m³": "kg/m3",
    "%iacs": "%IACS", "% iacs": "%IACS", "iacs": "%IACS", "ms/m": "MS/m",
}  # fmt: skip
AMBIGUOUS_UNIT_WORDS = frozenset({"gr", "gr."})  # gram in French and German, grain in English

LONGEST_NUMBER = 60  # characters; a longer cell is no reading
_FRACTIONS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_SPACES = str.maketrans({"\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u2212": "-"})


def _number_pattern(decimal: str, thousands: str) -> re.Pattern[str]:
    """One number with that decimal sign; thousands are groups of three, one separator."""
    return re.compile(
        r"(?P<sign>[-+])?\s*"
        rf"(?P<whole>\d{{1,3}}(?P<group>[{thousands}])\d{{3}}(?:(?P=group)\d{{3}})*|\d+)?"
        rf"(?:{decimal}(?P<part>\d*))?"
        r"(?:(?:(?<=\d)\s+(?P<top>\d+))?\s*/\s*(?P<bottom>\d+))?"
        r"(?P<unit>\s*[^\d\s.,/].*)?"
    )


_NUMBER: dict[str, re.Pattern[str]] = {
    ".": _number_pattern(r"\.", " ,'\u2019"),
    ",": _number_pattern(",", " .'\u2019"),
}


@dataclass(frozen=True, slots=True)
class ParsedNumber:
    """A number found in a cell: value as written, unit word as written in lower case (''
    if none), the number of decimals (None for a fraction), and whether the unit word
    follows the digits without a space."""

    value: float
    unit_word: str
    decimals: int | None
    glued: bool = False


def parse_number(text: str, decimal_sign: str = ".") -> ParsedNumber | None:
    """Read ``'12.5 g'``, ``'412 1/2 gr'`` or ``'26,73'`` (decimal sign ``','``).

    Returns None where the text is not one number with an optional unit; the caller keeps
    the raw text. Thousands separators are accepted only between groups of three digits,
    so that ``'26,73'`` is no number where the decimal sign is a point.
    """
    clean = text.translate(_SPACES).strip()
    if len(clean) > LONGEST_NUMBER:
        return None
    for glyph, plain in _FRACTIONS.items():
        if glyph in clean:
            clean = clean.replace(glyph, f" {plain}").strip()
    match = _NUMBER[decimal_sign].fullmatch(clean)
    if match is None or not (match["whole"] or match["part"]):
        return None
    return _number_of(match)


def _number_of(match: re.Match[str]) -> ParsedNumber | None:
    whole = (match["whole"] or "0").replace(match["group"] or " ", "")
    value = float(f"{whole}.{match['part'] or '0'}")
    decimals: int | None = len(match["part"] or "")
    if match["bottom"] is not None:
        if match["part"] is not None or int(match["bottom"]) == 0:
            return None
        decimals = None
        value = _with_fraction(value, match["top"], int(match["bottom"]))
    if match["sign"] == "-":
        value = -value
    unit = match["unit"] or ""
    return ParsedNumber(value, unit.strip().lower(), decimals, bool(unit) and unit[0] != " ")


def _with_fraction(whole: float, top: str | None, bottom: int) -> float:
    """``412 1/2`` (top '1') or, where the number itself is the top, ``1/2``."""
    return whole / bottom if top is None else whole + int(top) / bottom


def to_grams(value: float, unit: str) -> float:
    """Grams of ``value`` in a key of ``WEIGHT_UNITS``; KeyError names an unknown unit."""
    return value * WEIGHT_UNITS[unit]


def to_millimetres(value: float, unit: str) -> float:
    """Millimetres of ``value`` in a key of ``LENGTH_UNITS``."""
    return value * LENGTH_UNITS[unit]
