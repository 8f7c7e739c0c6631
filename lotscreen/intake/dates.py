"""Dates on coins as sheets write them: year, mint mark, and what is odd about them."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

from lotscreen.intake.grid import plain_words
from lotscreen.intake.vocabulary import cell_words, is_missing

# The last is beyond the day this edition is meant for, and no clock's: the same sheet gives
# the same findings in any year.
FIRST_YEAR, LAST_YEAR = 1000, 2030

_DAY_ZERO = dt.date(1899, 12, 30)  # spreadsheet programs count the days from here
_SERIALS = (30_000, 60_000)  # days of 1982 to 2064: dates typed in our time

_DIGITS = re.compile(r"\d+")
_MARK_AFTER = re.compile(r"[\s\-./,]*(?P<mark>[A-Za-z]{1,2})(?![A-Za-z])")
_MARK_BEFORE = re.compile(r"(?P<mark>[A-Za-z]{1,2})[\s\-./,]*")
_NO_MARK = frozenset({"c", "ca", "v", "ad", "or", "to", "no"})
_SPAN = re.compile(r"\s*(?:[-–]\s*\d\d|[-/–]\s*(?:1[0-9]|20)\d\d)(?!\d)")


@dataclass(frozen=True, slots=True)
class CoinDate:
    """A date understood: year or None, mint mark or '', key of the doubt or ''."""

    year: int | None
    mint_mark: str = ""
    doubt: str = ""
    proposal: str = ""


def coin_date(text: str) -> CoinDate:
    """``1891-S``, ``1891 CC``, ``S/1891``, ``1891/0`` (overdate), ``1853 arrows``, ``n.d.``

    The year is the first group of four digits. Two digits, five digits, a year before
    1000 or after 2030 and a span of years give no year and a doubt.
    """
    if is_missing(text) or plain_words(text).strip("().") in _no_date():
        return CoinDate(None)
    groups = list(_DIGITS.finditer(text))
    four = next((g for g in groups if len(g[0]) == 4), None)
    if four is None:
        return _without_year(text, groups)
    year = int(four[0])
    if not FIRST_YEAR <= year <= LAST_YEAR:
        return CoinDate(None, doubt="date_impossible", proposal=_swapped(four[0]))
    if _SPAN.match(text[four.end() :]):
        return CoinDate(None, doubt="date_span")
    doubt = "date_marked" if "?" in text else ""
    return CoinDate(year, _mark(text[: four.start()], text[four.end() :]), doubt)


def calendar_date(text: str) -> CoinDate:
    """A date that a spreadsheet program stored as a day: never a year struck for sure.

    The day 1905-01-26 is the number 1853 in a cell set to show days; of any other day the
    year is proposed.
    """
    number = (dt.date.fromisoformat(text[:10]) - _DAY_ZERO).days
    year = str(number) if FIRST_YEAR <= number <= LAST_YEAR else text[:4]
    return CoinDate(None, doubt="date_is_day", proposal=year)


def _no_date() -> frozenset[str]:
    return frozenset(word.strip("().") for word in cell_words("no_date"))


def _mark(before: str, after: str) -> str:
    """The mint mark right behind the year, else before it; upper case."""
    behind = _MARK_AFTER.match(after)
    if behind is None:
        overdate = re.match(r"/\d{1,2}(?!\d)", after)
        behind = _MARK_AFTER.match(after[overdate.end() :]) if overdate is not None else None
    found = behind or _MARK_BEFORE.fullmatch(before.strip())
    if found is None or found["mark"].casefold() in _NO_MARK:
        return ""
    return found["mark"].upper()


def _without_year(text: str, groups: list[re.Match[str]]) -> CoinDate:
    if not groups:
        return CoinDate(None, doubt="date_unreadable", proposal=_letters_mended(text))
    digits = groups[0][0]
    if len(digits) == 2 and text.strip().lstrip("'’`") == digits:
        return CoinDate(None, doubt="date_two_digits")
    if len(digits) == 5 and _SERIALS[0] <= int(digits) <= _SERIALS[1]:
        day = _DAY_ZERO + dt.timedelta(days=int(digits))
        return CoinDate(None, doubt="date_serial", proposal=day.isoformat())
    if len(digits) == 5:
        return CoinDate(None, doubt="date_impossible", proposal=_one_digit_less(digits))
    return CoinDate(None, doubt="date_unreadable", proposal=_letters_mended(text))


def _letters_mended(text: str) -> str:
    mended = text.translate(str.maketrans("OoQlIiSsBZz", "00011155822")).strip()
    return mended if re.fullmatch(r"1[5-9]\d\d|20\d\d", mended) else ""


def _one_digit_less(digits: str) -> str:
    """``18991`` may be 1891 or 1899 with a digit typed twice over."""
    shorter = {digits[:i] + digits[i + 1 :] for i in range(len(digits))}
    likely = sorted(filter(_may_be_meant, shorter))
    return " / ".join(likely[:3])


def _swapped(digits: str) -> str:
    """A year outside 1000-2030 with two neighbouring digits the other way round."""
    turned = {digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :] for i in range(3)}
    return " / ".join(sorted(filter(_may_be_meant, turned)))


def _may_be_meant(digits: str) -> bool:
    """Whether a coin on a table is likely to bear this year."""
    return bool(re.fullmatch(r"1[5-9]\d\d|20\d\d", digits)) and int(digits) <= LAST_YEAR
