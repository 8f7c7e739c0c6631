"""How far the cells of a worksheet reach, from its text, before anybody unpacks them.

A sheet may name a cell in the last row and column and nothing between; a reader that lays
out the whole rectangle then asks for more memory than there is. Every cell is looked at,
many at a time, since the sheet's own statement of its extent may lie.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lotscreen.intake.grid import column_number

_PADDING = b"\0" * 32  # so that a look behind the last tag stays inside
_MOST_DIGITS = 9
_PROLOGUE = 4096
_BLOCK = 1 << 20  # bytes looked at together: few enough for the processor's own memory
_ROW_NUMBERS = re.compile(rb"""<(?:\w+:)?row\s[^>]*?\br=["'](\d{1,9})["']""")
_COLUMNS = re.compile(rb"""\br=["']([A-Z]{1,3})\d""")
_CELL = re.compile(rb"<(?:\w+:)?c[\s/>]")
_PREFIXED = re.compile(rb"<\w+:(?:worksheet|sheetData|row|c)\b")

Bytes = NDArray[np.uint8]
Places = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Reach:
    """Rows and columns of the rectangle that holds all cells, never less than it is; whether
    a cell may hold a formula, and whether an apostrophe occurs anywhere."""

    rows: int
    columns: int
    formulas: bool
    apostrophes: bool


def reach_of(text: bytes) -> Reach:
    """Look at every tag of a worksheet's text, a block at a time."""
    if _PREFIXED.search(text[:_PROLOGUE]) or b":row" in text[-_PROLOGUE:]:
        return Reach(*_extent_of_unusual(text), formulas=True, apostrophes=True)
    rows = columns = count = 0
    formulas = False
    for start in range(0, len(text), _BLOCK):
        signs = np.frombuffer(text[start : start + _BLOCK + len(_PADDING)] + _PADDING, np.uint8)
        cells, of_rows, has_formula = _tags(signs)
        if not (_say(signs, cells + 3, b'r="') and _say(signs, of_rows + 5, b'r="')):
            return Reach(*_extent_of_unusual(text), formulas=True, apostrophes=True)
        rows = max(rows, int(_numbers(signs, of_rows + 8).max(initial=0)))
        columns = max(columns, int(_columns(signs, cells + 6).max(initial=0)))
        count += len(of_rows)
        formulas |= has_formula
    return Reach(max(rows, count), columns, formulas, apostrophes=b"'" in text)


def _tags(signs: Bytes) -> tuple[Places, Places, bool]:
    """Where cells and rows begin in a block, and whether a formula does."""
    first, second, third = signs[:_BLOCK], signs[1 : _BLOCK + 1], signs[2 : _BLOCK + 2]
    size = min(len(first), len(third))
    opening = first[:size] == ord("<")
    cells = np.flatnonzero(opening & (second[:size] == ord("c")))
    rows = np.flatnonzero(opening & (second[:size] == ord("r")) & (third[:size] == ord("o")))
    formulas = np.flatnonzero(opening & (second[:size] == ord("f")))
    has_formula = bool(_one_of(signs[formulas + 2], b" />").any())
    return cells[_one_of(signs[cells + 2], b" />")], rows, has_formula


def _one_of(signs: Bytes, allowed: bytes) -> NDArray[np.bool_]:
    found = np.zeros(len(signs), dtype=np.bool_)
    for sign in allowed:
        found |= signs == sign
    return found


def _say(signs: Bytes, places: Places, word: bytes) -> bool:
    """Whether ``word`` stands at every one of the places."""
    return all(bool((signs[places + i] == sign).all()) for i, sign in enumerate(word))


def _numbers(signs: Bytes, places: Places) -> Places:
    """The number whose digits begin at each place; more digits than any row has count as
    the most."""
    found = np.zeros(len(places), dtype=np.int64)
    going = np.ones(len(places), dtype=np.bool_)
    for i in range(_MOST_DIGITS):
        digit = signs[places + i].astype(np.int64) - ord("0")
        going &= (digit >= 0) & (digit <= 9)
        found[going] = found[going] * 10 + digit[going]
    return found


def _columns(signs: Bytes, places: Places) -> Places:
    """The number, from 1, of the column whose letters begin at each place."""
    found = signs[places].astype(np.int64) - 64
    going = np.ones(len(places), dtype=np.bool_)
    for i in (1, 2):
        letter = signs[places + i].astype(np.int64) - 64
        going &= (letter >= 1) & (letter <= 26)
        if not going.any():
            break
        found[going] = found[going] * 26 + letter[going]
    return found


def _extent_of_unusual(text: bytes) -> tuple[int, int]:
    """The same of a sheet whose tags have other attributes first, prefixes, or no places."""
    rows = max(map(int, _ROW_NUMBERS.findall(text)), default=0)
    rows = max(rows, text.count(b"<row") + text.count(b":row"))
    letters = {found.decode() for found in _COLUMNS.findall(text)}
    columns = max((column_number(one) + 1 for one in letters), default=0)
    longest = max(len(_CELL.findall(row)) for row in text.split(b"row"))
    return rows, max(columns, longest)
