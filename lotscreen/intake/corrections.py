"""New readings that persons filled in to the workbook of an earlier run.

A new reading that differs from the old one by more than a few steps of the instrument takes
its place: the old one is withdrawn, not deleted. One that agrees stands beside it as a
second reading, unless the column ``new_replaces`` is filled in. Where two persons' workbooks
disagree, neither is used.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, fields, replace
from typing import Any

import numpy as np
import pandas as pd

from lotscreen.intake.cells import text_cell
from lotscreen.intake.grid import cell_text
from lotscreen.intake.headers import sense_of
from lotscreen.intake.own_outputs import OwnBook, number_of, text_of
from lotscreen.intake.steps import estimated_step
from lotscreen.records import (
    READING_COLUMNS,
    DispositionKind,
    Doubt,
    Intake,
    Quantity,
    ReadingStatus,
)
from lotscreen.words import say, table

NEW_COLUMNS = ("new_weight_g", "new_diameter_mm", "new_thickness_mm", "new_by")
NEW_REPLACES = "new_replaces"
_QUANTITIES = {
    "new_weight_g": (Quantity.WEIGHT, "weight_g", "g", 1e-4),
    "new_diameter_mm": (Quantity.DIAMETER, "diameter_mm", "mm", 1e-3),
    "new_thickness_mm": (Quantity.THICKNESS, "thickness_mm", "mm", 1e-3),
}
DIAMETERS = (Quantity.DIAMETER.value, Quantity.DIAMETER_MIN.value, Quantity.DIAMETER_MAX.value)
_STEPS_THAT_AGREE = 3.0


@dataclass(frozen=True, slots=True)
class Correction:
    """One new reading; the columns of ``Intake.corrections``. ``old`` and ``new`` are in
    grams or millimetres (``old`` NaN where there was none); ``outcome`` is 'replaces',
    'confirms', 'adds' or 'conflict' (not used)."""

    item_id: str
    coin_id: str
    quantity: str
    old: float
    new: float
    person: str
    outcome: str
    source_file: str
    sheet: str
    row: int
    raw: str


Row = Mapping[Hashable, Any]
CORRECTION_COLUMNS = tuple(f.name for f in fields(Correction))


def corrected(intake: Intake, books: Sequence[OwnBook]) -> Intake:
    """The intake with the new readings of ``books`` in it, the doubts they raise, and the
    dispositions that were filled in."""
    known = dict(zip(intake.items["item_id"], intake.items["coin_id"], strict=True))
    old = _means(intake.readings)
    told = [c for own in books for c in _filled_in(own, known, old)]
    corrections = [c for c in told if isinstance(c, Correction)]
    doubts = [d for d in told if isinstance(d, Doubt)]
    steps = _by_place(intake.readings.groupby(["item_id", "quantity"], sort=False)["step"].max())
    corrections, conflicts = _settled(corrections, steps)
    settled = {(c.item_id, c.quantity) for c in corrections if c.outcome != "conflict"}
    dispositions, more = _dispositions(books, known)
    return replace(
        intake,
        readings=_with(intake.readings, corrections),
        corrections=pd.DataFrame([asdict(c) for c in corrections], columns=CORRECTION_COLUMNS),
        dispositions=dispositions,
        doubts=(*(d for d in intake.doubts if not _mended(d, settled, intake)), *doubts,
                *conflicts, *more),
    )  # fmt: skip


def of_the_sheet(readings: pd.DataFrame) -> pd.Series[bool]:
    """Whether each reading was read with the sheet, within reach of its check weights, and
    not filled in later."""
    return ~readings["column"].isin(NEW_COLUMNS)


def weighed_anew(readings: pd.DataFrame) -> frozenset[str]:
    """The items that have a weight read later than the sheet, and none of the sheet's that
    still counts."""
    weights = readings[
        (readings["quantity"] == Quantity.WEIGHT) & (readings["status"] != ReadingStatus.WITHDRAWN)
    ]
    first = of_the_sheet(weights)
    return frozenset(weights.loc[~first, "item_id"]) - frozenset(weights.loc[first, "item_id"])


def _means(readings: pd.DataFrame) -> dict[tuple[str, str], float]:
    """Mean of the readings that count, by item and quantity; one diameter for all kinds."""
    speaking = readings[readings["status"] != ReadingStatus.WITHDRAWN.value]
    quantity = speaking["quantity"].where(
        ~speaking["quantity"].isin(DIAMETERS), Quantity.DIAMETER.value
    )
    means = speaking["value"].groupby([speaking["item_id"], quantity], sort=False).mean()
    return _by_place(means)


def _by_place(grouped: pd.Series[Any]) -> dict[tuple[str, str], float]:
    """A column grouped by item and quantity as a dictionary."""
    items, names = (grouped.index.get_level_values(level) for level in (0, 1))
    return {
        (str(item), str(name)): float(value)
        for item, name, value in zip(items, names, grouped.to_numpy(), strict=True)
    }


def _filled_in(
    own: OwnBook, known: dict[str, str], old: dict[tuple[str, str], float]
) -> Iterator[Correction | Doubt]:
    """What one workbook says anew, row by row, and what is odd about it."""
    columns = [name for name in (*_QUANTITIES, "new_by") if name in own.coins.columns]
    filled = own.coins[columns].map(lambda cell: bool(cell_text(cell).strip()))
    measured = [name for name in columns if name in _QUANTITIES]
    for row, new in zip(own.coins.to_dict("records"), filled.to_dict("records"), strict=True):
        item = text_of(row["item_id"])
        if not any(new[name] for name in measured):
            yield from _typed_over(own, row, item, old)
            continue
        for name in measured:
            if not new[name]:
                continue
            if item not in known:
                yield _doubt(own, row, name, "correction_of_none", "")
                continue
            cell = text_cell(cell_text(row[name]), _sign_of(cell_text(row[name])))
            quantity = _QUANTITIES[name][0].value
            if cell.state != "number" or cell.unit not in ("", _QUANTITIES[name][2]):
                yield _doubt(own, row, name, "correction_unreadable", item)
                continue
            person = text_of(row.get("new_by", "")).strip()
            if not person:
                yield _doubt(own, row, name, "correction_by_nobody", item)
            yield Correction(
                item, known[item], quantity, old.get((item, quantity), math.nan), cell.value,
                person, "replaces" if text_of(row.get(NEW_REPLACES, "")).strip() else "",
                own.book.name, str(row["sheet"]), int(row["row"]), cell_text(row[name]),
            )  # fmt: skip


def _sign_of(text: str) -> str:
    return "," if "," in text and "." not in text else "."


def _typed_over(
    own: OwnBook, row: Row, item: str, old: dict[tuple[str, str], float]
) -> Iterator[Doubt]:
    """A doubt where the column of the old reading holds another number than was read."""
    for quantity, name, _, rounding in _QUANTITIES.values():
        here = number_of(row.get(name, ""))
        was = old.get((item, quantity.value), math.nan)
        if abs(here - was) > rounding:
            yield _doubt(own, row, name, "typed_over", item, proposal=f"new_{name}", was=was)


def _doubt(
    own: OwnBook, row: Row, column: str, key: str, item: str,
    proposal: str = "", **facts: object,
) -> Doubt:  # fmt: skip
    return Doubt(
        own.book.name, str(row["sheet"]), int(str(row["row"])), column,
        cell_text(row.get(column, "")), table("intake")["doubt"][key]["kind"], proposal,
        say(f"intake.doubt.{key}.why", **facts), item,
    )  # fmt: skip


def _settled(
    corrections: Iterable[Correction], steps: dict[tuple[str, str], float]
) -> tuple[list[Correction], list[Doubt]]:
    """One correction an item and quantity with its outcome; where two differ, both as a
    conflict with a doubt."""
    by_place: dict[tuple[str, str], list[Correction]] = {}
    for one in corrections:
        by_place.setdefault((one.item_id, one.quantity), []).append(one)
    found, doubts = [], []
    for place, several in by_place.items():
        distinct = list({one.new: one for one in reversed(several)}.values())[::-1]
        if len(distinct) == 1:
            found.append(replace(distinct[0], outcome=_outcome(distinct[0], steps.get(place))))
            continue
        found += [replace(one, outcome="conflict") for one in distinct]
        said = ", ".join(
            say(
                "intake.correction.one", new=one.raw, person=one.person or "?", file=one.source_file
            )
            for one in distinct
        )
        last = distinct[-1]
        words = table("intake")["doubt"]["correction_conflict"]
        doubts.append(
            Doubt(last.source_file, last.sheet, last.row, _column_of(last.quantity), last.raw,
                  words["kind"], "", words["why"].format(said=said), last.item_id)
        )  # fmt: skip
    return found, doubts


def _column_of(quantity: str) -> str:
    return next(name for name, of in _QUANTITIES.items() if of[0].value == quantity)


def _outcome(one: Correction, step: float | None) -> str:
    if math.isnan(one.old):
        return "adds"
    agree = abs(one.new - one.old) <= _STEPS_THAT_AGREE * (step or 0.0) * (1 + 1e-9)
    return "confirms" if agree and not one.outcome else "replaces"


def _with(readings: pd.DataFrame, corrections: Sequence[Correction]) -> pd.DataFrame:
    """The readings with the new ones behind them and those replaced withdrawn."""
    used = [one for one in corrections if one.outcome != "conflict"]
    if not used:
        return readings
    readings = readings.copy()
    status, why = readings["status"].to_numpy(object), readings["why"].to_numpy(object)
    ids, quantities = readings["item_id"].to_numpy(object), readings["quantity"].to_numpy(object)
    for one in used:
        same = DIAMETERS if one.quantity == Quantity.DIAMETER else (one.quantity,)
        rows = (ids == one.item_id) & np.isin(quantities, same)
        if one.outcome == "replaces":
            status[rows] = ReadingStatus.WITHDRAWN.value
            why[rows] = say("intake.correction.withdrawn", new=one.raw, person=one.person or "?")
    readings["status"], readings["why"] = pd.array(status, "str"), pd.array(why, "str")
    new = pd.DataFrame([_reading(one, readings) for one in used], columns=list(READING_COLUMNS))
    return pd.concat([readings, new.astype(readings.dtypes)], ignore_index=True)


def _reading(one: Correction, readings: pd.DataFrame) -> dict[str, object]:
    """The new reading: the steps are those of the instrument that the coin was read with,
    or finer where more decimals are written."""
    of_item = readings[readings["item_id"] == one.item_id]
    before = of_item[of_item["quantity"] == one.quantity]
    like = before if len(before) else readings[readings["quantity"] == one.quantity]
    decimals = len(one.raw.replace(",", ".").partition(".")[2].strip())
    own = estimated_step(np.array([one.new]), np.array([decimals]))
    step = min(float(like["step"].median()), own) if len(like) else own
    return {
        "item_id": one.item_id, "quantity": one.quantity, "value": one.new,
        "unit": _QUANTITIES[_column_of(one.quantity)][2], "raw": one.raw,
        "column": _column_of(one.quantity), "step": step,
        "instrument": str(like["instrument"].iloc[0]) if len(like) else "",
        "person": one.person, "order": int(of_item["order"].iloc[0]) if len(of_item) else 0,
        "time": "", "tare": math.nan, "repeat": len(before) + 1, "low": math.nan,
        "high": math.nan, "nominal": math.nan, "status": ReadingStatus.USED.value, "why": "",
    }  # fmt: skip


def _mended(doubt: Doubt, settled: set[tuple[str, str]], intake: Intake) -> bool:
    """Whether a doubt was about a reading that has been measured anew."""
    if not doubt.item_id or not settled:
        return False
    columns = {
        (table_.source_file, table_.sheet, c.header): c.role
        for table_ in intake.tables
        for c in table_.columns
    }
    sense = sense_of(doubt.column)  # the table itself is not among those of a workbook of ours
    role = columns.get(
        (doubt.source_file, doubt.sheet, doubt.column), sense.role if sense is not None else ""
    )
    return (doubt.item_id, role.replace("weight_gross", "weight")) in settled


def _dispositions(
    books: Sequence[OwnBook], known: dict[str, str]
) -> tuple[dict[str, str], list[Doubt]]:
    """What persons decided, by item; two different words for one coin are both left out."""
    kinds = [kind.value for kind in DispositionKind]
    found: dict[str, str] = {}
    doubts = []
    for own in books:
        for row in own.coins[["item_id", "disposition", "sheet", "row"]].to_dict("records"):
            said = text_of(row["disposition"]).strip().lower()
            item = text_of(row["item_id"])
            if not said or item not in known:
                continue
            if said not in kinds:
                doubts.append(
                    _doubt(own, row, "disposition", "disposition", item, kinds=", ".join(kinds))
                )
            elif found.setdefault(item, said) != said:
                doubts.append(_doubt(own, row, "disposition", "disposition_twice", item))
                found[item] = ""
    return {item: said for item, said in found.items() if said}, doubts
