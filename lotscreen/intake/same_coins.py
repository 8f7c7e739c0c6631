"""One coin in several tables: weights on one sheet, sizes on another, or two people's sheets.

Equal numbers prove nothing (two consignors may both count from 1), so the rows become one
item only where the user says that they are the same coins.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np
import pandas as pd

from lotscreen.intake.block import Block
from lotscreen.intake.noted import Noted, block_doubt, cell_doubt
from lotscreen.records import Bools, Ints, ItemKind, LeftOut
from lotscreen.words import say

_MUST_AGREE = ("type_text", "year", "mint_mark", "group")
_MOST_REPEATS_NAMED = 20


def first_rows(items: pd.DataFrame, numbers: Sequence[str], tables: Ints) -> Ints:
    """For each item the position of the item that it is the same coin as, itself for most.

    ``numbers`` are as written ('' none), ``tables`` the place of each item's table. Rows
    are one coin where lot and number are equal, each is alone with them in its table, and
    type, date and roll agree or are missing in one of them.
    """
    kinds, lots = (items[name].to_numpy(dtype=object) for name in ("kind", "lot"))
    keys = list(zip(lots, numbers, tables.tolist(), strict=True))
    often = Counter(keys)
    said = [items[name].to_numpy(dtype=object) for name in _MUST_AGREE]
    first = np.arange(len(items), dtype=np.int64)
    seen: dict[tuple[str, str], int] = {}
    for place, (lot, number, table) in enumerate(keys):
        alone = often[lot, number, table] == 1
        if number and alone and kinds[place] == ItemKind.COIN.value:
            start = seen.setdefault((lot, number), place)
            if all(_agree(column[start], column[place]) for column in said):
                first[place] = start
    return first


def _agree(one: object, other: object) -> bool:
    return not (_says(one) and _says(other)) or one == other


def _says(value: object) -> bool:
    return value not in ("", None) and value == value


def merged(
    items: pd.DataFrame, readings: pd.DataFrame, first: Ints
) -> tuple[pd.DataFrame, pd.DataFrame, list[LeftOut]]:
    """Items and readings with the rows of one coin made one item; the other rows left out.

    What the first row leaves open (type, date, roll) is taken from the others; readings are
    numbered anew within coin and quantity.
    """
    other = first != np.arange(len(items))
    items = items.copy()
    for name in (*_MUST_AGREE, "date_text", "position"):
        column = items[name].to_numpy(dtype=object).copy()
        for place in np.flatnonzero(other).tolist():
            if not _says(column[first[place]]):
                column[first[place]] = column[place]
        items[name] = pd.Series(column, index=items.index).astype(items[name].dtype)
    ids = items["item_id"].to_numpy(dtype=object)
    moved = dict(zip(ids[other], ids[first[other]], strict=True))
    readings = readings.copy()
    readings["item_id"] = readings["item_id"].map(lambda own: moved.get(own, own))
    anew = readings["item_id"].isin(set(moved.values()))
    places = readings[anew].groupby(["item_id", "quantity"], sort=False).cumcount() + 1
    readings.loc[anew, "repeat"] = places
    rows = items[other]
    firsts = items.iloc[first[other]]
    left_out = [
        LeftOut(
            str(row["source_file"]), str(row["source_sheet"]), int(row["source_row"]),
            say("intake.reason.same_coin", sheet=of["source_sheet"], row=of["source_row"]),
            str(row["coin_id"]),
        )
        for row, of in zip(rows.to_dict("records"), firsts.to_dict("records"), strict=True)
    ]  # fmt: skip
    return items[~other].reset_index(drop=True), readings, left_out


def repeat_doubts(
    block: Block, start: int, repeats: Sequence[int], named: Sequence[str],
    written: Sequence[str], elsewhere: Bools,
) -> list[Noted]:  # fmt: skip
    """One doubt a number that occurs again; one for all where it is the column's habit, and
    one for all that stand in another table (``elsewhere``, one entry a repeat)."""
    header = block.number.header
    found = []
    away = [place for place, far in zip(repeats, elsewhere, strict=True) if far]
    here = [place for place, far in zip(repeats, elsewhere, strict=True) if not far]
    if away:
        row = int(block.rows[away[0] - start])
        raw, proposal = written[away[0]], say("intake.proposal.same_coins")
        found.append(block_doubt("numbers_elsewhere", row, header, raw, proposal, count=len(away)))
    if len(here) > _MOST_REPEATS_NAMED:
        row = int(block.rows[here[0] - start])
        found.append(block_doubt("numbers_twice", row, header, written[here[0]], count=len(here)))
        return found
    return found + [
        cell_doubt(
            "number_twice", int(block.rows[p - start]), header, written[p], proposal=named[p]
        )
        for p in here
    ]
