"""CSV text of a frame: fixed decimals a column, and no cell that starts a formula.

UTF-8 without byte order mark, comma, lines end in LF, fields quoted where they hold a
comma, a quotation mark or a line break. Missing values are empty fields.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

import numpy as np
import pandas as pd

_STARTS_A_FORMULA = re.compile(r"[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]")
_PLAIN_NUMBER = re.compile(r"[-+]?(\d+([.,]\d*)?|[.,]\d+)([eE][-+]?\d+)?")
_ROWS_AT_ONCE = 50_000  # bounds the memory that a million coins take
_NEEDS_QUOTES = re.compile(r'[,"\r\n]')


def guarded(text: str) -> str:
    """``text`` with an apostrophe in front where a spreadsheet program could run it.

    That is a text beginning with ``= + - @`` (also full-width), tab, CR or LF, unless
    all of it is a plain number such as ``-3`` or ``+1,5``.
    """
    if _STARTS_A_FORMULA.match(text) and not _PLAIN_NUMBER.fullmatch(text):
        return "'" + text
    return text


def csv_text(frame: pd.DataFrame, decimals: Mapping[str, int]) -> str:
    """The CSV of ``frame``; float columns named in ``decimals`` get that many decimals."""
    header = ",".join(_quoted(guarded(str(name))) for name in frame.columns)
    parts = [header, "\n"]
    for start in range(0, len(frame), _ROWS_AT_ONCE):
        rows = frame.iloc[start : start + _ROWS_AT_ONCE]
        columns = [_fields(rows[name], decimals.get(str(name))) for name in frame.columns]
        parts += [",".join(fields) + "\n" for fields in zip(*columns, strict=True)]
    return "".join(parts)


def _fields(column: pd.Series, decimals: int | None) -> list[str]:
    if pd.api.types.is_float_dtype(column.dtype) and decimals is not None:
        return [fixed(value, decimals) for value in column.to_numpy(dtype=np.float64)]
    return [_quoted(_text(value)) for value in _objects(column)]


def _objects(column: pd.Series) -> Iterable[object]:
    return column.astype(object).where(column.notna(), "").tolist()


def _text(value: object) -> str:
    return guarded(value) if isinstance(value, str) else str(value)


def fixed(value: float, decimals: int) -> str:
    """``value`` with fixed decimals, no negative zero; '' when it is not finite."""
    if not np.isfinite(value):
        return ""
    text = f"{value:.{decimals}f}"
    return text.lstrip("-") if float(text) == 0 else text


def _quoted(text: str) -> str:
    if _NEEDS_QUOTES.search(text):
        return '"' + text.replace('"', '""') + '"'
    return text
