"""Writing the sample files so that the same lot gives the same bytes on any machine."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import pandas as pd

_KEY_DECIMALS = 4


@dataclass(frozen=True, slots=True)
class SampleLot:
    """One sample: the file a user would hold and the key that goes with it."""

    file_name: str
    sheet: bytes
    key_name: str
    key: bytes


def csv_bytes(rows: Iterable[Sequence[str]], separator: str = ",") -> bytes:
    """UTF-8, one line feed a row, cells quoted only where needed."""
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=separator, lineterminator="\n").writerows(rows)
    return text.getvalue().encode("utf-8")


def frame_rows(frame: pd.DataFrame) -> list[list[str]]:
    """Header and rows of a frame of text cells."""
    return [list(frame.columns), *cells(frame, *frame.columns)]


def cells(frame: pd.DataFrame, *columns: str) -> list[list[str]]:
    """The rows of the named columns as texts."""
    rows: list[list[str]] = frame[list(columns)].astype(str).to_numpy().tolist()
    return rows


def key_bytes(key: pd.DataFrame) -> bytes:
    """The key as CSV, its numbers rounded to a ten-thousandth of their unit."""
    text = key.copy()
    for name in text.columns:
        if pd.api.types.is_float_dtype(text[name]):
            text[name] = [f"{value:.{_KEY_DECIMALS}f}" for value in text[name]]
    return csv_bytes(frame_rows(text))
