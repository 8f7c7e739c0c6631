"""Known slips put into a lot that was drawn without any: single cells, and whole blocks.

What was right stays in the key, so that a screen can be scored on what it proposes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from lotscreen.quantities import DWT_G, GRAIN_G, INCH_MM
from lotscreen.records import Bools, Texts
from lotscreen.simulate import writing
from lotscreen.simulate.specs import SimulatedLot

DECIMAL, SWAPPED, WRONG, COLUMNS, UNIT = (
    "decimal slip", "swapped digits", "wrong digit", "columns swapped", "another unit",
)  # fmt: skip
KINDS_OF_SLIP = (DECIMAL, SWAPPED, WRONG, COLUMNS, UNIT)
_UNITS_OF_WEIGHT = {"grain": (GRAIN_G, 1), "dwt": (DWT_G, 2)}
_MEASURES = ("weight_g", "diameter_mm", "thickness_mm")


@dataclass(frozen=True, slots=True)
class Block:
    """Rows ``first`` to ``last`` (from 0, both included) that a fault strikes together."""

    first: int
    last: int

    def mask(self, rows: int) -> Bools:
        """The block's rows as a mask over ``rows``."""
        place = np.arange(rows)
        return np.asarray((place >= self.first) & (place <= self.last), dtype=np.bool_)


def with_slips(lot: SimulatedLot, rate: float, seed: int) -> SimulatedLot:
    """``lot`` with about ``rate`` of its measured cells spoilt, the kinds in equal parts.

    One coin has one slip at most. The key gets ``right_cell``, the text that should stand
    in the cell (of two columns swapped both, joined by '; '), and its faults as usual.
    """
    rng = np.random.default_rng(seed)
    sheet, key = lot.sheet.copy(), lot.key.copy()
    cells = int((sheet[list(_MEASURES)] != "").to_numpy().sum())
    wanted = rng.binomial(cells, rate)
    rows = rng.permutation(len(sheet))[:wanted]
    right = np.full(len(sheet), "", dtype=object)
    for place, row in enumerate(rows.tolist()):
        kind = KINDS_OF_SLIP[place % len(KINDS_OF_SLIP)]
        column = _MEASURES[int(rng.integers(len(_MEASURES)))]
        if sheet.loc[row, column] == "":
            column = "weight_g"
        struck = _struck(sheet, row, column, kind, rng)
        if struck:
            key.loc[row, "injected_fault"], key.loc[row, "fault_cell"] = kind, struck
            right[row] = "; ".join(str(lot.sheet.loc[row, c]) for c in struck.split("; "))
    key["right_cell"] = right
    return SimulatedLot(sheet, key)


def _struck(sheet: pd.DataFrame, row: int, column: str, kind: str, rng: np.random.Generator) -> str:
    """Spoil one cell (or two, swapped) in place; its column, '' where nothing changed."""
    before = str(sheet.loc[row, column])
    if kind == COLUMNS:
        others = [c for c in _MEASURES if c != column and sheet.loc[row, c] != ""]
        if not others:
            return ""
        other = others[int(rng.integers(len(others)))]
        sheet.loc[row, [column, other]] = sheet.loc[row, [other, column]].to_numpy()
        return f"{column}; {other}"
    if kind == UNIT:
        unit = ("grain", "dwt")[int(rng.integers(2))] if column == "weight_g" else "in"
        sheet.loc[row, column] = in_unit(before, unit)
    else:
        sheet.loc[row, column] = writing.slip(before, kind, rng)
    return column if sheet.loc[row, column] != before else ""


def in_unit(cell: str, unit: str) -> str:
    """A cell in grams or millimetres as somebody writes it who uses another unit."""
    if unit == "in":
        return f"{float(cell) / INCH_MM:.3f}"
    factor, decimals = _UNITS_OF_WEIGHT[unit]
    return f"{float(cell) / factor:.{decimals}f}"


def unit_block(lot: SimulatedLot, block: Block, unit: str) -> None:
    """The weights of a block are written in ``unit``, in place."""
    rows = block.mask(len(lot.sheet))
    lot.sheet.loc[rows, "weight_g"] = [
        in_unit(cell, unit) if cell else cell for cell in lot.sheet.loc[rows, "weight_g"]
    ]
    note(lot.key, rows, f"unit: {unit}", "weight_g")


def swapped_block(lot: SimulatedLot, block: Block, one: str, other: str) -> None:
    """Two columns of a block stand the other way round, in place."""
    rows = block.mask(len(lot.sheet))
    lot.sheet.loc[rows, [one, other]] = lot.sheet.loc[rows, [other, one]].to_numpy()
    note(lot.key, rows, COLUMNS, f"{one}; {other}")


def note(key: pd.DataFrame, rows: Bools, fault: str, cell: str) -> None:
    """Write a fault into the key's rows, behind those that are there."""
    for column, text in (("injected_fault", fault), ("fault_cell", cell)):
        before: Texts = key.loc[rows, column].to_numpy(dtype=object)
        key.loc[rows, column] = [f"{was}; {text}" if was else text for was in before]
