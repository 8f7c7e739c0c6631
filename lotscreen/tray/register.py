"""A register of training pieces: a sheet like any other, read by the same forgiving reader.

What a register says besides measurements (kind, status, permission, box, which other
test tells the piece) is looked up here. Whatever is wrong is collected, so that one run
shows all of it.
"""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import pandas as pd

from lotscreen.intake import ReadOptions
from lotscreen.intake.grid import plain_words
from lotscreen.intake.vocabulary import is_missing, without_accents
from lotscreen.records import InputError, Intake, ItemKind, Quantity
from lotscreen.screening import read
from lotscreen.words import say

_FIELDS = ("kind", "status", "permission", "told_by")
_MOST_SHOWN = 20
_AGAIN = re.compile(r"(?P<first>.+) \(\d+\)")


@dataclass(frozen=True, slots=True)
class Entry:
    """What the register says of one item of the intake, by words."""

    piece: str
    kind: str
    honest: bool
    permission: str
    box: str
    told_by: str


@dataclass(frozen=True, slots=True)
class Register:
    """The sheet as read, and one entry a piece; ``rows`` are its places in the intake."""

    name: str
    digest: str
    intake: Intake
    entries: tuple[Entry, ...]
    rows: tuple[int, ...]

    def doubts(self) -> int:
        """Cells read with a doubt, and rows left out that hold anything."""
        left_out = int((self.intake.left_out["raw"].astype(str).str.strip() != "").sum())
        return len(self.intake.doubts) + left_out


@cache
def _vocabulary() -> Mapping[str, Mapping[str, list[str]]]:
    found: Any = tomllib.loads((files(__package__) / "register.toml").read_text(encoding="utf-8"))
    return found  # type: ignore[no-any-return]


def read_register(source: Path | pd.DataFrame) -> Register:
    """Read a register; InputError that lists everything to be mended, each with its place."""
    first = read(source, ReadOptions())
    headers = _headers(first)
    intake = read(source, ReadOptions(mapping={"columns": _senses(headers)}))
    missing = [name for name in ("kind", "status", "permission") if name not in headers]
    if not (intake.items["group"].astype(str) != "").any():
        missing.append("box")
    file = intake.sources[0].name
    if missing:
        found = ", ".join(repr(c.header) for t in intake.tables for c in t.columns)
        raise InputError(
            say("tray_building.register.no_column", file=file, name=missing[0], found=found)
        )
    rows = [n for n, kind in enumerate(intake.items["kind"]) if kind != ItemKind.CHECK]
    wrong: list[str] = []
    entries = [_entry(intake.items.iloc[n], headers, wrong) for n in rows]
    wrong += _repeats(intake, rows)
    wrong += _unmeasured(intake, rows)
    _refuse(wrong)
    return Register(file, intake.sources[0].digest, intake, tuple(entries), tuple(rows))


def _refuse(wrong: list[str]) -> None:
    if not wrong:
        return
    shown = wrong[:_MOST_SHOWN]
    if len(wrong) > len(shown):
        shown.append(say("tray_building.register.more", n=len(wrong) - len(shown)))
    raise InputError("\n".join(shown))


def _headers(intake: Intake) -> dict[str, list[str]]:
    """The headers of the register's own columns, as found, by what they say."""
    senses = {word: name for name, words in _vocabulary()["headers"].items() for word in words}
    found: dict[str, list[str]] = {}
    for table in intake.tables:
        for column in table.columns:
            plain = without_accents(plain_words(column.header)).replace(".", "")
            name = senses.get(" ".join(re.sub(r"[_\-]", " ", plain).split()))
            if name is not None:
                found.setdefault(name, []).append(column.header)
    return found


def _senses(headers: Mapping[str, list[str]]) -> dict[str, str]:
    """The map that carries the register's own columns through and names the piece."""
    senses = {header: "" for name in _FIELDS for header in headers.get(name, ())}
    senses.update(dict.fromkeys(headers.get("piece", ())[:1], "coin_id"))
    senses.update(dict.fromkeys(headers.get("box", ())[:1], "group"))
    return senses


def _entry(item: Any, headers: Mapping[str, list[str]], wrong: list[str]) -> Entry:
    """What the register says of one row; what is wrong with it goes to ``wrong``."""
    said = {name: _said(item, headers.get(name, [])) for name in _FIELDS}
    honest = _honest(said["status"])
    faults = _faults(item, said, honest)
    for column, value, key in faults:
        wrong.append(_at(item, column, value, say(f"tray_building.register.{key}")))
    return Entry(
        piece=str(item["coin_id"]),
        kind=said["kind"],
        honest=bool(honest),
        permission=said["permission"],
        box=str(item["group"]),
        told_by=said["told_by"],
    )


def _faults(
    item: Any, said: Mapping[str, str], honest: bool | None
) -> Iterator[tuple[str, str, str]]:
    """Column, value found and the key of the mend of everything wrong in one row."""
    if str(item["coin_id"]) == f"{item['source_sheet']}!{item['source_row']}":
        yield "piece", "", "no_piece"
    if item["kind"] != ItemKind.COIN:
        yield "piece", str(item["coin_id"]), "one_row_one_piece"
    if not said["kind"]:
        yield "kind", "", "no_kind"
    if honest is None:
        yield "status", said["status"], "status"
    if honest is False and not said["permission"]:
        yield "permission", "", "no_permission"
    if not str(item["group"]):
        yield "box", "", "no_box"
    if not str(item["type_text"]):
        yield "type", "", "no_type"


def _said(item: Any, headers: list[str]) -> str:
    texts = (str(item["carried"].get(header, "")) for header in headers)
    return next((" ".join(t.split()) for t in texts if not is_missing(t)), "")


def _honest(text: str) -> bool | None:
    plain = plain_words(text)
    for name, is_honest in (("honest", True), ("not_honest", False)):
        if plain in _vocabulary()["status"][name]:
            return is_honest
    return None


def _at(item: Any, column: str, value: str, mend: str) -> str:
    return say(
        "tray_building.register.at", file=item["source_file"], sheet=item["source_sheet"],
        row=item["source_row"], column=column, value=value, mend=mend,
    )  # fmt: skip


def _repeats(intake: Intake, rows: list[int]) -> list[str]:
    """A piece number that stands in more than one row."""
    items = intake.items.iloc[rows]
    ids = [str(i) for i in items["coin_id"]]
    known = Counter(ids)
    found = []
    for name, (_, item) in zip(ids, items.iterrows(), strict=True):
        again = _AGAIN.fullmatch(name)
        if again is not None and again["first"] in known:
            mend = say("tray_building.register.twice")
            found.append(_at(item, "piece", again["first"], mend))
    return found


def _unmeasured(intake: Intake, rows: list[int]) -> list[str]:
    """Pieces without a weight that can be used, with the doubt that took it away."""
    readings = intake.readings
    weighed = set(readings.loc[readings["quantity"] == Quantity.WEIGHT, "item_id"])
    found = []
    for _, item in intake.items.iloc[rows].iterrows():
        if item["item_id"] in weighed or item["kind"] != ItemKind.COIN:
            continue
        doubts = [d for d in intake.doubts if d.item_id == item["item_id"] and d.kind]
        raw = doubts[0].raw if doubts else ""
        column = doubts[0].column if doubts else "weight"
        found.append(_at(item, column, raw, say("tray_building.register.no_weight")))
    return found
