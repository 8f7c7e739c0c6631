"""The tables of a set: its key, what the numbers tell of each cell, its custody list."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from lotscreen.tray.built import ANYBODY, BuiltSet
from lotscreen.tray.compose import Cell, Tray
from lotscreen.words import phrase

KEY_DECIMALS = {"weight_g": 3, "diameter_mm": 2, "thickness_mm": 2, "difficulty": 2}
TOLD_DECIMALS = {"weight_g": 3, "diameter_mm": 2, "thickness_mm": 2, "difficulty": 2,
                 "expected_low_g": 3, "expected_high_g": 3, "standard_g": 4,
                 "standard_mm": 2, "mates_mm": 2}  # fmt: skip
KEY = "KEY.csv"
TOLD = "KEY-told.csv"  # the file that practice on screen reads
TOLD_COLUMNS = (
    "tray", "cell", "piece", "type", "date", "kind", "status", "weight_g", "diameter_mm",
    "thickness_mm", "difficulty", "told_by", "tellable", "expected_low_g", "expected_high_g",
    "standard_g", "standard_mm", "mates_mm", "finding", "reason", "explanations",
    "trainees", "feedback",
)  # fmt: skip


def _cells(built: BuiltSet) -> Iterator[tuple[Tray, Cell]]:
    return ((tray, cell) for tray in built.trays for cell in tray.cells)


def key_frame(built: BuiltSet) -> pd.DataFrame:
    """One row a cell, in the order of trays and cells: what the marker reads."""
    return pd.DataFrame(
        {
            "tray": tray.name,
            "cell": cell.number,
            "piece": cell.piece.piece,
            "type": cell.piece.type_text,
            "date": cell.piece.date_text,
            "kind": cell.piece.kind,
            "status": status(cell.piece.honest),
            "weight_g": cell.piece.weight_g,
            "diameter_mm": cell.piece.diameter_mm,
            "thickness_mm": cell.piece.thickness_mm,
            "difficulty": cell.piece.difficulty,
            "told_by": cell.piece.told_by,
            "tellable": "yes" if cell.piece.tellable else "no",
        }
        for tray, cell in _cells(built)
    )


def told_frame(built: BuiltSet) -> pd.DataFrame:
    """One row a cell: what practice on screen says of it, the key included."""
    return pd.DataFrame(
        {
            **key,
            "expected_low_g": cell.piece.expected_low_g,
            "expected_high_g": cell.piece.expected_high_g,
            "standard_g": cell.piece.standard_g,
            "standard_mm": cell.piece.standard_mm,
            "mates_mm": cell.piece.mates_mm,
            "finding": cell.piece.finding,
            "reason": cell.piece.reason,
            "explanations": cell.piece.explanations,
            "trainees": ",".join(built.trainees) or ANYBODY,
            "feedback": "yes" if built.order.purpose.feedback else "no",
        }
        for key, (_, cell) in zip(key_frame(built).to_dict("records"), _cells(built), strict=True)
    )


def custody_frame(built: BuiltSet) -> pd.DataFrame:
    """One row a piece in the order of the boxes; ``in`` is to be filled in."""
    frame = pd.DataFrame(
        {
            "box": cell.piece.box,
            "piece": cell.piece.piece,
            "permission": cell.piece.permission,
            "tray": tray.name,
            "cell": cell.number,
            "out": 1,
            "in": "",
        }
        for tray, cell in _cells(built)
    )
    return frame.sort_values(["box", "piece"], kind="stable", ignore_index=True)


def status(honest: bool) -> str:
    """The word of the key for what a piece is."""
    return phrase("tray_building.status.honest" if honest else "tray_building.status.not_honest")
