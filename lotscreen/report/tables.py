"""The tables of a run as pandas frames: coins, groups, readings, rows left out, doubts.

Names and order of the columns are a promise to whoever reads the files: new columns come
only at the end. Numbers are rounded to the decimals of their column, so that the frames
of the Python API, the CSV files and the workbook say the same.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from lotscreen.lot.shares import q_values
from lotscreen.records import (
    LEFT_OUT_COLUMNS,
    READING_COLUMNS,
    Bools,
    Doubt,
    Floats,
    ItemKind,
    Texts,
)
from lotscreen.report.cut import cut_to_lot
from lotscreen.report.moves import group_word, moves_text
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.lot.statement import GroupStatement
    from lotscreen.screening import Screening

P_VALUE_FLOOR = 1e-6

COIN_COLUMNS = (
    "coin_id", "source_file", "source_sheet", "source_row", "lot", "group", "type", "date",
    "mint_mark", "weight_g", "diameter_mm", "thickness_mm", "expected_weight_g",
    "expected_low_g", "expected_high_g", "z_weight", "z_diameter", "z_thickness", "score",
    "p_value", "log10_lr", "prob_not_honest", "finding", "reason", "doubts", "disposition",
    "item_id", "explanations", "next_test", "q_value", "finding_moves_with",
)  # fmt: skip
GROUP_COLUMNS = (
    "coin_id", "source_file", "source_sheet", "source_row", "lot", "group", "kind", "type",
    "count", "weight_g", "expected_weight_g", "expected_low_g", "expected_high_g", "finding",
    "reason", "doubts", "disposition", "item_id", "odd",
)  # fmt: skip
READINGS_COLUMNS = ("coin_id", "lot", *READING_COLUMNS)
DOUBT_COLUMNS = (
    "source_file", "sheet", "row", "column", "raw", "kind", "proposal", "why", "coin_id",
    "item_id",
)  # fmt: skip

OTHER_COLUMNS = (
    "item_id", "kind", "count", "coin_id", "lot", "type_text", "date_text", "year", "mint_mark",
    "group", "position", "source_file", "source_sheet", "source_row",
)  # fmt: skip

COIN_DECIMALS: Mapping[str, int] = {
    "weight_g": 4, "diameter_mm": 3, "thickness_mm": 3, "expected_weight_g": 4,
    "expected_low_g": 4, "expected_high_g": 4, "z_weight": 3, "z_diameter": 3,
    "z_thickness": 3, "score": 4, "p_value": 6, "log10_lr": 3, "prob_not_honest": 4,
    "q_value": 6,
}  # fmt: skip
DENSITY_COLUMNS = ("apparent_density_g_cm3", "apparent_density_u_g_cm3", "metals_admitted")
DENSITY_DECIMALS: Mapping[str, int] = {
    "apparent_density_g_cm3": 2, "apparent_density_u_g_cm3": 2,
}  # fmt: skip
GROUP_DECIMALS: Mapping[str, int] = {
    "weight_g": 4, "expected_weight_g": 4, "expected_low_g": 4, "expected_high_g": 4,
}  # fmt: skip
CORRECTION_DECIMALS: Mapping[str, int] = {"old": 4, "new": 4}
READING_DECIMALS: Mapping[str, int] = {
    "value": 5, "step": 6, "tare": 5, "low": 5, "high": 5, "nominal": 5,
}  # fmt: skip


def coins_frame(screening: Screening, lot: str | None = None) -> pd.DataFrame:
    """One row a coin, in the order of the sheet, with exactly ``COIN_COLUMNS``.

    ``lot`` keeps one lot (InputError where there is none of that name). Floats are rounded
    to ``COIN_DECIMALS``, NaN where there is no value; ``p_value`` and ``q_value`` are
    never below ``P_VALUE_FLOOR``; ``date`` is the year as nullable integer; ``disposition`` is what
    a person filled in to an earlier workbook, empty otherwise.
    """
    screening = _of_lot(screening, lot)
    coins = np.asarray(screening.table.kind == ItemKind.COIN, dtype=np.bool_)
    items = aligned_items(screening).loc[coins]
    columns: dict[str, object] = {
        "type": _types(screening)[coins],
        "date": items["year"].astype("Float64").astype("Int64").array,
        "doubts": _texts_of(
            doubts_by_item(screening.intake.doubts), screening.table.item_id[coins]
        ),
        "disposition": _texts_of(screening.intake.dispositions, screening.table.item_id[coins]),
        "q_value": _q_values(screening, coins),
        "finding_moves_with": _moves(screening, coins),
    }
    for name in COIN_COLUMNS:
        if name in columns:
            continue
        if name in items.columns:
            columns[name] = items[name].array
        else:
            columns[name] = _numbers_or_texts(screening, name, coins)
    frame = pd.DataFrame(columns, index=pd.RangeIndex(len(items)), columns=list(COIN_COLUMNS))
    return _rounded(frame, COIN_DECIMALS)


def groups_frame(screening: Screening, lot: str | None = None) -> pd.DataFrame:
    """One row a group, roll or bag weighed together, with exactly ``GROUP_COLUMNS``.

    ``odd`` says by what a group is out of the ordinary, in the words of :func:`odd_words`.
    """
    screening = _of_lot(screening, lot)
    statements = {
        group.item_id: group for one in screening.lots.values() for group in one.group_statements
    }
    kinds = screening.table.kind
    groups = np.asarray((kinds == ItemKind.GROUP) | (kinds == ItemKind.BAG), dtype=np.bool_)
    items = aligned_items(screening).loc[groups]
    ids = screening.table.item_id[groups]
    columns: dict[str, object] = {
        "type": _types(screening)[groups],
        "weight_g": screening.table.weight_g[groups],
        "doubts": _texts_of(doubts_by_item(screening.intake.doubts), ids),
        "disposition": "",
    }
    for name in ("expected_weight_g", "expected_low_g", "expected_high_g"):
        columns[name] = np.array(
            [getattr(statements[i], name) if i in statements else np.nan for i in ids], dtype=float
        )
    for name in ("finding", "reason"):
        columns[name] = _texts(
            [getattr(statements[i], name) if i in statements else "" for i in ids]
        )
    columns["odd"] = _texts([odd_words(statements[i]) if i in statements else "" for i in ids])
    for name in GROUP_COLUMNS:
        if name not in columns:
            columns[name] = items[name].array
    frame = pd.DataFrame(columns, index=pd.RangeIndex(len(items)), columns=list(GROUP_COLUMNS))
    return _rounded(frame, GROUP_DECIMALS)


def odd_words(group: GroupStatement) -> str:
    """By what a group is out of the ordinary: weight, height of the stack, both; '' : neither."""
    return say(f"lot.odd.{group.odd}") if group.odd else ""


def readings_frame(screening: Screening, lot: str | None = None) -> pd.DataFrame:
    """Every reading, check weights included, with the coin and the lot it belongs to."""
    screening = _of_lot(screening, lot)
    readings = screening.intake.readings
    named = screening.intake.items.set_index("item_id")[["coin_id", "lot"]].reindex(
        readings["item_id"]
    )
    frame = readings.reindex(columns=list(READING_COLUMNS)).reset_index(drop=True)
    frame.insert(0, "coin_id", named["coin_id"].to_numpy())
    frame.insert(1, "lot", named["lot"].to_numpy())
    return _rounded(frame, READING_DECIMALS)


def left_out_frame(screening: Screening, lot: str | None = None) -> pd.DataFrame:
    """Every row of the sheets that is no item, with the reason and the row as found."""
    left_out = _of_lot(screening, lot).intake.left_out
    return left_out.reindex(columns=list(LEFT_OUT_COLUMNS)).reset_index(drop=True)


def doubts_frame(screening: Screening, lot: str | None = None) -> pd.DataFrame:
    """Every doubt, with the coin it concerns ('' where it concerns a whole sheet)."""
    screening = _of_lot(screening, lot)
    items = screening.intake.items
    coin_ids = dict(zip(items["item_id"], items["coin_id"], strict=True))
    rows = [
        (d.source_file, d.sheet, d.row, d.column, d.raw, d.kind, d.proposal, d.why,
         coin_ids.get(d.item_id, ""), d.item_id)
        for d in screening.intake.doubts
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=list(DOUBT_COLUMNS))


def other_rows_frame(screening: Screening) -> pd.DataFrame:
    """The items that are no coins, as read: what a workbook needs to stand for its sheet."""
    items = aligned_items(screening)
    others = items[(items["kind"] != ItemKind.COIN).to_numpy()].reset_index(drop=True)
    return others[list(OTHER_COLUMNS)].assign(
        year=others["year"].astype("Float64").astype("Int64"),
        position=others["position"].astype("Float64").astype("Int64"),
    )


def aligned_items(screening: Screening) -> pd.DataFrame:
    """``Intake.items`` in the order of ``Screening.table``."""
    items = screening.intake.items
    ids = screening.table.item_id
    if np.array_equal(items["item_id"].to_numpy(dtype=object), ids):
        return items.reset_index(drop=True)
    return items.set_index("item_id", drop=False).loc[list(ids)].reset_index(drop=True)


def densities_frame(screening: Screening) -> pd.DataFrame:
    """Apparent density of each coin with its uncertainty and the metals it admits, in the
    rows of :func:`coins_frame`; no column where no coin has one."""
    if not screening.densities:
        return pd.DataFrame(index=pd.RangeIndex(int((screening.table.kind == ItemKind.COIN).sum())))
    coins = np.asarray(screening.table.kind == ItemKind.COIN, dtype=np.bool_)
    told = [screening.densities.get(item_id) for item_id in screening.table.item_id[coins]]
    figures = [
        (np.nan, np.nan, "")
        if one is None
        else (one.density_g_cm3, one.u_g_cm3, ", ".join(one.admits))
        for one in told
    ]
    frame = pd.DataFrame(figures, columns=list(DENSITY_COLUMNS))
    return _rounded(frame, DENSITY_DECIMALS)


def doubt_text(doubt: Doubt) -> str:
    """One doubt in words, the cell as found in quotation marks."""
    key = "outputs.doubt_with_proposal" if doubt.proposal else "outputs.doubt"
    return say(key, column=doubt.column, raw=doubt.raw, why=doubt.why, proposal=doubt.proposal)


def doubts_by_item(doubts: tuple[Doubt, ...]) -> dict[str, str]:
    """The doubts of each item in words, joined in the order of the sheet."""
    texts: defaultdict[str, list[str]] = defaultdict(list)
    for doubt in doubts:
        if doubt.item_id:
            texts[doubt.item_id].append(doubt_text(doubt))
    return {item_id: "; ".join(parts) for item_id, parts in texts.items()}


def _q_values(screening: Screening, coins: Bools) -> Floats:
    """The q-value of each coin within its lot, never below ``P_VALUE_FLOOR``."""
    result = np.full(len(coins), np.nan)
    lots = screening.table.lot
    for name in dict.fromkeys(lots[coins]):
        rows = coins & (lots == name)
        result[rows] = q_values(screening.findings.p_value[rows])
    return np.asarray(np.maximum(result[coins], P_VALUE_FLOOR))


def _moves(screening: Screening, coins: Bools) -> Texts:
    """With what the finding of each coin moves, '' where it is firm."""
    group, moves = group_word(screening), screening.sensitivity.moves
    words = {item: moves_text(found, group) for item, found in moves.items()}
    return _texts_of(words, screening.table.item_id[coins])


def _of_lot(screening: Screening, lot: str | None) -> Screening:
    return screening if lot is None else cut_to_lot(screening, lot)


def _types(screening: Screening) -> Texts:
    table = screening.table
    return np.where(table.type_key == "", table.type_text, table.type_key)


def _texts_of(by_item: Mapping[str, str], item_ids: Texts) -> Texts:
    return _texts([by_item.get(item_id, "") for item_id in item_ids])


def _texts(values: list[str]) -> Texts:
    return np.array(values, dtype=object)


def _numbers_or_texts(screening: Screening, name: str, rows: Bools) -> Floats | Texts:
    source = screening.findings if hasattr(screening.findings, name) else screening.table
    values: Floats | Texts = getattr(source, name)[rows]
    if name == "p_value":
        return np.maximum(values.astype(np.float64), P_VALUE_FLOOR)
    return values


def _rounded(frame: pd.DataFrame, decimals: Mapping[str, int]) -> pd.DataFrame:
    for name, places in decimals.items():
        # adding zero turns a rounded -0.0 into 0.0
        frame[name] = frame[name].to_numpy(dtype=np.float64, na_value=np.nan).round(places) + 0.0
    return frame
