"""What each fault of a block makes of the readings of a stretch of coins."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.evidence.block_faults import FAULTS, log_offset_rate
from lotscreen.evidence.mechanisms import MECHANISMS
from lotscreen.evidence.points import log_evidence, point_table
from lotscreen.evidence.readings import Departures, departures
from lotscreen.evidence.slips import SLIP_KEYS, SlipCoin, SlipEvidence, log_honest
from lotscreen.evidence.weigh import COLUMNS, weigh
from lotscreen.records import Findings, Floats, Ints, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import Fit, TypeFit
from lotscreen.wear.fit import unfitted
from lotscreen.wear.joint import gauge_density

_INTERVAL_SDS = 3.92  # a central 95 % interval in standard deviations
_FAR_WORN = 0.1  # share of coins worn much more than their date's
_SLIP_COLUMNS = [COLUMNS.index(key) for key in SLIP_KEYS]
_UNNAMED = next(m for m in MECHANISMS if m.key == "unnamed")


@dataclass(frozen=True, slots=True)
class StretchRows:
    """Coins of a stretch in the order of the sheet. ``at``: rows of the table; ``typed`` and
    each fault's ``read``: weight, diameter, thickness (n x 3, n x faults x 3); ``log_density``
    (n x states: no block, the faults, not tared) of the readings; ``log_next`` (n,) where a
    holder stays on the pan; ``offset_g`` (n,) above what is expected; ``shares`` and
    ``slips`` of the coins by themselves."""

    at: Ints
    typed: Floats
    read: Floats
    log_density: Floats
    log_next: Floats
    offset_g: Floats
    shares: Floats
    slips: list[SlipEvidence]


def stretch_rows(
    found: Findings, table: ItemTable, at: Ints, fit: Fit, settings: Settings
) -> StretchRows:
    """Evidence for the coins in rows ``at`` of ``table``, types as they come."""
    n = len(at)
    typed, read = np.full((n, 3), np.nan), np.full((n, len(FAULTS), 3), np.nan)
    log_density, log_lengths = np.full((n, len(FAULTS) + 2), -np.inf), np.full(n, -np.inf)
    shares = np.zeros((n, len(COLUMNS)))
    slips = [SlipEvidence(-690.0, "", "", np.nan)] * n
    for key in dict.fromkeys(table.type_key[at]):
        own = np.flatnonzero(table.type_key[at] == key)
        coins = table.rows(at[own])
        type_fit = fit.types.get(key) or unfitted(fit.standards.get(key), fit.belief, settings)
        there = departures(coins, type_fit, np.array([i in fit.items for i in coins.item_id]))
        weighed = weigh(coins, there, type_fit, fit, settings)
        shares[own] = _without_floor(weighed.shares, weighed.slips)
        log_density[own, 0] = _log_other(there, weighed.shares, weighed.slips, type_fit)
        for k, row in enumerate(own):
            coin = _coin(coins, k, there)
            typed[row] = coin.weight_g, coin.diameter_mm, coin.thickness_mm
            read[row] = [fault.read(typed[row][None, :])[0] for fault in FAULTS]
            log_density[row, 1:-1] = _log_faults(coin, type_fit, typed[row], read[row])
            log_lengths[row] = _log_lengths(coin, type_fit, found.expected_weight_g[at[row]])
            slips[row] = weighed.slips[k]
    offset = typed[:, 0] - found.expected_weight_g[at]
    spread = (found.expected_high_g[at] - found.expected_low_g[at]) / _INTERVAL_SDS
    log_step = np.log(table.weight_step_g[at])
    log_density[:, -1] = log_lengths + log_offset_rate(offset) + log_step
    log_next = log_lengths + _log_same_offset(offset, spread) + log_step
    return StretchRows(at, typed, read, log_density, log_next, offset, shares, slips)


def _without_floor(shares: Floats, slips: list[SlipEvidence]) -> Floats:
    """Shares in which a coin that no slip explains leaves none to them: where nothing
    explains it at all, each of their columns holds as little as any other."""
    kept = shares.copy()
    none = np.array([not slip.key for slip in slips])
    for column in _SLIP_COLUMNS:
        kept[none, column] = 0.0
    return np.asarray(kept / kept.sum(axis=1, keepdims=True))


def _coin(coins: ItemTable, k: int, there: Departures) -> SlipCoin:
    return SlipCoin(
        weight_g=float(coins.weight_g[k]),
        weight_step_g=float(coins.weight_step_g[k]),
        weight_u_g=float(coins.weight_u_g[k]),
        weighings=int(coins.weight_n[k]),
        diameter_mm=float(there.readings.diameter_mm[k]),
        diameter_u_mm=float(coins.diameter_u_mm[k]),
        excess_mm=float(there.readings.excess_mm[k]),
        thickness_mm=float(coins.thickness_mm[k]),
        year=float(coins.year[k]),
    )


def _log_other(
    there: Departures, shares: Floats, slips: list[SlipEvidence], type_fit: TypeFit
) -> Floats:
    """Natural log of the evidence of all explanations of single coins together, n: that of
    one of them over its share."""
    table = point_table([_UNNAMED.points(type_fit)])
    known = log_evidence(there.readings, type_fit, table, 1)[:, 0] + np.log(_UNNAMED.share)
    share = shares[:, COLUMNS.index("unnamed")].copy()
    for k, slip in enumerate(slips):
        if slip.key:
            known[k], share[k] = slip.log_evidence, shares[k, COLUMNS.index(slip.key)]
    return np.asarray(known - np.log(np.maximum(share, 1e-300)))


def _log_faults(coin: SlipCoin, type_fit: TypeFit, typed: Floats, read: Floats) -> Floats:
    """Natural log density of one coin's readings under each fault; none where the fault
    touches a column that was not filled in or alters nothing."""
    possible = (np.isfinite(read) == np.isfinite(typed)).all(axis=1)
    possible &= (read != typed)[:, np.isfinite(typed)].any(axis=1)
    return np.where(possible, log_honest(coin, type_fit, *read.T), -np.inf)


def _log_lengths(coin: SlipCoin, type_fit: TypeFit, expected_g: float) -> float:
    """Natural log density of the lengths of a coin that weighs what is expected."""
    lengths = (np.array([coin.diameter_mm]), np.array([coin.thickness_mm]))
    nothing = (np.array([np.nan]), np.array([np.nan]))
    weight = np.array([expected_g])
    both = log_honest(coin, type_fit, weight, *lengths)
    return float((both - log_honest(coin, type_fit, weight, *nothing))[0])


def _log_same_offset(offset_g: Floats, spread_g: Floats) -> Floats:
    """Natural log density per gram of an offset like the one before, n."""
    sd = np.hypot(spread_g, np.roll(spread_g, 1))
    z = (offset_g - np.roll(offset_g, 1)) / sd
    return np.asarray(np.log(gauge_density(z, _FAR_WORN) / sd))
