"""Slips that strike neighbouring rows together: columns exchanged for nine rows, another
unit for ten, a holder that was not tared.

One row read so is weighed as a slip of its own in :mod:`lotscreen.evidence.slips`. Several in
a row support each other: a chain over the coins in the order of the sheet says how likely
each stands in such a block. Against each block stand all explanations of single coins, coin
by coin. A run of coins that are all off by just the factor of a unit is to be measured again
for that reason alone, whatever they are.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from lotscreen.evidence.block_chain import chances
from lotscreen.evidence.block_faults import FAULTS
from lotscreen.evidence.block_rows import Alone, FaultRows, alone, fault_rows
from lotscreen.evidence.slips import NOT_TARED, SLIP_KEYS, SlipEvidence
from lotscreen.evidence.weigh import COLUMNS
from lotscreen.evidence.wording import explain, next_test, ranked
from lotscreen.records import FindingKind, Findings, Floats, Ints, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import Fit, TypeFit
from lotscreen.wear.fit import unfitted
from lotscreen.words import say

_GROSS_Z = 4.0
_FEWEST = 3  # odd rows of a block; fewer are slips of their own
_GAP = 2  # rows between two of a block that are not odd by themselves: a worn coin and holder
_HOPELESS = -30.0  # natural log density: no fault explains such readings
_BEGINS = 0.1  # blocks that begin at a row, as a share of the rate of wrong cells
_QUANTITIES = ("weight", "diameter", "thickness")
_SLIP_COLUMNS = [COLUMNS.index(key) for key in SLIP_KEYS]
_STATE_KEYS = ("", *(fault.key for fault in FAULTS), NOT_TARED)


def with_blocks(found: Findings, table: ItemTable, fit: Fit, settings: Settings) -> Findings:
    """``found`` after blocks of slips were weighed: *re-measure*, with the reason, where
    slips single and in blocks hold more than half of the evidence.

    Rows of ``table`` stand in the order of the sheet. All other findings stay as they are.
    """
    stretches = _stretches(found) if settings.slip_rate > 0 else []
    if not stretches:
        return found
    changed = replace(
        found, finding=found.finding.copy(), reason_code=found.reason_code.copy(),
        reason=found.reason.copy(), explanations=found.explanations.copy(),
        next_test=found.next_test.copy(), shares=found.shares.copy(),
        other_type=found.other_type.copy(),
    )  # fmt: skip
    types = _types(table, stretches, fit, settings)
    for stretch in stretches:
        rows = fault_rows(found, table, stretch, types)
        if (rows.log_density > _HOPELESS).any(axis=1).sum() < _FEWEST and not _passed(found, rows):
            continue
        single = alone(table, stretch, types, fit, settings)
        log_density = np.column_stack([single.log_density, rows.log_density])
        chance = chances(log_density, rows.log_next, _BEGINS * settings.slip_rate)
        _settle(changed, rows, single, chance)
    return changed


def _types(
    table: ItemTable, stretches: list[Ints], fit: Fit, settings: Settings
) -> dict[str, TypeFit]:
    keys = dict.fromkeys(key for rows in stretches for key in table.type_key[rows])
    return {
        key: fit.types[key] if key in fit.types
        else unfitted(fit.standards.get(key), fit.belief, settings)
        for key in keys
    }  # fmt: skip


def _passed(found: Findings, rows: FaultRows) -> bool:
    """Whether a coin that a fault would explain was passed as consistent."""
    likely = (rows.log_density > _HOPELESS).any(axis=1)
    return bool((found.finding[rows.at[likely]] == FindingKind.CONSISTENT).any())


def _stretches(found: Findings) -> list[Ints]:
    """Rows of neighbouring coins that are odd, a few others between them, where they are
    enough for a block or one far off was passed as consistent."""
    judged = np.flatnonzero(np.isfinite(found.z_weight))
    z = np.column_stack([found.z_weight, found.z_diameter, found.z_thickness])[judged]
    gross = (np.abs(np.nan_to_num(z)) >= _GROSS_Z).any(axis=1)
    passed = found.finding[judged] == FindingKind.CONSISTENT
    odd = np.flatnonzero(gross | ~passed)
    groups = np.split(odd, np.flatnonzero(np.diff(odd) > _GAP + 1) + 1) if len(odd) else []
    return [
        judged[group[0] : group[-1] + 1]
        for group in groups
        if len(group) >= _FEWEST or (gross & passed)[group].any()
    ]


def _settle(changed: Findings, rows: FaultRows, single: Alone, chance: Floats) -> None:
    """Write what follows from the chance of each state into ``changed``, in place."""
    shares = single.shares * chance[:, :1]
    for place, key in enumerate(_STATE_KEYS[1:], 1):
        shares[:, COLUMNS.index(key)] += chance[:, place]
    state = np.where(chance[:, 0] < 0.5, 1 + chance[:, 1:].argmax(axis=1), 0)
    for k, row in enumerate(rows.at):
        if shares[k, _SLIP_COLUMNS].sum() <= 0.5 or changed.finding[row] == FindingKind.NOT_JUDGED:
            continue
        if chance[k, 0] > 0.5 and changed.finding[row] == FindingKind.RE_MEASURE:
            continue
        key, reason = (
            _block_reason(rows, state, k) if state[k] else _single_reason(rows, single.slips[k], k)
        )
        changed.finding[row] = FindingKind.RE_MEASURE.value
        changed.reason_code[row], changed.reason[row] = key, reason
        changed.explanations[row] = ranked(shares[k], COLUMNS)
        changed.shares[row], changed.other_type[row] = shares[k], ""
        changed.next_test[row] = next_test("re_measure")


def _single_reason(rows: FaultRows, slip: SlipEvidence, k: int) -> tuple[str, str]:
    found = rows.typed[k, _QUANTITIES.index(slip.quantity)]
    return slip.key, _slip(slip.key, slip.quantity, found, slip.proposed)


def _slip(key: str, quantity: str, found: float, proposed: float) -> str:
    name = say(f"findings.explanation.{key}")
    return explain("slip", slip=name, quantity=quantity, found=f"{found:g}",
                   proposed=f"{proposed:.4g}")  # fmt: skip


def _block_reason(rows: FaultRows, state: Ints, k: int) -> tuple[str, str]:
    """The key and the sentence of the fault of row ``k``'s block, and how long that is."""
    edges = np.flatnonzero(np.diff(state, prepend=-1, append=-1))
    place = int(np.searchsorted(edges, k, side="right"))
    first, last = int(edges[place - 1]), int(edges[place])
    key = _STATE_KEYS[state[k]]
    if key == NOT_TARED:
        offset = float(np.median(rows.offset_g[first:last]))
        text = _slip(key, "weight", rows.typed[k, 0], rows.typed[k, 0] - offset)
    else:
        column = FAULTS[state[k] - 1].column
        text = _slip(key, _QUANTITIES[column], rows.typed[k, column],
                     rows.read[k, state[k] - 1, column])  # fmt: skip
    alone = last - first == 1
    return key, text if alone else text + say("findings.reason.in_a_row", rows=last - first)
