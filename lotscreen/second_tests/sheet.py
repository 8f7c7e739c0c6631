"""A sheet of second tests read: one row a result, headers and tests in common words.

Nothing is altered and nothing guessed that a person should say: a row that cannot be taken
is told with file, sheet, row, column, the value found and what to write.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np

from lotscreen.intake.cells import Cell, decimal_sign_of, number_cell, text_cell
from lotscreen.intake.grid import Book, Sheet, cell_text, plain_words
from lotscreen.intake.readers import read_book
from lotscreen.intake.vocabulary import is_missing, without_accents
from lotscreen.quantities import CONDUCTIVITY_UNITS, DENSITY_UNITS, UNIT_WORDS, WEIGHT_UNITS
from lotscreen.records import InputError
from lotscreen.second_tests.results import (
    ASSAY,
    CONDUCTIVITY,
    MAGNET,
    RE_WEIGH,
    RING,
    WATER,
    X_RAY,
    SecondResult,
)
from lotscreen.second_tests.water import water_known
from lotscreen.words import say

_ROWS_LOOKED_AT = 30
_NUMBERS = ("temperature", "reference", "thread", "step", "offset", "repeat")
_HIGHEST_FINENESS = 1000.0


@dataclass(frozen=True, slots=True)
class ResultSheet:
    """What a sheet of second tests holds: results, and a sentence for each row not taken."""

    name: str
    digest: str
    results: tuple[SecondResult, ...]
    not_taken: tuple[str, ...]


class _RowError(Exception):
    """One cell that cannot be taken: its column and what to say."""


@cache
def _words() -> Mapping[str, Any]:
    path = files("lotscreen.second_tests") / "sheet_words.toml"
    return tomllib.loads(path.read_text(encoding="utf-8"))


def plain(text: str) -> str:
    """Lower case without accents, hyphens, points and brackets."""
    bare = re.sub(r"[\[({].*?[\])}]", " ", text)
    bare = without_accents(plain_words(bare)).casefold()
    return " ".join(re.sub(r"[_\-./,:]", " ", bare).split())


def read_tests(path: Path) -> ResultSheet:
    """The results of the file at ``path`` (any kind of sheet that the screen reads).

    InputError where it cannot be read or no row names its columns (coin, test, value).
    """
    return results_of_book(read_book(path))


def results_of_book(book: Book) -> ResultSheet:
    """The results of a book already read."""
    results: list[SecondResult] = []
    not_taken: list[str] = []
    understood = False
    for sheet in book.sheets:
        places = _header(sheet)
        if places is None:
            continue
        understood = True
        _read_rows(book.name, sheet, *places, results, not_taken)
    if not understood:
        raise InputError(say("second_tests.error.no_header", file=book.name))
    return ResultSheet(book.name, book.digest, tuple(results), tuple(not_taken))


def possible_headers(
    sheet: Sheet, words_of_roles: Mapping[str, Sequence[str]]
) -> Iterator[tuple[int, dict[str, int]]]:
    """Each of the first rows (from 0) with the column of every role that its words name,
    the first column where two do."""
    roles = {word: role for role, words in words_of_roles.items() for word in words}
    for at, row in enumerate(sheet.rows[:_ROWS_LOOKED_AT]):
        found: dict[str, int] = {}
        for place, cell in enumerate(row):
            role = roles.get(plain(cell_text(cell)))
            if role is not None:
                found.setdefault(role, place)
        yield at, found


def _header(sheet: Sheet) -> tuple[int, dict[str, int]] | None:
    """The header's row (from 0) and each role's column; None where no row is one."""
    for at, found in possible_headers(sheet, _words()["roles"]):
        if "coin" not in found and "group" not in found and "position" in found:
            found["coin"] = found.pop("position")  # "no" alone is the coin's number
        if {"test", "value"} <= set(found) and {"coin", "position"} & set(found):
            return at, found
    return None


def _read_rows(
    file: str, sheet: Sheet, header: int, places: dict[str, int],
    results: list[SecondResult], not_taken: list[str],
) -> None:  # fmt: skip
    body = sheet.rows[header + 1 :]
    numbers = [c for r in body for role in ("value", *_NUMBERS) for c in [_cell(r, places, role)]]
    sign, _, _ = decimal_sign_of(c for c in numbers if isinstance(c, str))
    for number, row in enumerate(body, header + 2):
        if all(is_missing(cell_text(cell)) for cell in row):
            continue
        try:
            results.append(_result(row, places, sign, file, sheet.name, number))
        except _RowError as error:
            column, why = error.args
            not_taken.append(say("second_tests.error.row", file=file, sheet=sheet.name,
                                 row=number, column=column, why=why))  # fmt: skip


def _cell(row: Sequence[object], places: Mapping[str, int], role: str) -> object:
    place = places.get(role, -1)
    return row[place] if 0 <= place < len(row) else ""


def _text(row: Sequence[object], places: Mapping[str, int], role: str) -> str:
    text = cell_text(_cell(row, places, role)).strip()
    return "" if is_missing(text) else text


def _result(
    row: Sequence[object], places: Mapping[str, int], sign: str, file: str, sheet: str, number: int
) -> SecondResult:
    coin, group, position = (_text(row, places, r) for r in ("coin", "group", "position"))
    if not coin and not position:
        raise _RowError("coin", say("second_tests.error.no_coin"))
    test, hint = _test(_text(row, places, "test"))
    value, word, unit, factor = _value(test, row, places, sign)
    others = {role: _number(row, places, role, sign) for role in _NUMBERS}
    if test == RING and not word and not np.isfinite(others["reference"]):
        raise _RowError("reference", say("second_tests.error.no_reference"))
    hanging = test == WATER and unit in WEIGHT_UNITS
    if hanging and np.isfinite(others["temperature"]) and not water_known(others["temperature"]):
        wrong = say("second_tests.error.temperature", value=others["temperature"])
        raise _RowError("temperature", wrong)
    return SecondResult(
        coin=coin, test=test, value=np.nan if hanging else value, word=word,
        immersed_g=value if hanging and hint != "displaced" else np.nan,
        displaced_g=value if hanging and hint == "displaced" else np.nan,
        thread_g=0.0 if np.isnan(others["thread"]) else others["thread"],
        temperature_c=others["temperature"], reference=others["reference"] * factor,
        step=others["step"],
        offset=others["offset"], repeat=others["repeat"],
        instrument=_text(row, places, "instrument"), who=_text(row, places, "who"),
        group=group, position=int(position) if position.isdecimal() else -1,
        row=number, file=file, sheet=sheet, raw=_text(row, places, "value"),
        lot=_text(row, places, "lot"),
    )  # fmt: skip


def _test(text: str) -> tuple[str, str]:
    """The test's key, and 'displaced' where its words say so."""
    words = plain(text)
    for key, names in _words()["tests"].items():
        if words == key.replace("_", " ") or words in names:
            return key, "displaced" if words in ("displaced", "beaker") else ""
    known = ", ".join(names[0] for names in _words()["tests"].values())
    raise _RowError("test", say("second_tests.error.test_word", value=text, known=known))


def _value(
    test: str, row: Sequence[object], places: Mapping[str, int], sign: str
) -> tuple[float, str, str, float]:
    """Value in the test's unit, or the answer in words; the unit as its key; what the value
    was multiplied by (a reference piece is written in the same unit)."""
    raw = _text(row, places, "value")
    for word, ways in _words()["answers"].get(test, {}).items():
        if plain(raw) in ways:
            return np.nan, word, "", 1.0
    if test == MAGNET:
        raise _RowError("value", say("second_tests.error.answer", value=raw, known="yes, weak, no"))
    cell = measure_cell(_cell(row, places, "value"), sign)
    if cell.state != "number" or cell.doubt not in ("", "words_behind"):
        raise _RowError("value", _no_measure(cell, raw))
    typed = _text(row, places, "unit") or _behind(raw)
    factor, unit = _factor(test, typed, cell.value)
    return cell.value * factor, "", unit, factor


def measure_cell(cell: object, sign: str) -> Cell:
    """The cell of a measure, as a program stored it or as text with that decimal sign."""
    if isinstance(cell, int | float) and not isinstance(cell, bool):
        return number_cell(float(cell), cell_text(cell))
    return text_cell(cell_text(cell), sign)


def _behind(raw: str) -> str:
    """The unit written behind a number."""
    match = re.fullmatch(r"[-+\d.,\s']+(?P<unit>[^-+\d.,\s'].*)", raw)
    return match["unit"].strip() if match is not None else ""


def _factor(test: str, typed: str, value: float) -> tuple[float, str]:
    """What the value is multiplied by, and the unit's key; without one the usual unit."""
    word = typed.strip().casefold()
    known: dict[str, float] = {
        WATER: DENSITY_UNITS | WEIGHT_UNITS, CONDUCTIVITY: CONDUCTIVITY_UNITS,
        RE_WEIGH: WEIGHT_UNITS, RING: _words()["units"]["hertz"],
        X_RAY: _words()["units"]["fineness"], ASSAY: _words()["units"]["fineness"],
    }[test]  # fmt: skip
    if not word:
        return _without_unit(test, value)
    unit = UNIT_WORDS.get(word, word)
    if unit not in known:
        raise _RowError("unit", say("second_tests.error.unit", value=typed, known=", ".join(known)))
    return known[unit], unit


def _without_unit(test: str, value: float) -> tuple[float, str]:
    """A fineness above 1 is in per mille where above 100, else per cent; water wants a unit."""
    if test == WATER:
        raise _RowError("unit", say("second_tests.error.water_unit", value=f"{value:g}"))
    if test in (X_RAY, ASSAY) and value > 1:
        if value > _HIGHEST_FINENESS:
            raise _RowError("value", say("second_tests.error.fineness", value=f"{value:g}"))
        return (0.001 if value > 100 else 0.01), "%"
    return 1.0, ""


def _number(row: Sequence[object], places: Mapping[str, int], role: str, sign: str) -> float:
    raw = _text(row, places, role)
    if not raw:
        return np.nan
    cell = measure_cell(_cell(row, places, role), sign)
    if cell.state != "number":
        raise _RowError(role, _no_measure(cell, raw))
    return cell.value


def _no_measure(cell: Cell, raw: str) -> str:
    low = cell.doubt == "not_above_zero" or bool(re.fullmatch(r"\s*0+(?:[.,]0*)?\D*", raw))
    key = "second_tests.error.not_above_zero" if low else "second_tests.error.number"
    return say(key, value=raw)
