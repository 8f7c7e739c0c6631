"""Mixed crown-size: a street parcel of five types under section lines.

Lessons: sections and subtotals, a block weighed in pennyweights, nine rows with two columns
the other way round, and a type with no standard on file, which is not judged and not blamed.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from lotscreen.simulate.draw import draw_lot
from lotscreen.simulate.samples.files import SampleLot, cells, key_bytes
from lotscreen.simulate.samples.workbooks import Cell, xlsx_bytes
from lotscreen.simulate.specs import CoinSpec, KindCount, LotSpec, SimulatedLot, Wear
from lotscreen.simulate.spoiling import Block, swapped_block, unit_block
from lotscreen.standards import StandardsTable
from lotscreen.words import say

_SEED = 20260109
_HEADERS: list[Cell] = ["No", "Date", "Weight", "Diam.", "Thick."]
_IN_DWT = "UK CROWNS"
_SWAPPED = "FRENCH 5 FRANCS"
_SWAPPED_FROM, _SWAPPED_ROWS = 7, 9


def crown_size(standards: StandardsTable) -> SampleLot:
    """A workbook with a section line over each type and a subtotal below it."""
    spec = _spec(standards)
    lot = draw_lot(spec, _SEED)
    start = {}
    place = 0
    for coins in spec.coins:
        start[coins.type_text] = place
        place += coins.count
    counts = {coins.type_text: coins.count for coins in spec.coins}
    first = start[_IN_DWT]
    unit_block(lot, Block(first, first + counts[_IN_DWT] - 1), "dwt")
    first = start[_SWAPPED] + _SWAPPED_FROM
    swapped_block(lot, Block(first, first + _SWAPPED_ROWS - 1), "diameter_mm", "thickness_mm")
    return SampleLot(
        file_name="crown_size.xlsx",
        sheet=xlsx_bytes({"parcel": _rows(lot, counts)}, decimals=2),
        key_name="crown_size_key.csv",
        key=key_bytes(lot.key),
    )


def _rows(lot: SimulatedLot, counts: dict[str, int]) -> list[list[Cell]]:
    rows: list[list[Cell]] = [[say("simulate.title_crowns")], [], _HEADERS]
    columns = ("coin_id", "type", "date", "weight_g", "diameter_mm", "thickness_mm")
    written = cells(lot.sheet, *columns)
    place = 0
    for words, count in counts.items():
        rows.append([words])
        block = written[place : place + count]
        place += count
        for number, _, date, *measured in block:
            year: Cell = int(date) if date.isdigit() else date
            rows.append([int(number), year, *map(float, measured)])
        total = float(np.sum([float(row[3]) for row in block]))
        rows.append(["Subtotal", None, round(total, 2)])
    return rows


def _spec(standards: StandardsTable) -> LotSpec:
    wear = Wear("lognormal", depth_um_per_year=0.45)
    dollar = standards.get("us-dollar-1840")
    of_oz = replace(dollar, key="oz-thaler", weight_g=25.6, diameter_mm=37.4, remedies=())

    def of(key: str, words: str, count: int, years: range, *kinds: KindCount) -> CoinSpec:
        coin = of_oz if key == "oz-thaler" else standards.get(key)
        return CoinSpec(coin, words, count, tuple(years), 1925, wear, kinds)

    return LotSpec(
        coins=(
            of("us-dollar-1840", "US SILVER DOLLARS", 34, range(1878, 1905),
               KindCount("brass, right size", 2)),
            of("uk-crown-1818", _IN_DWT, 26, range(1887, 1901), KindCount("cast", 1)),
            of("fr-5f-silver-1803", _SWAPPED, 28, range(1831, 1849),
               KindCount("lead alloy, right size", 1)),
            of("de-5m-silver-1874", "GERMAN 5 MARK", 20, range(1891, 1909)),
            of("oz-thaler", "THALERS OF OZ", 12, range(1880, 1900)),
        ),
        shuffled=False,
        slip_rate=0.004,
    )  # fmt: skip
