"""What each fault of a block makes of the readings of a stretch of coins, and what the coins
are by themselves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from lotscreen.evidence.block_faults import FAULTS, log_offset_rate
from lotscreen.evidence.mechanisms import MECHANISMS
from lotscreen.evidence.points import log_evidence, point_table
from lotscreen.evidence.readings import Departures, departures
from lotscreen.evidence.slips import SLIP_KEYS, SlipCoin, SlipEvidence, log_honest, slip_coins
from lotscreen.evidence.weigh import COLUMNS, weigh
from lotscreen.records import Findings, Floats, Ints, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import Fit, TypeFit
from lotscreen.wear.joint import gauge_density
from lotscreen.wear.lengths import judged_diameter
from lotscreen.wear.standing import Standing, standings

_INTERVAL_SDS = 3.92  # a central 95 % interval in standard deviations
_FAR_WORN = 0.1  # share of coins worn much more than their date's
_SLIP_COLUMNS = [COLUMNS.index(key) for key in SLIP_KEYS]
_UNNAMED = next(m for m in MECHANISMS if m.key == "unnamed")


@dataclass(frozen=True, slots=True)
class FaultRows:
    """Coins of a stretch in the order of the sheet. ``at``: rows of the table; ``typed`` and
    each fault's ``read``: weight, diameter, thickness (n x 3, n x faults x 3); ``log_density``
    (n x states: the faults, not tared) of the readings; ``log_next`` (n,) where a holder stays
    on the pan; ``offset_g`` (n,) above what is expected."""

    at: Ints
    typed: Floats
    read: Floats
    log_density: Floats
    log_next: Floats
    offset_g: Floats


@dataclass(frozen=True, slots=True)
class Alone:
    """The same coins by themselves: ``shares`` of the evidence (n x COLUMNS), the likeliest
    slip of each, and the natural log of all evidence together (n,)."""

    shares: Floats
    slips: list[SlipEvidence]
    log_density: Floats


def fault_rows(
    found: Findings, table: ItemTable, at: Ints, types: Mapping[str, TypeFit]
) -> FaultRows:
    """The coins in rows ``at`` of ``table`` under each fault; ``types`` has theirs."""
    coins = table.rows(at)
    expected = found.expected_weight_g[at]
    diameter, excess = judged_diameter(coins)
    typed = np.column_stack([coins.weight_g, diameter, coins.thickness_mm])
    read = np.stack([fault.read(typed) for fault in FAULTS], axis=1)
    log_density = np.full((len(at), len(FAULTS) + 1), -np.inf)
    log_lengths = np.empty(len(at))
    single = slip_coins(coins, diameter, excess, _placed(coins, types))
    for k, (coin, key) in enumerate(zip(single, coins.type_key, strict=True)):
        log_density[k, :-1] = _log_faults(coin, types[key], typed[k], read[k])
        log_lengths[k] = _log_lengths(coin, types[key], expected[k])
    offset = coins.weight_g - expected
    spread = (found.expected_high_g[at] - found.expected_low_g[at]) / _INTERVAL_SDS
    log_lengths += np.log(coins.weight_step_g)
    log_density[:, -1] = log_lengths + log_offset_rate(offset)
    log_next = log_lengths + _log_same_offset(offset, spread)
    return FaultRows(at, typed, read, log_density, log_next, offset)


def alone(
    table: ItemTable, at: Ints, types: Mapping[str, TypeFit], fit: Fit, settings: Settings
) -> Alone:
    """The coins in rows ``at`` of ``table`` weighed each by itself, types as they come."""
    shares, log_density = np.zeros((len(at), len(COLUMNS))), np.empty(len(at))
    slips = [SlipEvidence(-690.0, "", "", np.nan)] * len(at)
    for key in dict.fromkeys(table.type_key[at]):
        own = np.flatnonzero(table.type_key[at] == key)
        coins = table.rows(at[own])
        there = departures(coins, types[key], np.array([i in fit.items for i in coins.item_id]))
        weighed = weigh(coins, there, types[key], fit, settings)
        shares[own] = _without_floor(weighed.shares, weighed.slips)
        log_density[own] = _log_all(there, weighed.shares, weighed.slips, types[key])
        for row, slip in zip(own, weighed.slips, strict=True):
            slips[row] = slip
    return Alone(shares, slips, log_density)


def _placed(coins: ItemTable, types: Mapping[str, TypeFit]) -> list[Standing]:
    """Where each coin stands in its type."""
    placed: dict[int, Standing] = {}
    for key in dict.fromkeys(coins.type_key):
        own = np.flatnonzero(coins.type_key == key)
        placed |= zip(own.tolist(), standings(coins.rows(own), types[key]), strict=True)
    return [placed[k] for k in range(len(coins))]


def _without_floor(shares: Floats, slips: list[SlipEvidence]) -> Floats:
    """Shares in which a coin that no slip explains leaves none to them: where nothing
    explains it at all, each of their columns holds as little as any other."""
    kept = shares.copy()
    none = np.array([not slip.key for slip in slips])
    for column in _SLIP_COLUMNS:
        kept[none, column] = 0.0
    return np.asarray(kept / kept.sum(axis=1, keepdims=True))


def _log_all(
    there: Departures, shares: Floats, slips: list[SlipEvidence], type_fit: TypeFit
) -> Floats:
    """Natural log of the evidence of all explanations of single coins together, n: that of
    one of them over its share."""
    table = point_table([_UNNAMED.points(type_fit)])
    known = log_evidence(there.readings, type_fit, table, 1)[:, 0] + np.log(_UNNAMED.share)
    share = shares[:, COLUMNS.index(_UNNAMED.key)].copy()
    for k, slip in enumerate(slips):
        if slip.key:
            known[k], share[k] = slip.log_evidence, shares[k, COLUMNS.index(slip.key)]
    return np.asarray(known - np.log(np.maximum(share, 1e-300)))


def _log_faults(coin: SlipCoin, type_fit: TypeFit, typed: Floats, read: Floats) -> Floats:
    """Natural log density of one coin's readings under each fault; none where the fault
    touches a column that was not filled in or alters nothing."""
    possible = (np.isfinite(read) == np.isfinite(typed)).all(axis=1)
    possible &= (read != typed)[:, np.isfinite(typed)].any(axis=1)
    return np.where(
        possible, log_honest([coin], np.zeros(len(read), np.int64), type_fit, *read.T), -np.inf
    )


def _log_lengths(coin: SlipCoin, type_fit: TypeFit, expected_g: float) -> float:
    """Natural log density of the lengths of a coin that weighs what is expected."""
    weight = np.full(2, expected_g)
    diameter, thickness = np.array([[coin.diameter_mm, np.nan], [coin.thickness_mm, np.nan]])
    one = np.zeros(2, np.int64)
    both, weight_alone = log_honest([coin], one, type_fit, weight, diameter, thickness)
    return float(both - weight_alone)


def _log_same_offset(offset_g: Floats, spread_g: Floats) -> Floats:
    """Natural log density per gram of an offset like the one before, n."""
    sd = np.hypot(spread_g, np.roll(spread_g, 1))
    z = (offset_g - np.roll(offset_g, 1)) / sd
    return np.asarray(np.log(gauge_density(z, _FAR_WORN) / sd))
