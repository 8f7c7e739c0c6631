"""New readings and decisions of the ledger as a table that stands beside the sheets.

It has the columns that a workbook of ours has for new readings, and one more that says that
each of them takes the place of the old one, however close the two are.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping
from typing import Any

import pandas as pd

from lotscreen.intake.corrections import NEW_REPLACES
from lotscreen.ledger.chain import Entry
from lotscreen.ledger.history import History
from lotscreen.records import DispositionKind, InputError, Intake
from lotscreen.words import say

_QUANTITIES = {
    "weight": "new_weight_g", "diameter": "new_diameter_mm", "thickness": "new_thickness_mm",
}  # fmt: skip
_HEADER = ("coin_id", "source_row", "p_value", "finding", "disposition", "item_id",
           *_QUANTITIES.values(), "new_by", NEW_REPLACES)  # fmt: skip
_Entry = tuple[Entry, Mapping[str, Any]]


def beside_the_sheets(history: History, read: Callable[[], Intake]) -> bytes:
    """The table, b'' where there is nothing to say. ``read`` gives the lot as the sheets alone
    say it and is asked only where an entry names a coin; InputError where an entry names a
    coin that is not in it, or an old value that it does not hold."""
    mended = history.corrections_of_readings()
    decided = _decisions(history)
    if not mended and not decided:
        return b""
    intake = read()
    rows: dict[str, dict[str, str]] = {}
    for entry, said in mended:
        row = _row(rows, intake.items, entry, said)
        row[_QUANTITIES[said["quantity"]]] = str(said["new"])
        row |= {"new_by": entry.by, NEW_REPLACES: "yes"}
    for entry, said in decided:
        _row(rows, intake.items, entry, said)["disposition"] = str(said["disposition"])
    held = io.StringIO(newline="")
    table = csv.DictWriter(held, _HEADER, lineterminator="\n", restval="")
    table.writeheader()
    table.writerows(rows.values())
    return held.getvalue().encode("utf-8")


def _decisions(history: History) -> list[_Entry]:
    """The last decision of each coin, where it is one that a screening takes."""
    last = {
        said["coin"]: (e, said) for e, said in history.as_corrected("decision") if said.get("coin")
    }
    kinds = {kind.value for kind in DispositionKind}
    return [(entry, said) for entry, said in last.values() if said["disposition"] in kinds]


def _row(
    rows: dict[str, dict[str, str]], items: pd.DataFrame, entry: Entry, said: Mapping[str, Any]
) -> dict[str, str]:
    """The row of the coin that an entry is about."""
    coin = str(said["coin"])
    found = items[items["coin_id"] == coin]
    if len(found) != 1:
        key = "issuing.no_such_coin" if found.empty else "issuing.two_such_coins"
        raise InputError(say(key, number=entry.number, coin=coin))
    item = str(found["item_id"].iloc[0])
    return rows.setdefault(item, {"coin_id": coin, "item_id": item})
