"""The tables of an intake, put together from what was read of each sheet's table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lotscreen.intake.block import Block
from lotscreen.intake.grid import Book, Column, constant_column
from lotscreen.records import ITEM_COLUMNS, LEFT_OUT_COLUMNS, READING_COLUMNS, LeftOut

Fields = Mapping[str, Column | NDArray[Any]]


def items_frame(
    blocks: Sequence[tuple[Book, Block]], ids: list[str], coin_ids: list[str]
) -> pd.DataFrame:
    """One row an item, the columns of ``Item``, all blocks one after the other."""
    parts = [_item_fields(book, block) for book, block in blocks]
    known: dict[str, object] = {
        "item_id": pd.array(ids, dtype="str"),
        "coin_id": pd.array(coin_ids, dtype="str"),
        "order": np.arange(len(ids), dtype=np.int64),
    }
    return _frame(ITEM_COLUMNS, known, parts)


def _item_fields(book: Book, block: Block) -> Fields:
    size = len(block.rows)
    carried = np.empty(size, dtype=object)
    carried[:] = block.carried
    return {
        "kind": block.kind,
        "count": block.count,
        "lot": block.lot,
        "type_text": block.type_text,
        "date_text": block.date_text,
        "year": block.year,
        "mint_mark": block.mint_mark,
        "group": block.group,
        "position": block.position,
        "source_file": constant_column("", book.name, size),
        "source_digest": constant_column("", book.digest, size),
        "source_sheet": constant_column("", block.table.sheet, size),
        "source_row": block.rows + block.table.first_row,
        "carried": carried,
        "grade": block.grade,
    }


def readings_frame(blocks: Sequence[Block], items: pd.DataFrame) -> pd.DataFrame:
    """All readings with the columns of ``Reading``: table after table, and in each table
    column after column."""
    parts, places = [], []
    start = 0
    for block in blocks:
        for fields, at in block.readings:
            parts.append(fields)
            places.append(at + start)
        start += len(block.rows)
    place = np.concatenate(places)
    known: dict[str, object] = {
        "item_id": items["item_id"].array.take(place),
        "order": items["order"].to_numpy()[place],
    }
    return _frame(READING_COLUMNS, known, parts)


def left_out_frame(rows: Sequence[LeftOut]) -> pd.DataFrame:
    """The rows left out, columns of ``LeftOut``."""
    if not rows:
        return pd.DataFrame({name: [] for name in LEFT_OUT_COLUMNS}).astype({"row": np.int64})
    return pd.DataFrame([asdict(row) for row in rows], columns=list(LEFT_OUT_COLUMNS))


def _frame(
    names: Sequence[str], known: Mapping[str, object], parts: Sequence[Fields]
) -> pd.DataFrame:
    return pd.DataFrame(
        {
            name: known[name] if name in known else _joined([part[name] for part in parts])
            for name in names
        },
        copy=False,  # the columns are nobody else's
    )


def _joined(parts: Sequence[Column | NDArray[Any]]) -> object:
    """Columns of text as one pandas array, built from their levels; arrays as one."""
    columns = [part for part in parts if isinstance(part, Column)]
    if len(columns) < len(parts):
        return np.concatenate([part for part in parts if not isinstance(part, Column)])
    same = {str(column.levels[0]) if len(column.levels) == 1 else None for column in columns}
    if len(same) == 1 and (text := same.pop()) is not None:
        return constant_column("", text, sum(map(len, columns))).array()
    starts = np.cumsum([0, *(len(column.levels) for column in columns)])
    return Column(
        header="",
        cells=(),
        levels=np.concatenate([column.levels for column in columns]),
        codes=np.concatenate([c.codes + at for c, at in zip(columns, starts, strict=False)]),
    ).array()
