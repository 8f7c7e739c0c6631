"""The jar of halves: 2,000 coins in rolls, written by a tired hand.

Lessons: the tare, another type on file, groups. Of the common faults of a sheet it has
decimal slips, dates with mint marks, ditto marks, half-filled rows, a block not tared
and a count that does not agree with the count stated.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from lotscreen.records import Bools
from lotscreen.simulate import writing
from lotscreen.simulate.draw import draw_lot
from lotscreen.simulate.samples.dates import late_dated
from lotscreen.simulate.samples.files import SampleLot, cells, key_bytes
from lotscreen.simulate.samples.workbooks import Cell, xlsx_bytes
from lotscreen.simulate.specs import Balance, CoinSpec, KindCount, LotSpec, SimulatedLot, Wear
from lotscreen.standards import StandardsTable
from lotscreen.words import say

_SEED = 20260102
_COINS = 2000
_FORTY_PERCENT = 31
_COUNT_STATED = 2001
_FACE_STATED = 1000
_ROLL = 20
_DATE_COPIED_DOWN = 11
_ROLL_NOT_TARED = 63
_DISH_G = 0.85
_BAG_G = 85.0
_CHECK_EVERY_ROLLS = 5
_CHECK_G = 20.0
_HEADERS: list[Cell] = ["Roll", "No", "Denom", "Year", "Wt(g)", "D (mm)", "T (mm)"]
_HEADERS_TOGETHER: list[Cell] = ["Roll", "Count", "Denom", "Wt(g)"]
_TYPE_TEXT = "US half dollar"
_DITTO = '"'


def jar_of_halves(standards: StandardsTable) -> SampleLot:
    """A workbook: the coins roll by roll with check weights; bag and rolls weighed whole."""
    lot = draw_lot(_spec(standards), _SEED)
    rng = np.random.default_rng(np.random.SeedSequence(_SEED).spawn(1)[0])
    _copy_date_down(lot, rng)
    _leave_dish_on(lot)
    rows: list[list[Cell]] = [
        [say("simulate.title_jar")],
        [say("simulate.stated_jar", stated=_COUNT_STATED, face=_FACE_STATED)],
        [],
        _HEADERS,
        *_coin_rows(lot.sheet, rng),
    ]
    return SampleLot(
        file_name="jar_of_halves.xlsx",
        sheet=xlsx_bytes({"coins": rows, "together": _together(lot, rng)}, decimals=2),
        key_name="jar_of_halves_key.csv",
        key=key_bytes(lot.key),
    )


def _spec(standards: StandardsTable) -> LotSpec:
    wear = Wear("gamma", depth_um_per_year=0.8, growth=0.8)
    silver = CoinSpec(
        coin_type=standards.get("us-half-1873"),
        type_text=_TYPE_TEXT,
        count=_COINS - _FORTY_PERCENT,
        years=late_dated(1892, 1964),
        in_use_until=1965,
        wear=wear,
        kinds=(
            KindCount("brass, right size", 14),
            KindCount("brass, right weight", 3),
            KindCount("nickel silver, right weight", 3),
        ),
        mint_marks=("", "", "D", "S"),
        designs=(1916, 1948, 1964),
    )
    forty = CoinSpec(
        coin_type=standards.get("us-half-1965"),
        type_text=_TYPE_TEXT,
        count=_FORTY_PERCENT,
        years=tuple(range(1965, 1971)),
        in_use_until=1980,
        wear=wear,
        label="40 % half",
    )
    return LotSpec(
        coins=(silver, forty),
        roll_size=_ROLL,
        measured=150,
        measured_kinds=("brass, right weight", "nickel silver, right weight"),
        slip_rate=0.01,
    )


def _copy_date_down(lot: SimulatedLot, rng: np.random.Generator) -> None:
    """Some of the 40 % halves get the date of the coins about them: the year was filled
    down the column."""
    forty = np.flatnonzero(lot.key["true_kind"] == "40 % half")
    copied = np.zeros(len(lot.key), dtype=np.bool_)
    copied[rng.choice(forty, _DATE_COPIED_DOWN, replace=False)] = True
    lot.sheet.loc[copied, "date"] = "1964"
    _note(lot.key, copied, "date copied down", "date")


def _leave_dish_on(lot: SimulatedLot) -> None:
    """One roll was weighed in a dish that had not been tared away."""
    in_dish = (lot.sheet["group"] == str(_ROLL_NOT_TARED)).to_numpy()
    shown = lot.sheet.loc[in_dish, "weight_g"].astype(float) + _DISH_G
    lot.sheet.loc[in_dish, "weight_g"] = [f"{weight:.2f}" for weight in shown]
    _note(lot.key, in_dish, "not tared", "weight_g")


def _note(key: pd.DataFrame, rows: Bools, fault: str, cell: str) -> None:
    for column, text in (("injected_fault", fault), ("fault_cell", cell)):
        before = key.loc[rows, column]
        key.loc[rows, column] = [f"{was}; {text}" if was else text for was in before]


def _together(lot: SimulatedLot, rng: np.random.Generator) -> list[list[Cell]]:
    """The bag weighed whole, with its own weight left in, and every roll weighed bare."""
    words = f"{_TYPE_TEXT} 90 %"
    coins_g = lot.key["true_weight_g"].to_numpy(np.float64)
    rolls_g = coins_g.reshape(-1, _ROLL).sum(axis=1)
    shown = writing.weigh(rolls_g, Balance(step_g=0.1, sd_g=0.06), rng)
    rows: list[list[Cell]] = [
        [say("simulate.title_jar")],
        [],
        _HEADERS_TOGETHER,
        ["bag", _COINS, words, round(float(coins_g.sum()) + _BAG_G)],
    ]
    for number, weight in enumerate(shown, 1):
        rows.append([number, _ROLL, words, float(weight)])
    return rows


def _coin_rows(sheet: pd.DataFrame, rng: np.random.Generator) -> list[list[Cell]]:
    rows: list[list[Cell]] = []
    columns = ("group", "coin_id", "type", "date", "weight_g", "diameter_mm", "thickness_mm")
    for place, (roll, number, words, date, *measured) in enumerate(cells(sheet, *columns)):
        if place % (_ROLL * _CHECK_EVERY_ROLLS) == 0:
            rows.append(_check_row(rng))
        described = _DITTO if place % _ROLL else words
        year = int(date) if date.isdigit() else date
        numbers = [float(cell) if cell else None for cell in measured]
        rows.append([int(roll), int(number), described, year, *numbers])
    rows.append(_check_row(rng))
    return rows


def _check_row(rng: np.random.Generator) -> list[Cell]:
    shown = writing.weigh(np.array([_CHECK_G]), Balance(), rng)[0]
    return [None, None, f"check weight {_CHECK_G:.2f} g", None, float(shown)]
