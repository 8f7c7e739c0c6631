"""How the score of honest coins is distributed: by enumeration, without random draws.

Weight cells x diameter x thickness on a grid of nodes, each with its probability; a
node's score is the one a coin there would have. One table a class of dates (coins whose
date leads to expect like wear), a set of readings and an instrument.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np

from lotscreen.records import Floats
from lotscreen.wear import grid
from lotscreen.wear.date_wear import DateWear, date_wear, mean_and_sd
from lotscreen.wear.joint import (
    Ground,
    gauge_density,
    honest_length_sd,
    length_terms,
    weight_terms,
)
from lotscreen.wear.struck import Struck, tails_given_wear
from lotscreen.wear.type_fit import UNLIKE_LOG_SD, GaugeFit

# Coarser than the cells of the weight, whose edges the rates feel more.
_FAR_Z = np.array([4.4, 5.4, 6.6, 8.0])
_Z: Floats = np.concatenate([-_FAR_Z[::-1], np.arange(-3.6, 3.61, 0.6), _FAR_Z])
_Z_WIDTH: Floats = np.gradient(_Z)
_MOST_CELLS = 150
_LEAST_MASS = 1e-9
_FAR = 1e-7
_SCORE_STEP = 0.01
_LOWEST, _HIGHEST = -25.0, 60.0
_EDGES: Floats = np.arange(_LOWEST, _HIGHEST + _SCORE_STEP / 2, _SCORE_STEP)


@dataclass(frozen=True, slots=True)
class Readings:
    """Which lengths were read beside the weight, and the balance."""

    diameter: bool
    thickness: bool
    u_g: float
    step_g: float


@dataclass(frozen=True, slots=True)
class NullTable:
    """``log_tail[i]``: natural log of the rate of honest coins scoring ``_EDGES[i]`` or
    more (natural-log score)."""

    log_tail: Floats

    def log_rate(self, score: Floats) -> Floats:
        """Natural log of the rate of honest coins that score as high, never above what
        Markov's inequality allows (the mean likelihood ratio of honest coins is one).

        A step of the table more than the score says: coins that read alike, as many of one
        cell do, count as high as each other whichever side of an edge rounding puts them."""
        found = np.interp(score - _SCORE_STEP, _EDGES, self.log_tail)
        return np.where(score > 0, np.minimum(found, -score), found)


@dataclass(frozen=True, slots=True)
class _Nodes:
    """Weight nodes: bounds of one cell at each, the probability of the whole stretch that
    a node stands for and of its one cell at each wear (nodes x wear grid)."""

    low_g: Floats
    high_g: Floats
    whole: Floats
    one: Floats


def null_tables(
    ground: Ground, shares: Floats, classes: Floats, readings: Readings, doubt: float = 0.0
) -> list[NullTable]:
    """A table for each class of coins whose wear is a row of ``classes`` (classes x wear
    grid) before weighing; ``shares`` (K,) weigh the components as the score does. ``doubt``
    is the share of the coins whose wear may be spread by :data:`UNLIKE_LOG_SD` more than the
    score takes it to be."""
    wider = grid.partly_spread(classes, doubt, UNLIKE_LOG_SD)
    nodes = _weight_nodes(ground.struck, classes, readings)
    return [
        _null_table(ground, shares, wear, nodes, readings, spread)
        for wear, spread in zip(classes, wider, strict=True)
    ]


def _null_table(
    ground: Ground, shares: Floats, wear: Floats, nodes: _Nodes, readings: Readings,
    spread: Floats,
) -> NullTable:  # fmt: skip
    mass = nodes.whole @ spread
    kept = mass > _LEAST_MASS
    low, high, mass = nodes.low_g[kept], nodes.high_g[kept], mass[kept] / mass.sum()
    joint = wear[None, :] * nodes.one[kept]
    cell = np.maximum(joint.sum(axis=1), 1e-290)
    mean, sd = mean_and_sd(joint)
    before = date_wear(wear[None, :])
    date = DateWear(*(np.full(len(cell), m[0]) for m in (before.mean, before.sd, before.skew)))
    u = np.full(len(cell), readings.u_g)
    weight = weight_terms(ground, low, high, u, date)
    ratio = shares[None, :] * weight.cell / cell[:, None]
    across, thick = np.ones((len(cell), 1, len(shares))), np.ones((len(cell), 1, len(shares)))
    if readings.diameter and ground.diameter.speaks:
        value, density = _length_nodes(ground.diameter, mean, sd)
        across = (
            length_terms(value, ground.diameter, ground.box.diameter, weight) / density[:, :, None]
        )
    if readings.thickness and ground.thickness.speaks:
        value, density = _length_nodes(ground.thickness, mean, sd)
        thick = (
            length_terms(value, ground.thickness, ground.box.thickness, weight)
            / density[:, :, None]
        )
    total = (across * ratio[:, None, :]) @ np.swapaxes(thick, 1, 2)
    score = np.log(np.maximum(total, 1e-200))
    node = mass[:, None, None] * _share(across, ground.diameter)[None, :, None]
    node = node * _share(thick, ground.thickness)[None, None, :]
    return NullTable(_log_tail(score.ravel(), node.ravel()))


def _share(nodes: Floats, gauge: GaugeFit) -> Floats:
    if nodes.shape[1] == 1:
        return np.ones(1)
    share = _Z_WIDTH * gauge_density(_Z, gauge.tail_share)
    return np.asarray(share / share.sum())


def _weight_nodes(struck: Struck, classes: Floats, readings: Readings) -> _Nodes:
    """Nodes for all classes, from the most worn coins, and whatever is lighter, to the
    heaviest new ones."""
    step = readings.step_g
    spread = float(np.hypot(2.5 * struck.sd_g, readings.u_g))
    kept = int(np.searchsorted(np.cumsum(classes, axis=1).min(axis=0), 1 - _FAR))
    most_worn = float(struck.mean_g(grid.WEAR)[min(kept, len(grid.WEAR) - 1)])
    bottom = most_worn - 5.5 * spread
    top: float = float(struck.mean_g(np.array(0.0))) + 5.5 * spread
    width = step * max(1, ceil((top - bottom) / step / _MOST_CELLS))
    first = np.floor(bottom / step) * step - step / 2
    edges = first + width * np.arange(ceil((top - first) / width) + 1)
    u = np.full(len(edges) - 1, readings.u_g)
    from_nothing = np.concatenate([[-np.inf], edges[1:-1]])
    whole = tails_given_wear(from_nothing, edges[1:], u, struck).cell
    middle = 0.5 * (edges[:-1] + edges[1:])
    low, high = middle - step / 2, middle + step / 2
    return _Nodes(low, high, whole, tails_given_wear(low, high, u, struck).cell)


def _length_nodes(gauge: GaugeFit, wear: Floats, wear_sd: Floats) -> tuple[Floats, Floats]:
    """Lengths at the nodes of honest coins of each wear, and their density there."""
    sd = honest_length_sd(gauge, wear, wear_sd)[:, None]
    value = (gauge.reference_mm + gauge.slope_mm * wear)[:, None] + sd * _Z[None, :]
    return value, gauge_density(_Z, gauge.tail_share)[None, :] / sd


def _log_tail(score: Floats, probability: Floats) -> Floats:
    place = np.clip(((score - _LOWEST) / _SCORE_STEP).astype(np.int64), 0, len(_EDGES) - 1)
    mass = np.bincount(place, probability, len(_EDGES))
    tail = np.cumsum(mass[::-1])[::-1]
    return np.log(np.clip(tail, 1e-300, 1.0))
