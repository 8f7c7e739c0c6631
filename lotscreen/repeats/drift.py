"""Check weights that fail: what lies between the last good one and the next is suspended.

Nothing is corrected. What the check weights show between them is proposed as grams to add,
in proportion to the place in the order (a balance's zero wanders; common practice, no
source)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from lotscreen.instruments import CheckReading
from lotscreen.intake.corrections import of_the_sheet
from lotscreen.records import ItemKind, Quantity, ReadingStatus
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class Drift:
    """A stretch of the order with failed checks. ``points`` are (order, grams read too much)
    of the checks in it and next to it; ``items`` are the suspended ones (ids),
    ``add_g`` what is proposed to be added to the first and the last of them, and
    ``balance`` the name of the balance ('' where not said)."""

    points: tuple[tuple[int, float], ...]
    items: tuple[str, ...]
    add_g: tuple[float, float]
    at_item: str
    balance: str


def drifts(
    items: pd.DataFrame, checks: Sequence[CheckReading], balances: Mapping[str, str]
) -> tuple[Drift, ...]:
    """One a stretch of one balance between two good checks (or the end of the sheet) with
    failed ones.

    Only checks with a place in the order are looked at; ``items`` as ``Intake.items``,
    ``balances`` the balance of each by id.
    """
    on = np.array([balances.get(str(item), "") for item in items["item_id"]], dtype=object)
    found: list[Drift] = []
    for name in dict.fromkeys(c.instrument for c in checks if c.order >= 0):
        own = [c for c in checks if c.order >= 0 and c.instrument == name]
        found += _of_balance(items[own[0].speaks_of(on)], own)
    return tuple(found)


def _of_balance(items: pd.DataFrame, checks: Sequence[CheckReading]) -> list[Drift]:
    placed = sorted(checks, key=lambda c: c.order)
    found = []
    stretch: list[CheckReading] = []
    before: CheckReading | None = None
    for check in (*placed, None):
        if check is not None and not check.passes:
            stretch.append(check)
            continue
        if stretch:
            found.append(_drift(items, before, stretch, check))
        stretch, before = [], check
    return found


def _drift(
    items: pd.DataFrame, before: CheckReading | None, failed: list[CheckReading],
    after: CheckReading | None,
) -> Drift:  # fmt: skip
    known = [c for c in (before, *failed, after) if c is not None]
    orders = items["order"].to_numpy(np.int64)
    inside = (items["kind"] != ItemKind.CHECK).to_numpy(np.bool_, copy=True)
    if before is not None:
        inside &= orders > before.order
    if after is not None:
        inside &= orders < after.order
    at = [c.order for c in known]
    over = [c.read_g - c.nominal_g for c in known]
    rows = np.flatnonzero(inside)
    ends = orders[rows[[0, -1]]] if len(rows) else np.array([at[0], at[-1]])
    first, last = -np.interp(ends, at, over)
    return Drift(
        points=tuple(zip(at, over, strict=True)),
        items=tuple(items["item_id"].iloc[rows].astype(str)),
        add_g=(float(first), float(last)),
        at_item=failed[0].item_id,
        balance=failed[0].instrument,
    )


def suspended(readings: pd.DataFrame, found: Sequence[Drift]) -> pd.DataFrame:
    """The readings; weights of the suspended items are marked so, and keep their value."""
    ids = {item for drift in found for item in drift.items}
    rows = (
        readings["item_id"].isin(ids)
        & (readings["quantity"] == Quantity.WEIGHT)
        & (readings["status"] == ReadingStatus.USED)
        & of_the_sheet(readings)
    ).to_numpy(np.bool_)
    if not rows.any():
        return readings
    readings = readings.copy()
    readings.loc[rows, "status"] = ReadingStatus.SUSPENDED.value
    readings.loc[rows, "why"] = say("repeats.suspended")
    return readings
