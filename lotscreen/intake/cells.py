"""One cell of a measure: a number, no reading, or something that a person must read."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from lotscreen.intake.headers import unit_of_word
from lotscreen.intake.vocabulary import is_ditto, is_missing
from lotscreen.quantities import ParsedNumber, parse_number

_BEFORE = re.compile(r"^(?:≈|~|±|c\.|ca\.?|circa|about|approx\.?|etwa|env\.|aprox\.?)\s*", re.I)
_AFTER = re.compile(r"\s*(?:\(\?+\)|\?+|\*+|†|‡|[¹²³⁴⁵⁶⁷⁸⁹⁰]+|\[[a-z0-9]\]|!+)$", re.I)
_BOUND = re.compile(r"^[<>≤≥]")
_IN_BRACKETS = re.compile(r"^[(\[](?P<inside>[^)\]]+)[)\]]$")
_COMMA_DECIMAL = re.compile(r"\d,\d{1,2}(?!\d)|\d,\d{4,}|^0,\d+|\d\.\d{3},")
_POINT_DECIMAL = re.compile(r"\d\.\d{1,2}(?!\d)|\d\.\d{4,}|^0\.\d+|\d,\d{3}\.")
_COMMA_THOUSAND = re.compile(r"\d,\d{3}(?!\d)")
_POINT_THOUSAND = re.compile(r"\d\.\d{3}(?!\d)")
_DIGITS_FOR = str.maketrans("OoQDlIi|ZzSsBg", "00001111225589")
_SERIES = re.compile(r"(?=.*\d)[\dOoQDlIi|ZzSsBg]+(?:[.,][\dOoQDlIi|ZzSsBg]+)?")
_LARGEST = 1e8  # no coin or bag reads more, in whatever unit
_FILLERS = frozenset({999.0, 9999.0, 99999.0, 999.9, 999.99})  # typed where there is no reading
_ERROR = re.compile(r"#[A-ZÄÖÜ0-9/]+[!?]?|#\w+\?|Err:\d+", re.I)


@dataclass(frozen=True, slots=True)
class Cell:
    """What a cell of a measure says.

    ``state`` is 'number', 'missing' or 'unreadable'. ``value`` is as written (NaN unless
    a number), ``unit`` the unit's key or ``gr`` or '' where none is written, ``decimals``
    the decimals written (-1 for a fraction). ``doubt`` is the key of the words that say
    what is odd ('' nothing), ``proposal`` what it may have been meant to be.
    """

    state: str
    value: float = math.nan
    unit: str = ""
    decimals: int = 0
    doubt: str = ""
    proposal: str = ""


_MISSING = Cell("missing")


def decimal_sign_of(texts: Iterable[str]) -> tuple[str, int, int]:
    """The decimal sign of a file's text cells, and how many cells speak for point, comma.

    Cells with three digits behind the sign speak for nothing unless no other does: then
    a comma is taken for the decimal sign, since coins do not weigh thousands.
    """
    points = commas = thousand_points = thousand_commas = 0
    for text in texts:
        points += bool(_POINT_DECIMAL.search(text))
        commas += bool(_COMMA_DECIMAL.search(text))
        thousand_points += bool(_POINT_THOUSAND.search(text))
        thousand_commas += bool(_COMMA_THOUSAND.search(text))
    if points == commas:
        return ("," if thousand_commas > thousand_points else "."), points, commas
    return ("," if commas > points else "."), points, commas


def number_cell(value: float, text: str) -> Cell:
    """The cell of a number that a spreadsheet program stored; ``text`` is it in full."""
    if value == 0:
        return _MISSING
    if not value > 0:
        return Cell("unreadable", doubt="not_above_zero")
    if value > _LARGEST:
        return Cell("unreadable", doubt="too_large")
    if value in _FILLERS:
        return Cell("unreadable", doubt="filler")
    decimals = len(text.partition(".")[2]) if "e" not in text else 0
    return Cell("number", value, decimals=decimals)


def text_cell(text: str, decimal_sign: str) -> Cell:
    """The cell of a text, with the file's decimal sign."""
    if is_missing(text):
        return _MISSING
    if is_ditto(text):
        return Cell("unreadable", doubt="ditto_reading")
    if text[:1] == "=":
        return Cell("unreadable", doubt="never_calculated")
    if _ERROR.fullmatch(text.strip()):
        return Cell("unreadable", doubt="error_cell")
    bare, marked = _without_marks(text.strip())
    if _BOUND.match(bare):
        return Cell("unreadable", doubt="bound")
    cell = _parsed(bare, decimal_sign)
    if marked and cell.state == "number" and not cell.doubt:
        return replace(cell, doubt="marked")
    return cell


def _without_marks(text: str) -> tuple[str, bool]:
    """The text without the signs of doubt around it, and whether there were any."""
    inside = _IN_BRACKETS.match(text)
    bare = inside["inside"] if inside is not None else text
    bare = _AFTER.sub("", _BEFORE.sub("", bare)).strip()
    return bare, bare != text


def _parsed(text: str, decimal_sign: str) -> Cell:
    other_sign = "." if decimal_sign == "," else ","
    number, other = parse_number(text, decimal_sign), parse_number(text, other_sign)
    if number is None and other is not None:
        return replace(_read(other, text), doubt="other_sign")
    if number is None:
        return Cell("unreadable", doubt="unreadable", proposal=_proposal(text))
    cell = _read(number, text)
    if other is not None and other.value < number.value and not cell.doubt:
        return replace(cell, doubt="thousands", proposal=f"{other.value:.10g}")
    return cell


def _read(number: ParsedNumber, text: str) -> Cell:
    if number.value == 0 and not number.unit_word:
        return _MISSING
    if number.value <= 0:
        return Cell("unreadable", doubt="not_above_zero")
    if number.value > _LARGEST:
        return Cell("unreadable", doubt="too_large")
    if number.value in _FILLERS and not number.unit_word:
        return Cell("unreadable", doubt="filler")
    unit, doubt = _unit(number.unit_word), ""
    if unit is None and number.glued and number.unit_word[0] not in "([{":
        return Cell("unreadable", doubt="unreadable", proposal=_proposal(text))
    if unit is None:
        doubt = "words_behind"
    decimals = -1 if number.decimals is None else number.decimals
    return Cell("number", number.value, unit or "", decimals, doubt)


def _unit(word: str) -> str | None:
    """The unit a cell ends in, also before a remark ('12.5 g in flip'); '' where none."""
    if not word:
        return ""
    return unit_of_word(word) or unit_of_word(word.split()[0])


def _proposal(text: str) -> str:
    """What an unreadable cell may mean: a letter for a digit, a sign typed twice."""
    meant = re.sub(r"[.,;:]\s*[.,;:]|[;:]", ".", text)
    meant = re.sub(r"(?<=\d)[.,]\s+(?=\d)|(?<=\d)\s+(?=\d{1,2}$)", ".", meant.strip())
    if _SERIES.fullmatch(meant):
        meant = meant.translate(_DIGITS_FOR)
    return meant if meant != text.strip() and parse_number(meant.replace(",", ".")) else ""
