"""A workbook of lotscreen's own read back: items, readings, rows left out, doubts."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from lotscreen.intake.frames import left_out_frame
from lotscreen.intake.grades import grade_of
from lotscreen.intake.grid import cell_text
from lotscreen.intake.headers import sense_of
from lotscreen.intake.options import Answers
from lotscreen.intake.own_outputs import OwnBook, number_of, text_of
from lotscreen.intake.steps import estimated_step
from lotscreen.records import (
    ITEM_COLUMNS,
    READING_COLUMNS,
    ColumnUnderstood,
    Doubt,
    Intake,
    ItemKind,
    LeftOut,
    Quantity,
    ReadingStatus,
    SourceFile,
    TableUnderstood,
)
from lotscreen.words import say

_MEASURED = {
    "weight_g": (Quantity.WEIGHT, "g"),
    "diameter_mm": (Quantity.DIAMETER, "mm"),
    "thickness_mm": (Quantity.THICKNESS, "mm"),
}
_FOUND_ANEW = (
    "intake.doubt.year_outside.kind", "intake.doubt.disposition.kind",
    "intake.doubt.typed_over.kind", "repeats.doubt.slip.kind", "repeats.doubt.offset.kind",
    "repeats.doubt.drift.kind",
)  # fmt: skip
"""Kinds of doubts that each run finds for itself, and those about an earlier filling in."""
_NUMBERS = ("value", "step", "tare", "low", "high", "nominal")


def intake_of_own(books: Sequence[OwnBook], answers: Answers) -> Intake:
    """The intake that the workbooks stand for; of a coin that several hold, the first counts."""
    items = pd.concat([_items_of(own) for own in books], ignore_index=True)
    no_id = (items["item_id"] == "").to_numpy()
    again = items["item_id"].duplicated().to_numpy() & ~no_id
    within = items.duplicated(["item_id", "source_file"]).to_numpy() & ~no_id
    reasons = {"own_without_id": no_id, "own_twice": within}
    if answers.lot is not None:
        reasons["other_lot"] = (items["lot"] != answers.lot.strip()).to_numpy() & ~no_id & ~again
    out = np.any(list(reasons.values()), axis=0)
    left_out = [row for own in books[:1] for row in _left_out_of(own)]
    for key, rows in reasons.items():
        left_out += [
            LeftOut(str(r["source_file"]), str(r["source_sheet"]), int(r["source_row"]),
                    say(f"intake.reason.{key}"), "" if key == "other_lot" else str(r["coin_id"]))
            for r in items[rows].to_dict("records")
        ]  # fmt: skip
    items = items[~out & ~again].reset_index(drop=True)
    items["order"] = np.arange(len(items), dtype=np.int64)
    items["type_text"] = pd.array(_types(items, answers), dtype="str")
    readings = pd.concat([_readings_of(own, items) for own in books], ignore_index=True)
    first_of = dict(zip(items["item_id"], items["source_file"], strict=True))
    own_file = [
        first_of[item] == file
        for item, file in zip(readings["item_id"], readings.pop("file"), strict=True)
    ]
    return Intake(
        items=items,
        readings=readings[own_file].reset_index(drop=True),
        left_out=left_out_frame(left_out),
        doubts=tuple(doubt for own in books[:1] for doubt in _doubts_of(own)),
        tables=tuple(_understood(own) for own in books),
        sources=tuple(source_of(own) for own in books),
        rows_read=len(items) + len(left_out),
    )


def source_of(own: OwnBook) -> SourceFile:
    """The file, with the rows of coins and of other things that it holds."""
    rows = len(own.coins) + len(own.other_rows)
    sheets = tuple(sheet.name for sheet in own.book.sheets)
    return SourceFile(own.book.name, own.book.digest, sheets, rows)


def _types(items: pd.DataFrame, answers: Answers) -> list[str]:
    """The type of each item: as written, else the default; rows that the user overruled."""
    found = [str(text) or answers.default_type for text in items["type_text"]]
    places = zip(items["source_sheet"], items["source_row"], strict=True)
    for at, (sheet, row) in enumerate(places):
        for entry in answers.type_rows:
            here = entry.sheet in ("", sheet) and any(a <= row <= b for a, b in entry.ranges)
            found[at] = entry.type_text if here else found[at]
    return found


def _items_of(own: OwnBook) -> pd.DataFrame:
    """Coins and other rows as ``Intake.items``, in the order of the sheet they came from."""
    found = [_items(own, own.coins, coins=True)]
    if len(own.other_rows):
        found.append(_items(own, own.other_rows, coins=False))
    items = pd.concat(found, ignore_index=True)
    place = items["carried"].map(lambda carried: carried.pop("", ()))
    order = sorted(range(len(items)), key=lambda at: place[at])
    items = items.iloc[order].reset_index(drop=True)
    items["order"] = np.arange(len(items), dtype=np.int64)
    return items[list(ITEM_COLUMNS)]


def _items(own: OwnBook, rows: pd.DataFrame, coins: bool) -> pd.DataFrame:
    size = len(rows)

    def texts(*names: str) -> list[str]:
        """The first of the columns that the table has."""
        name = next((name for name in names if name in rows.columns), "")
        return [text_of(cell) for cell in rows[name]] if name else [""] * size

    def numbers(name: str) -> list[float]:
        return [number_of(c) for c in rows[name]] if name in rows.columns else [np.nan] * size

    counts = [1.0 if np.isnan(n) else n for n in numbers("count")]
    columns: dict[str, object] = {
        "item_id": texts("item_id"),
        "kind": [ItemKind.COIN.value] * size if coins else texts("kind"),
        "count": np.array(counts).astype(np.int64),
        "coin_id": texts("coin_id"),
        "lot": texts("lot"),
        "type_text": texts(say("outputs.as_found", header="type"), "type_text", "type"),
        "date_text": texts(say("outputs.as_found", header="date"), "date_text", "date"),
        "year": numbers("date" if coins else "year"),
        "mint_mark": texts("mint_mark"),
        "group": texts("group"),
        "position": numbers("position"),
        "order": np.zeros(size, dtype=np.int64),
        "source_file": [own.book.name] * size,
        "source_digest": [own.book.digest] * size,
        "source_sheet": rows["sheet"].tolist(),
        "source_row": rows["row"].to_numpy(np.int64),
    }
    frame = pd.DataFrame(columns)
    for name, values in columns.items():
        if isinstance(values, list) and name not in ("year", "position"):
            frame[name] = pd.array(values, dtype="str")
    places = zip(texts("source_file"), texts("source_sheet"), numbers("source_row"), strict=True)
    carried = np.empty(size, dtype=object)
    carried[:] = [
        {**found, "": (file, sheet, -1.0 if np.isnan(row) else row)}
        for found, (file, sheet, row) in zip(_carried(rows), places, strict=True)
    ]
    frame["carried"] = carried
    frame["grade"] = pd.array([_grade(found) for found in carried], dtype="str")
    return frame


def _grade(carried: dict[str, object]) -> str:
    """The grade among the columns as found, '' where none."""
    for header, text in carried.items():
        sense = sense_of(header) if header else None
        if sense is not None and sense.role == "grade":
            return grade_of(str(text))
    return ""


def _carried(rows: pd.DataFrame) -> list[dict[str, object]]:
    """The columns as found of each row, by their own header."""
    prefix = say("outputs.as_found", header="")
    headers = {
        name: name.removeprefix(prefix).rstrip()
        for name in rows.columns
        if name.startswith(prefix) and name.removeprefix(prefix) not in ("type", "date")
    }
    return [
        {header: text_of(row[name]) for name, header in headers.items() if text_of(row[name])}
        for row in rows[list(headers)].to_dict("records")
    ] or [{} for _ in range(len(rows))]


def _readings_of(own: OwnBook, items: pd.DataFrame) -> pd.DataFrame:
    """The readings of ``items``, from the table of readings or else from the coins' own."""
    order = dict(zip(items["item_id"], items["order"], strict=True))
    frame = own.readings if len(own.readings) else _from_columns(own.coins)
    frame = frame[[text_of(cell) in order for cell in frame["item_id"]]]
    columns: dict[str, object] = {}
    for name in READING_COLUMNS:
        if name in _NUMBERS:
            columns[name] = [number_of(cell) for cell in frame[name]]
        elif name == "repeat":
            columns[name] = np.array([int(number_of(c)) for c in frame[name]], dtype=np.int64)
        elif name == "order":
            ids = [text_of(cell) for cell in frame["item_id"]]
            columns[name] = np.array([order[i] for i in ids], dtype=np.int64)
        else:
            columns[name] = pd.array([text_of(cell) for cell in frame[name]], dtype="str")
    columns["file"] = [own.book.name] * len(frame)
    return pd.DataFrame(columns)


def _from_columns(coins: pd.DataFrame) -> pd.DataFrame:
    """One reading a coin and quantity, with the smallest step that its numbers show."""
    blank = dict.fromkeys(READING_COLUMNS, "")
    found: list[dict[str, object]] = []
    for name, (quantity, unit) in _MEASURED.items():
        if name not in coins.columns:
            continue
        values = np.array([number_of(cell) for cell in coins[name]])
        rows = np.flatnonzero(values > 0)
        texts = [cell_text(coins[name].iloc[row]) for row in rows]
        decimals = np.array([len(t.partition(".")[2].rstrip("0")) for t in texts], dtype=np.int64)
        step = estimated_step(values[rows], decimals)
        found += [
            {**blank, "item_id": coins["item_id"].iloc[row], "quantity": quantity.value,
             "value": values[row], "unit": unit, "raw": text, "column": name, "step": step,
             "repeat": 1, "status": ReadingStatus.USED.value}
            for row, text in zip(rows.tolist(), texts, strict=True)
        ]  # fmt: skip
    return pd.DataFrame(found, columns=list(READING_COLUMNS))


def _left_out_of(own: OwnBook) -> list[LeftOut]:
    """The rows that were left out of the sheet that the workbook was made from."""
    return [
        LeftOut(
            source_file=text_of(row["source_file"]),
            sheet=text_of(row["sheet_"]),
            row=_whole(row["row_"]),
            reason=text_of(row["reason"]),
            raw=text_of(row["raw"]),
        )
        for row in own.left_out.to_dict("records")
    ]


def _doubts_of(own: OwnBook) -> list[Doubt]:
    """The doubts about that sheet, without those that are found anew."""
    names = ("column", "raw", "kind", "proposal", "why", "item_id")
    anew = {say(key) for key in _FOUND_ANEW}
    return [
        Doubt(
            text_of(row["source_file"]),
            text_of(row["sheet_"]),
            _whole(row["row_"]),
            *(text_of(row.get(name, "")) for name in names),
        )
        for row in own.doubts.to_dict("records")
        if text_of(row["kind"]) not in anew
    ]


def _whole(cell: object) -> int:
    number = number_of(cell)
    return int(number) if np.isfinite(number) else 0


def _understood(own: OwnBook) -> TableUnderstood:
    """How the table of coins was understood."""
    roles = {"coin_id": "coin_id", "type": "type", "date": "date", "mint_mark": "mint_mark",
             "lot": "lot", "group": "group", "position": "position", "weight_g": "weight",
             "diameter_mm": "diameter", "thickness_mm": "thickness"}  # fmt: skip
    columns = tuple(
        ColumnUnderstood(
            name, roles[name], _MEASURED[name][1] if name in _MEASURED else "",
            say("intake.why.own"),
        )
        for name in own.coins.columns
        if name in roles
    )  # fmt: skip
    sheet = str(own.coins["sheet"].iloc[0]) if len(own.coins) else own.book.sheets[0].name
    rows = own.coins.loc[own.coins["sheet"] == sheet, "row"]
    last = int(rows.max()) if len(rows) else 1
    return TableUnderstood(own.book.name, sheet, 1, 2, last, ".", columns, "")
