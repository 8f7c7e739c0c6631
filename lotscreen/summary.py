"""First door: readings -> one row an item. Repeats collapse here."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from lotscreen.instruments import Instrument, balances_of
from lotscreen.records import (
    Floats,
    ItemTable,
    Quantity,
    ReadingStatus,
    Texts,
)

_SPEAKING = (ReadingStatus.USED.value, ReadingStatus.IN_DOUBT.value, ReadingStatus.SUSPENDED.value)


def summarise(
    items: pd.DataFrame, readings: pd.DataFrame, instruments: Sequence[Instrument]
) -> ItemTable:
    """Collapse ``readings`` to one row an item of ``items``, in the items' order.

    Both frames have the columns of the records of those names. The mean of n readings
    of sd s has uncertainty s / sqrt(n) and sits in a cell of width step / n about the
    mean (the mean of n rounded readings moves in steps of step / n). A reading known
    as a class keeps its own bounds. Withdrawn readings are not used.
    """
    speaking = readings[readings["status"].isin(_SPEAKING) & readings["value"].notna()]
    speaking = _with_sd(speaking, instruments)
    index = pd.Index(items["item_id"])
    weight = _collapse(speaking, index, [Quantity.WEIGHT])
    all_diameters = [Quantity.DIAMETER, Quantity.DIAMETER_MIN, Quantity.DIAMETER_MAX]
    diameter = _collapse(speaking, index, all_diameters)
    least = _collapse(speaking, index, [Quantity.DIAMETER_MIN])
    most = _collapse(speaking, index, [Quantity.DIAMETER_MAX])
    thickness = _collapse(speaking, index, [Quantity.THICKNESS])
    low, high = _cells(speaking, index, weight)
    tainted = set(speaking.loc[speaking["status"] == ReadingStatus.IN_DOUBT, "item_id"])
    suspended = set(speaking.loc[speaking["status"] == ReadingStatus.SUSPENDED, "item_id"])
    blank = np.full(len(items), "", dtype=object)
    balances = balances_of(readings)
    return ItemTable(
        item_id=_texts(items["item_id"]),
        kind=_texts(items["kind"]),
        count=items["count"].to_numpy(np.int64),
        lot=_texts(items["lot"]),
        type_text=_texts(items["type_text"]),
        type_key=blank,
        type_note=blank.copy(),
        year=pd.to_numeric(items["year"]).to_numpy(np.float64, na_value=np.nan),
        group=_texts(items["group"]),
        order=items["order"].to_numpy(np.int64),
        weight_g=weight["mean"],
        weight_low_g=low,
        weight_high_g=high,
        weight_u_g=weight["u"],
        weight_n=weight["n"].astype(np.int64),
        weight_step_g=weight["step"],
        diameter_mm=diameter["mean"],
        diameter_min_mm=least["mean"],
        diameter_max_mm=most["mean"],
        diameter_u_mm=diameter["u"],
        diameter_n=diameter["n"].astype(np.int64),
        thickness_mm=thickness["mean"],
        thickness_u_mm=thickness["u"],
        thickness_n=thickness["n"].astype(np.int64),
        doubtful=np.array([i in tainted for i in items["item_id"]], dtype=np.bool_),
        suspended=np.array([i in suspended for i in items["item_id"]], dtype=np.bool_),
        grade=_texts(items["grade"]) if "grade" in items else blank.copy(),
        balance=np.array([balances.get(str(i), "") for i in items["item_id"]], dtype=object),
    )


def _texts(column: pd.Series[str]) -> Texts:
    return column.to_numpy(dtype=object, na_value="")


def _with_sd(readings: pd.DataFrame, instruments: Sequence[Instrument]) -> pd.DataFrame:
    """The readings with the sd of each and the spread between readers (``between``)."""
    by_key = {(i.name, i.quantity, i.step): i for i in instruments}
    keys = zip(readings["instrument"], readings["quantity"], readings["step"], strict=True)
    of_each = [by_key[(str(a), str(b), float(c))] for a, b, c in keys]
    return readings.assign(sd=[i.sd for i in of_each], between=[i.between_sd for i in of_each])


def _collapse(
    readings: pd.DataFrame, index: pd.Index[str], quantities: Sequence[Quantity]
) -> dict[str, Floats]:
    rows = readings[readings["quantity"].isin([q.value for q in quantities])]
    by_item = rows.groupby("item_id", sort=False)
    got = pd.DataFrame(
        {
            "mean": by_item["value"].mean(),
            "n": by_item["value"].count(),
            "sd": by_item["sd"].mean(),
            "step": by_item["step"].max(),
        }
    ).reindex(index)
    n = got["n"].fillna(0.0).to_numpy(np.float64)
    sd = got["sd"].to_numpy(np.float64)
    u = np.where(n > 0, sd / np.sqrt(np.maximum(n, 1.0)), np.nan)
    if (rows["between"] > 0).any():
        readers = rows["person"].str.cat(rows["instrument"], sep="|")
        several = readers.groupby(rows["item_id"], sort=False).nunique().reindex(index)
        between = by_item["between"].mean().reindex(index).to_numpy(np.float64)
        u = np.hypot(u, between / np.sqrt(several.to_numpy(np.float64)))
    return {
        "mean": got["mean"].to_numpy(np.float64),
        "n": n,
        "u": u,
        "step": got["step"].to_numpy(np.float64),
    }


def _cells(
    readings: pd.DataFrame, index: pd.Index[str], weight: dict[str, Floats]
) -> tuple[Floats, Floats]:
    half = 0.5 * weight["step"] / np.maximum(weight["n"], 1.0)
    low, high = weight["mean"] - half, weight["mean"] + half
    is_weight = readings["quantity"] == Quantity.WEIGHT
    classes = readings[is_weight & (readings["low"].notna() | readings["high"].notna())]
    if len(classes):
        bounds = classes.groupby("item_id")[["low", "high"]].first().reindex(index)
        has = bounds.notna().any(axis=1).to_numpy()
        low = np.where(has, bounds["low"].fillna(-np.inf).to_numpy(np.float64), low)
        high = np.where(has, bounds["high"].fillna(np.inf).to_numpy(np.float64), high)
    return low, high
