"""Coins that are alike beyond chance: one mould, one maker.

Around each coin the others are counted whose readings are the same within the error of
reading, and set against what chance makes there: the coins' own distribution, smoothed over
so wide a stretch that a handful of like coins no longer stands out, counted on the grid of
the readings (a balance of 0.01 g and calipers of 0.01 mm make many honest coins equal).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr
from scipy.stats import binom

from lotscreen.records import Bools, Floats, Ints, ItemTable

READINGS = ("weight", "diameter", "thickness")

SLACK = 3.0
"""The smoothed distribution may be too low where honest coins crowd, by this factor at most
(checked by simulation)."""

LEAST_ALIKE = 4
"""Fewer coins are no cluster (assumed)."""

_LEAST_COINS = 12
_LEAST_READINGS = 2  # by weight alone honest coins are alike everywhere
_SAME_MOULD = 0.004  # of the weight: so far apart are pieces of one mould (assumed)
_READING_SDS = 2.0 * np.sqrt(2.0)
_SMOOTHED_SDS = 8.0
_NEAR_CENTRE_SDS = 4.0
_MAD_TO_SD = 1.4826
_CELL_SD = 12.0**-0.5  # of a step
_LENGTH_STEP_MM = 0.01
_HALF = 0.5
_MOST_COINS = 1000  # more take room and say little more


@dataclass(frozen=True, slots=True)
class Alike:
    """The group of coins of one type that chance explains least. ``rows`` are theirs in the
    table given; ``readings`` those compared; ``by_chance`` the number of coins that such a
    place holds by chance, at most; ``rate`` how rare so many are, all coins being asked."""

    rows: Ints
    readings: tuple[str, ...]
    by_chance: float
    rate: float


def most_alike(table: ItemTable, asked: Bools, odd: Bools, seed: int) -> Alike | None:
    """The most striking group among the coins ``asked``, type by type; ``odd`` coins are kept
    where a large lot is thinned (with ``seed``). None where no type has coins enough."""
    keys = [str(key) for key in np.unique(table.type_key[asked].astype(str)) if key]
    found = [
        alike
        for number, key in enumerate(keys)
        if (alike := _of_type(table, asked & (table.type_key == key), odd, (seed, number)))
    ]
    if not found:
        return None
    rarest = min(found, key=lambda alike: alike.rate)
    return Alike(rarest.rows, rarest.readings, rarest.by_chance, min(rarest.rate * len(found), 1.0))


def _of_type(table: ItemTable, mine: Bools, odd: Bools, seed: tuple[int, int]) -> Alike | None:
    values = np.column_stack([table.weight_g, table.diameter_mm, table.thickness_mm])
    known = np.isfinite(values)
    used = (known & mine[:, None]).sum(axis=0) > _HALF * mine.sum()
    rows = np.flatnonzero(mine & known[:, used].all(axis=1))
    if not used[0] or used.sum() < _LEAST_READINGS or len(rows) < _LEAST_COINS:
        return None
    rows = _thinned(rows, odd, np.random.default_rng(seed))
    reach, smooth = (figure[used] for figure in likeness_scales(table, rows))
    near, chance = _near(_without_wear(values[rows][:, used], ~odd[rows]), reach, smooth)
    count = near.sum(axis=1)
    rate = binom.sf(count - 1, len(rows) - 1, np.minimum(chance, 1.0))
    rate = np.where(count + 1 >= LEAST_ALIKE, rate, 1.0)
    first = int(np.argmin(rate))
    group = np.sort(np.append(np.flatnonzero(near[first]), first))
    readings = tuple(name for name, use in zip(READINGS, used, strict=True) if use)
    by_chance = 1.0 + float(chance[first]) * (len(rows) - 1)
    return Alike(rows[group], readings, by_chance, min(float(rate[first]) * len(rows), 1.0))


def _thinned(rows: Ints, odd: Bools, rng: np.random.Generator) -> Ints:
    """The rows, or the odd ones and as many others at random as there is room for."""
    if len(rows) <= _MOST_COINS:
        return rows
    kept = [
        part if len(part) <= room else rng.choice(part, room, replace=False)
        for part, room in (
            (rows[odd[rows]], _MOST_COINS // 2),
            (rows[~odd[rows]], _MOST_COINS - min(int(odd[rows].sum()), _MOST_COINS // 2)),
        )
    ]
    return np.sort(np.concatenate(kept))


def likeness_scales(table: ItemTable, rows: Ints) -> tuple[Floats, Floats]:
    """How far apart coins that are alike may read, on the grid of the readings (half a step
    beyond a whole number of steps), and the width of the smoothing: weight, diameter,
    thickness."""
    steps = np.array([np.median(table.weight_step_g[rows]), _LENGTH_STEP_MM, _LENGTH_STEP_MM])
    own = [table.weight_u_g, table.diameter_u_mm, table.thickness_u_mm]
    errors = np.hypot([np.median(u[rows]) for u in own], _CELL_SD * steps)
    reach = _READING_SDS * errors
    reach[0] = max(reach[0], _SAME_MOULD * float(np.median(table.weight_g[rows])))
    return (np.floor(reach / steps + 1e-6) + _HALF) * steps, _SMOOTHED_SDS * reach / _READING_SDS


def _without_wear(values: Floats, plain: Bools) -> Floats:
    """Lengths less what goes with the weight (wear takes both), by the coins not odd: else
    worn coins, thin and light together, would seem alike where few coins are."""
    weight = values[plain, 0] - np.median(values[plain, 0]) if plain.any() else np.zeros(0)
    square = float(weight @ weight)
    if not square > 0.0:
        return values
    level = values.copy()
    for n in range(1, values.shape[1]):
        slope = float(weight @ (values[plain, n] - np.mean(values[plain, n]))) / square
        level[:, n] -= slope * values[:, 0]
    return level


def _near(values: Floats, reach: Floats, smooth: Floats) -> tuple[Bools, Floats]:
    """Which coins are alike (square, False on the diagonal), and for each coin the chance
    that another one is alike with it."""
    coins = len(values)
    near: Bools = ~np.eye(coins, dtype=np.bool_)
    chance: Floats = np.ones((coins, coins))
    many: Bools = np.ones(coins, dtype=np.bool_)
    for column, apart, width in zip(values.T, reach, smooth, strict=True):
        near &= np.abs(column[:, None] - column[None, :]) <= apart
        drawn_in, sd, inside = _drawn_in(column, float(width))
        many &= inside
        chance *= np.maximum(
            _mass(column, float(apart), column, np.full(coins, width)),
            _mass(column, float(apart), drawn_in, sd),
        )
    np.fill_diagonal(chance, 0.0)
    return near, chance @ np.where(many, SLACK, 1.0) / (coins - 1)


def _mass(at: Floats, apart: float, centre: Floats, sd: Floats) -> Floats:
    """Chance of a smoothed reading about each ``centre`` (columns) within ``apart`` of each
    reading (rows)."""
    above, below = ((at[:, None] + side - centre) / sd for side in (apart, -apart))
    return np.asarray(ndtr(above) - ndtr(below))


def _drawn_in(column: Floats, width: float) -> tuple[Floats, Floats, Bools]:
    """Centre and sd of the smoothing about each reading, and whether the reading is one of
    the many. These are drawn in about the middle, so that their spread stays what it is
    (Silverman, Density Estimation, 1986, section 6.4); far from it the smoothing is
    plain, for tails are no normal ones."""
    middle = float(np.median(column))
    spread = _MAD_TO_SD * float(np.median(np.abs(column - middle)))
    inside = np.abs(column - middle) <= _NEAR_CENTRE_SDS * spread
    shrink = np.where(inside, (1.0 + (width / max(spread, 1e-9)) ** 2) ** -0.5, 1.0)
    return middle + (column - middle) * shrink, width * shrink, inside
