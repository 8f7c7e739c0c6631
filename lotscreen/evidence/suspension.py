"""Coins weighed around a failed check weight."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

from lotscreen.evidence.wording import explain, next_test
from lotscreen.instruments import CheckReading
from lotscreen.records import FindingKind, Findings, ItemTable, Texts


def with_failed_checks(
    table: ItemTable, checks: Sequence[CheckReading], weighed_anew: Collection[str]
) -> ItemTable:
    """Mark as suspended the items weighed between the last good check and the next on the
    same balance.

    A check stated without a place in the order (order below 0) speaks of the whole
    sheet. The readings stay as they are; ``suspended`` only marks them. Items (ids)
    ``weighed_anew`` have only a weight that was read later: the checks of the sheet do not
    speak of it.
    """
    if all(c.passes for c in checks):
        return table
    suspended = table.suspended.copy()
    for check in checks:
        if check.passes:
            continue
        if check.order < 0:
            suspended[:] = True
            continue
        good = [
            c.order
            for c in checks
            if c.passes and c.order >= 0 and c.instrument == check.instrument
        ]
        before = max((o for o in good if o < check.order), default=-np.inf)
        after = min((o for o in good if o > check.order), default=np.inf)
        suspended |= check.speaks_of(table.balance) & (table.order > before) & (table.order < after)
    suspended &= ~np.isin(table.item_id, list(weighed_anew))
    return replace(table, suspended=suspended)


def without_error(table: ItemTable, checks: Sequence[CheckReading]) -> ItemTable:
    """The table as it would be had the balance read right: the suspended items' weights
    divided by what the failed check of their balance nearest in the order showed. For
    asking only."""
    failed = [c for c in checks if not c.passes]
    orders = np.array([c.order for c in failed])
    error = np.array([c.read_g / c.nominal_g for c in failed])
    others = ~np.column_stack([c.speaks_of(table.balance) for c in failed])
    away = np.abs(table.order[:, None] - orders[None, :])
    nearest = np.where(others, np.inf, away).argmin(axis=1)
    factor = np.where(table.suspended, error[nearest], 1.0)
    return replace(
        table,
        weight_g=table.weight_g / factor,
        weight_low_g=table.weight_low_g / factor,
        weight_high_g=table.weight_high_g / factor,
    )


def settle_suspended(found: Findings, corrected: Findings, table: ItemTable) -> Findings:
    """*Re-measure* where a failed check's error changes the finding of a suspended coin."""
    changed = table.suspended & (found.finding != corrected.finding)
    changed &= ~np.isin(found.finding, ["", FindingKind.NOT_JUDGED, FindingKind.RE_MEASURE])

    def put(column: Texts, value: str) -> Texts:
        return np.where(changed, value, column).astype(object)

    return replace(
        found,
        finding=put(found.finding, FindingKind.RE_MEASURE.value),
        reason_code=put(found.reason_code, "check_failed"),
        reason=put(found.reason, explain("check_failed")),
        next_test=put(found.next_test, next_test("check_weight")),
    )
