"""New readings and decisions of the ledger as a table that stands beside the sheets.

It has the columns that a workbook of ours has for new readings, and one more that says that
each of them takes the place of the old one, however close the two are.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping, Sequence
from statistics import fmean
from typing import Any

import pandas as pd

from lotscreen.intake.corrections import DIAMETERS, NEW_REPLACES
from lotscreen.ledger.chain import Entry
from lotscreen.ledger.history import History
from lotscreen.ledger.kinds import written_number
from lotscreen.records import DispositionKind, InputError, Intake, Quantity
from lotscreen.words import say

_QUANTITIES = {
    "weight": "new_weight_g", "diameter": "new_diameter_mm", "thickness": "new_thickness_mm",
}  # fmt: skip
_HEADER = ("coin_id", "source_row", "p_value", "finding", "disposition", "item_id",
           *_QUANTITIES.values(), "new_by", NEW_REPLACES)  # fmt: skip
_SAME = 0.0051
"""Grams or millimetres: an old value is that of the sheet to two decimals."""
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
    for place, (entry, said) in enumerate(mended):
        row = _row(rows, intake.items, entry, said)
        _refuse_other_old(entry, said, _read_before(said, row["item_id"], intake, mended[:place]))
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


def _read_before(
    said: Mapping[str, Any], item: str, intake: Intake, earlier: Sequence[_Entry]
) -> list[float]:
    """What a reading was before a correction, in g or mm: as the sheets have it, their mean
    where they have several, and as corrected earlier."""
    quantity, coin = said["quantity"], said["coin"]
    same = DIAMETERS if quantity == Quantity.DIAMETER else (quantity,)
    readings = intake.readings
    of_sheet = readings.loc[
        (readings["item_id"] == item) & readings["quantity"].isin(same), "value"
    ].tolist()
    mean = [fmean(of_sheet)] if len(of_sheet) > 1 else []
    since = [
        written_number(str(one["new"]))
        for _, one in earlier
        if (one["coin"], one["quantity"]) == (coin, quantity)
    ]
    return [*of_sheet, *mean, *(value for value in since if value is not None)]


def _refuse_other_old(entry: Entry, said: Mapping[str, Any], before: Sequence[float]) -> None:
    """InputError where the old value is a number that the coin never had: most often it is
    another coin's, and that coin was to be corrected."""
    old = written_number(str(said.get("old", "")))
    if old is None or any(abs(old - value) < _SAME for value in before):
        return
    known = ", ".join(f"{value:.5g}" for value in dict.fromkeys(before)) or say("issuing.nothing")
    facts = {"number": entry.number, "coin": said["coin"], "quantity": said["quantity"]}
    raise InputError(say("issuing.other_old", old=said["old"], known=known, **facts))


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
