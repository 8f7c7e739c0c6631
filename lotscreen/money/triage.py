"""Which unmeasured lots to measure first, and the risk that is left if one stops tonight."""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np

from lotscreen.intake.cells import decimal_sign_of
from lotscreen.intake.grid import Sheet, cell_text
from lotscreen.intake.readers import read_book
from lotscreen.intake.vocabulary import is_missing
from lotscreen.money.next_tests import how_many_fit
from lotscreen.money.terms import Terms
from lotscreen.records import InputError
from lotscreen.second_tests.sheet import measure_cell, plain, possible_headers
from lotscreen.words import say

_AN_HOUR = 60.0
_PERCENT = 100.0


@dataclass(frozen=True, slots=True)
class LotListed:
    """A lot as listed: its name, coins, what it should fetch, the chance that it is not as
    described (NaN: not said), minutes to measure it (NaN: not said), whether it is done."""

    lot: str
    coins: float
    estimate: float
    doubt: float
    minutes: float
    measured: bool


@dataclass(frozen=True, slots=True)
class LotToMeasure:
    """An unmeasured lot with its figures filled in: ``at_risk`` is what selling it unmeasured
    may cost on the mean, in money."""

    lot: str
    estimate: float
    doubt: float
    minutes: float
    at_risk: float
    worth_it: bool

    @property
    def a_minute(self) -> float:
        """Money at risk a minute: what the order is by."""
        return self.at_risk / self.minutes


@dataclass(frozen=True, slots=True)
class Triage:
    """The unmeasured lots, most at risk a minute first; ``planned`` of them fit the minutes
    given; money at risk in all of them if one stops tonight, and after the planned ones."""

    lots: tuple[LotToMeasure, ...]
    planned: int
    minutes: float
    at_risk_now: float
    at_risk_after: float


def triage(
    listed: Sequence[LotListed], terms: Terms, doubt: float, minutes: float | None,
    done: Collection[str] = (),
) -> Triage:  # fmt: skip
    """The order by estimate times doubt over minutes. ``doubt`` is that of lots whose row says
    none; ``done`` are lots measured already; ``minutes`` at hand (None: no limit)."""
    lots = [
        _filled(own, terms, doubt) for own in listed if not own.measured and own.lot not in done
    ]
    lots.sort(key=lambda lot: (-round(lot.a_minute, 9), lot.lot))
    worth = [lot for lot in lots if lot.worth_it]
    ordered = [*worth, *(lot for lot in lots if not lot.worth_it)]
    planned = how_many_fit([lot.minutes for lot in worth], minutes)
    used = sum((lot.minutes for lot in worth[:planned]), 0.0)
    now = sum(lot.at_risk for lot in lots)
    after = now - sum(lot.at_risk for lot in ordered[:planned])
    return Triage(tuple(ordered), planned, used, now, after)


def _filled(own: LotListed, terms: Terms, doubt: float) -> LotToMeasure:
    coins = own.coins if np.isfinite(own.coins) else 1.0
    minutes = own.minutes if np.isfinite(own.minutes) else coins * terms.minutes_a_coin
    chance = own.doubt if np.isfinite(own.doubt) else doubt
    at_risk = own.estimate * chance * terms.loss_multiple
    return LotToMeasure(own.lot, own.estimate, chance, minutes, at_risk,
                        at_risk > minutes * terms.wage / _AN_HOUR)  # fmt: skip


@cache
def _words() -> Mapping[str, Any]:
    path = files("lotscreen.money") / "lot_words.toml"
    return tomllib.loads(path.read_text(encoding="utf-8"))


def read_lots(path: Path) -> tuple[LotListed, ...]:
    """The lots listed in a sheet, which may be the sheet of measurements itself: a lot whose
    every row has a weight is measured. InputError where no row names its columns, or a cell that
    should hold a number holds none (file, sheet, row, column, value and mend are named)."""
    book = read_book(path)
    found: list[LotListed] = []
    for sheet in book.sheets:
        header = _header(sheet)
        if header is not None:
            found += _lots(book.name, sheet, *header)
    if not found:
        raise InputError(say("money.error.lots_header", file=book.name))
    return _by_lot(found)


def _by_lot(rows: Sequence[LotListed]) -> tuple[LotListed, ...]:
    """One entry a lot: of several rows coins, estimates and minutes add up, the greatest doubt
    counts, and the lot is measured where every row is."""
    found: dict[str, list[LotListed]] = {}
    for row in rows:
        found.setdefault(row.lot, []).append(row)
    return tuple(own[0] if len(own) == 1 else _merged(own) for own in found.values())


def _merged(rows: Sequence[LotListed]) -> LotListed:
    coins = np.array([row.coins for row in rows])
    minutes = np.array([row.minutes for row in rows])
    doubts = [row.doubt for row in rows if np.isfinite(row.doubt)]
    return LotListed(
        rows[0].lot, float(np.where(np.isfinite(coins), coins, 1.0).sum()),
        sum(row.estimate for row in rows), max(doubts, default=float("nan")),
        float(np.nansum(minutes)) if np.isfinite(minutes).any() else float("nan"),
        all(row.measured for row in rows),
    )  # fmt: skip


def _header(sheet: Sheet) -> tuple[int, dict[str, int]] | None:
    for at, found in possible_headers(sheet, _words()["roles"]):
        if "lot" in found and {"estimate", "low", "high"} & set(found):
            return at, found
    return None


def _lots(file: str, sheet: Sheet, at: int, places: Mapping[str, int]) -> list[LotListed]:
    body = sheet.rows[at + 1 :]
    sign, _, _ = decimal_sign_of(cell for row in body for cell in row if isinstance(cell, str))
    found: list[LotListed] = []
    lot = ""  # a blank cell below a lot's name belongs to it
    for number, row in enumerate(body, at + 2):
        cells = {role: row[p] if p < len(row) else "" for role, p in places.items()}
        told = {role for role, cell in cells.items() if not is_missing(cell_text(cell))}
        lot = cell_text(cells["lot"]).strip() or (lot if told else "")
        if not lot:
            continue
        where = _Where(file, sheet.name, number, sign)
        found.append(_lot(lot, cells, where))
    return found


@dataclass(frozen=True, slots=True)
class _Where:
    file: str
    sheet: str
    row: int
    sign: str


def _lot(lot: str, cells: Mapping[str, object], where: _Where) -> LotListed:
    values = {
        role: _number(cells.get(role, ""), role, where)
        for role in ("coins", "estimate", "low", "high", "minutes")
    }
    ends = [values[role] for role in ("low", "high") if np.isfinite(values[role])]
    estimate = values["estimate"]
    if not np.isfinite(estimate):
        estimate = float(np.mean(ends)) if ends else 0.0
    done = plain(cell_text(cells.get("measured", ""))) in _words()["yes"]["words"]
    done = done or np.isfinite(_weight(cells.get("weight", ""), where))
    doubt = _doubt(cells.get("doubt", ""), where)
    return LotListed(lot, values["coins"], estimate, doubt, values["minutes"], done)


def _number(cell: object, role: str, where: _Where) -> float:
    """The number of a cell, NaN where it is empty; a currency behind it is no matter."""
    found = measure_cell(cell, where.sign)
    if found.state == "missing":
        return float("nan")
    if found.state != "number":
        raise InputError(say("money.error.lots_cell", file=where.file, sheet=where.sheet,
                             row=where.row, column=role, value=cell_text(cell)))  # fmt: skip
    return found.value


def _weight(cell: object, where: _Where) -> float:
    """A weight already taken, NaN where the cell says none."""
    try:
        return _number(cell, "weight", where)
    except InputError:
        return float("nan")


def _doubt(cell: object, where: _Where) -> float:
    """A chance: a share, per cent (above 1, or with its sign), or low, some, high."""
    text = cell_text(cell).strip()
    if is_missing(text):
        return float("nan")
    if plain(text) in _words()["doubts"]:
        return float(_words()["doubts"][plain(text)])
    value = _number(text.rstrip("% "), "doubt", where)
    percent = text.endswith("%") or value > 1
    return min(value / _PERCENT if percent else value, 1.0)
