"""Coins that are alike across the lots of a parcel, closer than chance puts them.

One mould or one maker may have gone into several lots. (Within a lot the alarm on clusters
asks the same: :mod:`lotscreen.lot.alike`.) Chance is the fit's own density of readings,
honest coins and departing ones in their shares, in the box of what reads alike; so many
coins or more in it have a Poisson tail, and all boxes are asked.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import pdtrc

from lotscreen.lot.alike import LEAST_ALIKE, SLACK, likeness_scales
from lotscreen.lot.false_share import reading_densities
from lotscreen.records import FLAGGED, UNSETTLED, Bools, Findings, Floats, Ints, ItemTable, Texts
from lotscreen.wear import Fit, TypeFit
from lotscreen.wear.lengths import judged_diameter
from lotscreen.words import say

RARE = 0.01
"""Parcels of honest, unlike coins in which such a group is told, at most (assumed)."""

_MOST_CENTRES = 200
_MOST_YEARS = 12
_MOST_GROUPS = 5
_MOST_NAMED = 12


@dataclass(frozen=True, slots=True)
class LookAlikes:
    """One group: the sheet's numbers of its coins with their lots (paired), how many such a
    place holds by chance, how rare so many are with all coins asked, and the sentence."""

    type_key: str
    coin_ids: tuple[str, ...]
    lots: tuple[str, ...]
    by_chance: float
    rate: float
    said: str


def look_alikes(
    table: ItemTable, coin_id: Texts, findings: Findings, fit: Fit
) -> tuple[LookAlikes, ...]:
    """The groups that reach over two lots or more, rarest first; ``coin_id`` are the sheet's
    own numbers. Asked of coins read in weight, diameter and thickness."""
    across = judged_diameter(table)[0]
    read = np.isfinite(table.weight_g) & np.isfinite(across) & np.isfinite(table.thickness_mm)
    asked: Bools = read & ~np.isin(findings.finding, UNSETTLED)
    found: list[tuple[float, float, Ints]] = []
    for key, of_type in fit.types.items():
        rows = np.flatnonzero(asked & (table.type_key == key))
        if len(rows) >= LEAST_ALIKE and len(set(table.lot[rows])) > 1:
            odd = np.isin(findings.finding[rows], FLAGGED)
            found += [
                (rate, chance, rows[group])
                for rate, chance, group in _of_type(table.rows(rows), odd, of_type)
            ]
    named = [(rate * len(fit.types), chance, rows) for rate, chance, rows in found]
    kept = sorted((n for n in named if n[0] <= RARE), key=lambda n: n[0])[:_MOST_GROUPS]
    return tuple(_told(table, coin_id, rate, chance, rows, fit) for rate, chance, rows in kept)


def _of_type(coins: ItemTable, odd: Bools, fit: TypeFit) -> list[tuple[float, float, Ints]]:
    """Disjoint groups over several lots: rate, number by chance, rows; rarest first."""
    values = np.column_stack([coins.weight_g, judged_diameter(coins)[0], coins.thickness_mm])
    reach, _ = likeness_scales(coins, np.arange(len(coins)))
    centres = _centres(odd)
    near = (np.abs(values[centres, None, :] - values[None, :, :]) <= reach).all(axis=2)
    chance = _by_chance(coins, centres, reach, fit) * (len(coins) - 1)
    groups = []
    free = np.ones(len(coins), np.bool_)
    rate = len(coins) * pdtrc(np.maximum(near.sum(axis=1) - 2, 0), chance)
    for place in np.argsort(rate, kind="stable"):
        group = np.flatnonzero(near[place])
        new = free[group].all() and len(group) >= LEAST_ALIKE
        if new and rate[place] <= RARE and len(set(coins.lot[group])) > 1:
            free[group] = False
            groups.append((float(rate[place]), 1.0 + float(chance[place]), group))
    return groups


def _centres(odd: Bools) -> Ints:
    """The odd coins, and as many others as there is room for, evenly over the sheet."""
    first = np.flatnonzero(odd)[:_MOST_CENTRES]
    others = np.flatnonzero(~odd)
    room = min(_MOST_CENTRES - len(first), len(others))
    spread = others[np.linspace(0, len(others) - 1, room).astype(np.int64)] if room else others[:0]
    return np.concatenate([first, spread])


def _by_chance(coins: ItemTable, centres: Ints, reach: Floats, fit: TypeFit) -> Floats:
    """Chance of another coin to read alike with each centre, over the dates of the lots: the
    highest density at the centre and at both ends of its weights, times the box.
    Honest coins crowd more than the fit says (designs, rolls), by SLACK at most."""
    years = np.sort(np.nan_to_num(coins.year, nan=-1.0))
    some = years[np.linspace(0, len(years) - 1, min(_MOST_YEARS, len(years))).astype(np.int64)]
    at = coins.rows(np.repeat(centres, len(some)))
    known = np.tile(np.where(some < 0, np.nan, some), len(centres))
    heights = []
    for side in (-1.0, 0.0, 1.0):
        moved = {
            name: getattr(at, name) + side * reach[0]
            for name in ("weight_g", "weight_low_g", "weight_high_g")
        }
        honest, departing = reading_densities(replace(at, year=known, **moved), fit)
        heights.append((SLACK * honest + departing).reshape(len(centres), len(some)).mean(axis=1))
    cell = coins.weight_high_g[centres] - coins.weight_low_g[centres]
    box = 2 * reach[0] / cell * np.prod([
        2 * width if gauge.speaks else 1.0
        for width, gauge in zip(reach[1:], (fit.diameter, fit.thickness), strict=True)
    ])  # fmt: skip
    return np.asarray(np.minimum(np.max(heights, axis=0) * box, 1.0))


def _told(
    table: ItemTable, coin_id: Texts, rate: float, chance: float, rows: Ints, fit: Fit
) -> LookAlikes:
    key = str(table.type_key[rows[0]])
    lots = tuple(str(lot) for lot in table.lot[rows])
    ids = tuple(str(name) for name in coin_id[rows])
    named = "; ".join(
        say("lot_types.across.of_lot", lot=lot or say("lot_types.across.no_lot"), coins=", ".join(
            [i for i, own in zip(ids, lots, strict=True) if own == lot][:_MOST_NAMED]))
        for lot in dict.fromkeys(lots)
    )  # fmt: skip
    said = say(
        "lot_types.across.told", n=len(rows), name=fit.types[key].coin_type.name, named=named,
        lots=len(set(lots)), chance=chance, weight=float(np.mean(table.weight_g[rows])),
        diameter=float(np.nanmean(table.diameter_mm[rows])),
        thickness=float(np.nanmean(table.thickness_mm[rows])),
    )  # fmt: skip
    return LookAlikes(key, ids, lots, chance, min(rate, 1.0), said)
