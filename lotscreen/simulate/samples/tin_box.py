"""The tin box: sovereigns and half-sovereigns of one estate, weighed in grains and grams.

Lessons: 'gr' is asked for, ten rows are in another unit, worn pieces lie below the least
current weight and are good, and one piece passes every reading and is not what it seems.
"""

from __future__ import annotations

from lotscreen.simulate.draw import draw_lot
from lotscreen.simulate.samples.files import SampleLot, cells, key_bytes
from lotscreen.simulate.samples.workbooks import Cell, xlsx_bytes
from lotscreen.simulate.specs import Balance, CoinSpec, KindCount, LotSpec, Wear
from lotscreen.simulate.spoiling import Block, in_unit, note
from lotscreen.standards import StandardsTable
from lotscreen.words import say

_SEED = 20260209
_SOVEREIGNS, _WORN, _HALVES = 48, 9, 11
_IN_GRAMS = Block(30, 39)
_HEADERS: list[Cell] = ["#", "Coin", "Date/Mint", "gr", "mm", "thk"]


def tin_box(standards: StandardsTable) -> SampleLot:
    """A workbook; column 'gr' is in grains but for rows 31 to 40, which are in grams."""
    lot = draw_lot(_spec(standards), _SEED)
    in_grams = _IN_GRAMS.mask(len(lot.sheet))
    columns = ("coin_id", "type", "date", "weight_g", "diameter_mm", "thickness_mm")
    rows: list[list[Cell]] = [[say("simulate.title_box")], [], _HEADERS]
    for (number, words, date, weight, *lengths), grams in zip(
        cells(lot.sheet, *columns), in_grams, strict=True
    ):
        shown = f"{float(weight):.2f}" if grams else in_unit(weight, "grain")
        year: Cell = int(date) if date.isdigit() else date
        rows.append([int(number), words, year, float(shown), *map(float, lengths)])
    note(lot.key, in_grams, "unit: g", "gr")
    return SampleLot(
        file_name="tin_box.xlsx",
        sheet=xlsx_bytes({"box": rows}, decimals=2),
        key_name="tin_box_key.csv",
        key=key_bytes(lot.key),
    )


def _spec(standards: StandardsTable) -> LotSpec:
    sovereign = standards.get("uk-sovereign-1817")
    marks = ("", "", "S", "M")
    return LotSpec(
        coins=(
            CoinSpec(
                coin_type=sovereign,
                type_text="Sovereign",
                count=_WORN,
                years=tuple(range(1853, 1872)),
                in_use_until=1914,
                wear=Wear("weibull", depth_um_per_year=0.15),
                mint_marks=marks,
            ),
            CoinSpec(
                coin_type=sovereign,
                type_text="Sovereign",
                count=_SOVEREIGNS - _WORN,
                years=tuple(range(1887, 1915)),
                in_use_until=1916,
                wear=Wear("weibull", depth_um_per_year=0.03),
                kinds=(
                    KindCount("from a mount", 3),
                    KindCount("nine carat, right size", 2),
                    KindCount("tungsten alloy, right weight", 1),
                ),
                mint_marks=marks,
            ),
            CoinSpec(
                coin_type=standards.get("uk-half-sovereign-1817"),
                type_text="Half-sovereign",
                count=_HALVES,
                years=tuple(range(1892, 1915)),
                in_use_until=1916,
                wear=Wear("weibull", depth_um_per_year=0.05),
                mint_marks=marks,
            ),
        ),
        balance=Balance(step_g=0.001, sd_g=0.002),
    )
