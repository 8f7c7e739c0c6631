"""The statement on one lot, put together from its coins, groups, checks and types."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from lotscreen.instruments import CheckReading
from lotscreen.lot.alarms import LotCoins, lot_alarms
from lotscreen.lot.budget import EACH
from lotscreen.lot.groups import group_statements
from lotscreen.lot.shares import expected_honest, q_values
from lotscreen.lot.statement import CheckStatement, LotAlarm, LotStatement, OtherType, TypeStatement
from lotscreen.lot.types import rarity, type_statement
from lotscreen.lot.worked import WorkedCoin, worked_lines
from lotscreen.quantities import TROY_OUNCE_G
from lotscreen.records import (
    FLAGGED,
    Bools,
    FindingKind,
    Findings,
    Floats,
    Ints,
    ItemKind,
    ItemTable,
    Texts,
)
from lotscreen.settings import Settings
from lotscreen.wear import Fit
from lotscreen.words import say

_MANY_SHARE = 0.15


@dataclass(frozen=True, slots=True)
class LotRows:
    """What belongs to one lot: ``rows`` marks its items in ``table`` and ``findings``;
    ``coin_id`` the sheet's own numbers of all items; counts of rows read, left out and
    doubts; ``worked`` the coin to work by hand (None: none has a weight)."""

    lot: str
    table: ItemTable
    findings: Findings
    coin_id: Texts
    rows: Bools
    rows_read: int
    left_out: int
    doubts: int
    checks: Sequence[CheckReading]
    worked: WorkedCoin | None


def lot_statement(lot: LotRows, fit: Fit, settings: Settings) -> LotStatement:
    """Everything said of one lot."""
    table, findings = lot.table, lot.findings
    coins = lot.rows & (table.kind == ItemKind.COIN)
    grouped = lot.rows & np.isin(table.kind, [ItemKind.GROUP, ItemKind.BAG])
    counts = {k.value: int(np.count_nonzero(findings.finding[coins] == k)) for k in FindingKind}
    flagged = np.isin(findings.finding, FLAGGED) & coins
    types = _types(lot, coins, fit, settings)
    checks = _checks(lot.checks)
    groups = group_statements(table.rows(grouped), [str(c) for c in lot.coin_id[grouped]], fit,
                              settings)  # fmt: skip
    worked = lot.worked
    alarms = lot_alarms(_in_order(lot, coins), types, fit, settings)
    return LotStatement(
        lot=lot.lot,
        rows_read=lot.rows_read,
        coins=int(coins.sum()),
        groups=int(grouped.sum()),
        check_rows=int(np.count_nonzero(lot.rows & (table.kind == ItemKind.CHECK))),
        reference_rows=int(np.count_nonzero(lot.rows & (table.kind == ItemKind.REFERENCE))),
        left_out=lot.left_out,
        doubts=lot.doubts,
        counts=counts,
        expected_honest_set_aside=expected_honest(findings.log10_lr[coins], flagged[coins]),
        types=types,
        other_types=_other_types(lot, coins, fit),
        checks=checks,
        group_statements=groups,
        fine_ounces=_fine_ounces(lot, coins, fit),
        alerts=_alerts(counts, types, checks, alarms, settings),
        cannot_see=_cannot_see(types, fit),
        worked_coin_id="" if worked is None else str(lot.coin_id[worked.row]),
        worked=() if worked is None else worked_lines(
            worked, table, findings, fit.types[str(table.type_key[worked.row])], settings
        ),
        alarms=alarms,
        largest_q_value=_largest_q(findings.p_value[coins], flagged[coins]),
    )  # fmt: skip


def _largest_q(p_value: Floats, flagged: Bools) -> float | None:
    q_value = q_values(p_value)[flagged]
    return float(np.nanmax(q_value)) if np.isfinite(q_value).any() else None


def _in_order(lot: LotRows, coins: Bools) -> LotCoins:
    """The coins of the lot in measuring order."""
    rows = np.flatnonzero(coins)
    rows = rows[np.argsort(lot.table.order[rows], kind="stable")]
    return LotCoins(lot.table.rows(rows), rows_of(lot.findings, rows), lot.coin_id[rows])


def fitted_rows(table: ItemTable, coins: Bools, fit: Fit) -> Mapping[str, Bools]:
    """Rows with a weight by type, the type with most coins first."""
    usable = coins & (table.weight_n > 0)
    keys, counts = np.unique(table.type_key[usable].astype(str), return_counts=True)
    order = sorted(zip(-counts, keys, strict=True))
    return {str(k): usable & (table.type_key == k) for _, k in order if k in fit.types}


def _types(lot: LotRows, coins: Bools, fit: Fit, settings: Settings) -> tuple[TypeStatement, ...]:
    table = lot.table
    pieces = table.kind == ItemKind.REFERENCE
    return tuple(
        type_statement(
            table.rows(rows), rows_of(lot.findings, rows), fit.types[key], settings,
            table.rows(pieces & (table.type_key == key)),
        )
        for key, rows in fitted_rows(table, coins, fit).items()
    )  # fmt: skip


def rows_of(findings: Findings, rows: Bools | Ints) -> Findings:
    """The findings at ``rows``."""
    columns = {
        f.name: getattr(findings, f.name)[rows]
        for f in fields(findings)
        if isinstance(getattr(findings, f.name), np.ndarray)
    }
    return replace(findings, **columns)


def _checks(checks: Sequence[CheckReading]) -> tuple[CheckStatement, ...]:
    return tuple(
        CheckStatement(c.item_id, c.order, c.nominal_g, c.read_g, c.tolerance_g, c.passes)
        for c in checks
    )


def _other_types(lot: LotRows, coins: Bools, fit: Fit) -> tuple[OtherType, ...]:
    found: dict[tuple[str, str], list[str]] = {}
    for i in np.flatnonzero(coins & (lot.findings.other_type != "")):
        pair = (str(lot.table.type_key[i]), str(lot.findings.other_type[i]))
        found.setdefault(pair, []).append(str(lot.coin_id[i]))
    return tuple(
        OtherType(declared, other, fit.standards.get(other).name, tuple(ids))
        for (declared, other), ids in sorted(found.items())
    )


def _fine_ounces(lot: LotRows, coins: Bools, fit: Fit) -> dict[str, float]:
    """Fine metal of the coins found consistent, troy ounces by metal."""
    kept = coins & (lot.findings.finding == FindingKind.CONSISTENT)
    total: dict[str, float] = {}
    for key, rows in fitted_rows(lot.table, kept, fit).items():
        coin_type = fit.types[key].coin_type
        if coin_type.fineness is not None and coin_type.fine_metal is not None:
            fine = float(lot.table.weight_g[rows].sum()) * coin_type.fineness / TROY_OUNCE_G
            total[coin_type.fine_metal] = total.get(coin_type.fine_metal, 0.0) + fine
    return total


def _alerts(
    counts: Mapping[str, int], types: Sequence[TypeStatement],
    checks: Sequence[CheckStatement], alarms: Sequence[LotAlarm], settings: Settings,
) -> tuple[str, ...]:  # fmt: skip
    alerts = []
    failed = [c for c in checks if not c.passes]
    if failed:
        alerts.append(say("lot.alert.check_failed", failed=len(failed), checks=len(checks),
                          tolerance=failed[0].tolerance_g))  # fmt: skip
    rings = {alarm.name for alarm in alarms if alarm.alarmed}
    for stated in types:
        if stated.notes and stated.shift_p * len(types) <= EACH:
            off = say("lot.note.off", rare=rarity(stated.shift_p))
            alerts.append(say("lot.alert.off", name=stated.type_name, note=off))
    said = {alarm.name: alarm.said for alarm in alarms}
    if "order" in rings:
        alerts.append(say("lot.alert.order", note=said["order"]))
    alerts += [said[name] for name in ("clusters", "mixed_wear") if name in rings]
    flagged = counts[FindingKind.SET_ASIDE] + counts[FindingKind.NOT_CONSISTENT]
    judged = sum(counts.values()) - counts[FindingKind.NOT_JUDGED]
    if judged and flagged / judged > _MANY_SHARE:
        alerts.append(say("lot.alert.many", share=100 * flagged / judged))
    if not checks:
        alerts.append(say("lot.alert.no_check", width=100 * settings.scale_width))
    return tuple(alerts)


def _cannot_see(types: Sequence[TypeStatement], fit: Fit) -> tuple[str, ...]:
    metals = {fit.types[t.type_key].coin_type.fine_metal for t in types}
    keys = ["struck", *(m for m in ("silver", "gold") if m in metals), "sweated", "date", "plugged"]
    return tuple(say(f"lot.cannot_see.{key}") for key in keys)


def largest_departure(table: ItemTable, findings: Findings, rows: Bools) -> int | None:
    """Row of the coin to work by hand: the most departing one that was set aside or not
    consistent, else the first coin judged; None where no coin has a score."""
    judged = np.flatnonzero(rows & np.isfinite(findings.score) & (table.type_key != ""))
    if not len(judged):
        return None
    flagged = [i for i in judged if findings.finding[i] in FLAGGED]
    if flagged:
        return int(max(flagged, key=lambda i: findings.score[i]))
    return int(judged[0])
