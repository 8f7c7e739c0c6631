"""How hard each piece of a register is, measured: the honest pieces fit, all are judged.

Each piece is judged once; trays are then composed of figures. An honest piece is judged
as if it were not among those that were fitted.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from lotscreen.evidence import judge
from lotscreen.instruments import check_readings, instruments_of, scale_belief
from lotscreen.one_thread import one_thread
from lotscreen.records import FLAGGED, FindingKind, Findings, InputError, ItemTable
from lotscreen.settings import Settings
from lotscreen.standards import StandardsTable
from lotscreen.summary import summarise
from lotscreen.tray.pieces import HARDEST, Piece
from lotscreen.tray.register import Entry, Register
from lotscreen.wear import fit
from lotscreen.wear.fit import with_types
from lotscreen.words import say

_SPEAKS = 2.6  # about one honest piece in a hundred reads farther off, two-sided
_FEWEST_HONEST = 8


@one_thread
def judged_pieces(
    register: Register, standards: StandardsTable, settings: Settings
) -> tuple[Piece, ...]:
    """The pieces of ``register`` in its order, each with its measured difficulty.

    InputError where there are too few honest pieces to learn from.
    """
    honest = np.array([entry.honest for entry in register.entries], dtype=np.bool_)
    if honest.sum() < _FEWEST_HONEST:
        raise InputError(
            say("tray_building.register.few_honest", file=register.name, n=int(honest.sum()),
                least=_FEWEST_HONEST)
        )  # fmt: skip
    table, findings = _judged(register, honest, standards, settings)
    thickness = _middle_thickness(table.rows(honest))
    return tuple(
        _piece(n, register, table, findings, standards, thickness)
        for n in range(len(register.entries))
    )


def _middle_thickness(honest: ItemTable) -> dict[str, float]:
    """By type, the middle thickness of the honest pieces that have one."""
    read = pd.Series(honest.thickness_mm).groupby(honest.type_key).median()
    return {str(key): float(value) for key, value in read.items()}


def _judged(
    register: Register, honest: np.ndarray, standards: StandardsTable, settings: Settings
) -> tuple[ItemTable, Findings]:
    intake = register.intake
    table = summarise(intake.items, intake.readings, instruments_of(intake.readings, settings))
    marks = [str(m) for m in intake.items["mint_mark"]]
    table = with_types(table, standards, marks).rows(np.array(register.rows))
    belief = scale_belief(check_readings(intake.items, intake.readings, settings), settings)
    fitted = fit(table.rows(honest), standards, settings, 0, None, belief)
    return table, judge(table, fitted, settings)


def _piece(
    n: int, register: Register, table: ItemTable, findings: Findings,
    standards: StandardsTable, thickness: Mapping[str, float],
) -> Piece:  # fmt: skip
    key = str(table.type_key[n])
    standard = standards.get(key) if key else None
    entry = register.entries[n]
    finding, score = str(findings.finding[n]), float(findings.score[n])
    told_by = _told_by(n, entry, findings)
    for_truth = -score if entry.honest else score
    hardness = HARDEST - min(max(for_truth, 0.0), HARDEST) if np.isfinite(score) else HARDEST
    item = register.intake.items.iloc[register.rows[n]]
    return Piece(
        piece=entry.piece,
        type_text=str(item["type_text"]),
        date_text=str(item["date_text"]),
        kind=entry.kind,
        honest=entry.honest,
        permission=entry.permission,
        box=entry.box,
        weight_g=float(table.weight_g[n]),
        diameter_mm=float(table.diameter_mm[n]),
        thickness_mm=float(table.thickness_mm[n]),
        difficulty=round(hardness, 2),
        told_by=told_by,
        tellable=bool(told_by),
        finding=finding,
        reason=str(findings.reason[n]),
        explanations=str(findings.explanations[n]),
        expected_low_g=float(findings.expected_low_g[n]),
        expected_high_g=float(findings.expected_high_g[n]),
        standard_g=np.nan if standard is None else standard.weight_g,
        standard_mm=np.nan if standard is None else standard.diameter_mm or np.nan,
        mates_mm=thickness.get(key, np.nan),
        usable=_unusable(entry, finding, table, n, findings),
    )


def _unusable(entry: Entry, finding: str, table: ItemTable, n: int, findings: Findings) -> str:
    """Why a piece stays out of trays, '' where nothing speaks against it."""
    if finding == FindingKind.NOT_JUDGED:
        return str(findings.reason[n])
    if table.doubtful[n] or (entry.honest and finding == FindingKind.RE_MEASURE):
        return say("tray_building.register.re_measure")
    return ""


def _told_by(n: int, entry: Entry, findings: Findings) -> str:
    """The readings that tell the piece, else the test that the register names, else ''."""
    finding = str(findings.finding[n])
    if entry.honest:
        agree = finding == FindingKind.CONSISTENT
        return say("tray_building.told.agree") if agree else entry.told_by
    if finding not in (*FLAGGED, FindingKind.RE_MEASURE):
        return entry.told_by
    speaking = [
        say(f"tray_building.told.{name}")
        for name in ("weight", "diameter", "thickness")
        if abs(float(getattr(findings, f"z_{name}")[n])) > _SPEAKS
    ]
    return " + ".join(speaking) or say("tray_building.told.together")
