"""From a sheet to items and readings: ``read_sheets`` and ``read_frame``."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd

from lotscreen.intake.options import ReadOptions
from lotscreen.records import (
    ITEM_COLUMNS,
    LEFT_OUT_COLUMNS,
    READING_COLUMNS,
    ColumnUnderstood,
    InputError,
    Intake,
    SourceFile,
    TableUnderstood,
)

__all__ = ["ReadOptions", "read_frame", "read_sheets"]

_MEASURES = {
    "weight_g": ("weight", "g"),
    "diameter_mm": ("diameter", "mm"),
    "thickness_mm": ("thickness", "mm"),
}


def read_sheets(paths: Sequence[Path], options: ReadOptions = ReadOptions()) -> Intake:  # noqa: B008
    """Read the first of ``paths``, a clean CSV."""
    content = Path(paths[0]).read_bytes()
    frame = pd.read_csv(io.BytesIO(content), dtype=str, keep_default_na=False)
    return _read(frame, Path(paths[0]).name, hashlib.sha256(content).hexdigest(), options)


def read_frame(
    frame: pd.DataFrame,
    name: str = "frame",
    options: ReadOptions = ReadOptions(),  # noqa: B008
) -> Intake:
    """Read a frame with the headers of a clean CSV."""
    content = frame.to_csv(index=False)
    again = pd.read_csv(io.StringIO(content), dtype=str, keep_default_na=False)
    return _read(again, name, hashlib.sha256(content.encode()).hexdigest(), options)


def _read(frame: pd.DataFrame, name: str, digest: str, options: ReadOptions) -> Intake:
    if "weight_g" not in frame.columns:
        raise InputError(f"{name}: no column weight_g; found: {', '.join(frame.columns)}")
    count = len(frame)
    items = _items(frame, name, digest, options)
    readings = pd.concat(
        [_readings(frame, items, header) for header in _MEASURES if header in frame.columns],
        ignore_index=True,
    )
    columns = tuple(
        ColumnUnderstood(h, *_MEASURES.get(h, (h.removesuffix("_id"), "")), "header")
        for h in frame.columns
    )
    return Intake(
        items=items,
        readings=readings,
        left_out=pd.DataFrame({c: [] for c in LEFT_OUT_COLUMNS}),
        doubts=(),
        tables=(TableUnderstood(name, "", 1, 2, count + 1, ".", columns, ""),),
        sources=(SourceFile(name, digest, ("",), count),),
        rows_read=count,
    )


def _items(frame: pd.DataFrame, name: str, digest: str, options: ReadOptions) -> pd.DataFrame:
    count = len(frame)
    blank = [""] * count
    type_text = frame.get("type", pd.Series([options.default_type] * count))
    date_text = frame.get("date", pd.Series(blank))
    lines = frame.agg("|".join, axis=1)
    data = {
        "item_id": [hashlib.sha256(line.encode()).hexdigest()[:16] for line in lines],
        "kind": ["coin"] * count,
        "count": np.ones(count, dtype=np.int64),
        "coin_id": list(frame.get("coin_id", pd.Series(range(count)).astype(str))),
        "lot": [options.lot or ""] * count,
        "type_text": list(type_text),
        "date_text": list(date_text),
        "year": pd.to_numeric(date_text, errors="coerce").to_numpy(dtype=float),
        "mint_mark": blank,
        "group": blank,
        "position": np.full(count, np.nan),
        "order": np.arange(count),
        "source_file": [name] * count,
        "source_digest": [digest] * count,
        "source_sheet": blank,
        "source_row": np.arange(count) + 2,
        "carried": [{} for _ in range(count)],
    }
    return pd.DataFrame({c: data[c] for c in ITEM_COLUMNS})


def _readings(frame: pd.DataFrame, items: pd.DataFrame, header: str) -> pd.DataFrame:
    values = pd.to_numeric(frame[header], errors="coerce").to_numpy(dtype=float)
    here = np.isfinite(values)
    count = int(here.sum())
    blank = [""] * count
    quantity, unit = _MEASURES[header]
    data = {
        "item_id": items["item_id"].to_numpy()[here],
        "quantity": [quantity] * count,
        "value": values[here],
        "unit": [unit] * count,
        "raw": frame[header].to_numpy()[here],
        "column": [header] * count,
        "step": np.full(count, 0.01),
        "instrument": blank,
        "person": blank,
        "order": items["order"].to_numpy()[here],
        "time": blank,
        "tare": np.full(count, np.nan),
        "repeat": np.ones(count, dtype=np.int64),
        "low": np.full(count, np.nan),
        "high": np.full(count, np.nan),
        "nominal": np.full(count, np.nan),
        "status": ["used"] * count,
        "why": blank,
    }
    return pd.DataFrame({c: data[c] for c in READING_COLUMNS})
