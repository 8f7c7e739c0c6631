"""How the score of honest coins is distributed: by enumeration, without random draws.

Weight cells x diameter x thickness on a grid of nodes, each with its probability; a
node's score is the one a coin there would have. One table a class of dates (coins whose
date leads to expect like wear), a set of readings and an instrument.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np

from lotscreen.records import Floats, Ints
from lotscreen.wear import grid
from lotscreen.wear.components import Ranges
from lotscreen.wear.date_wear import DateWear, date_wear, mean_and_sd
from lotscreen.wear.joint import (
    Ground,
    WeightTerms,
    gauge_density,
    honest_length_sd,
    length_terms,
    weight_terms,
)
from lotscreen.wear.struck import Struck, tails_given_wear
from lotscreen.wear.type_fit import GaugeFit

# Coarser than the cells of the weight, whose edges the rates feel more.
_FAR_Z = np.array([4.4, 5.4, 6.6, 8.0])
_Z: Floats = np.concatenate([-_FAR_Z[::-1], np.arange(-3.6, 3.61, 0.6), _FAR_Z])
_Z_WIDTH: Floats = np.gradient(_Z)
_MOST_CELLS = 150
_LEAST_MASS = 1e-9
_FAR = 1e-7
_SCORE_STEP = 0.01
_LOWEST, _HIGH, _HIGHEST = -25.0, 60.0, 300.0
_EVEN: Floats = np.arange(_LOWEST, _HIGH - _SCORE_STEP / 2, _SCORE_STEP)
# Only coins worn unlike the others score higher than this: there steps of one will do.
_EDGES: Floats = np.concatenate([_EVEN, np.arange(_HIGH, _HIGHEST + 1.0)])


@dataclass(frozen=True, slots=True)
class Readings:
    """Which lengths were read beside the weight, and the balance."""

    diameter: bool
    thickness: bool
    u_g: float
    step_g: float


@dataclass(frozen=True, slots=True)
class NullTable:
    """``like[i]``: natural log of the rate of honest coins worn as expected that score
    ``_EDGES[i]`` or more (natural-log score); ``unlike`` the same of those worn unlike them,
    times their share."""

    like: Floats
    unlike: Floats

    def log_rate(self, score: Floats) -> Floats:
        """Natural log of the rate of honest coins that score as high. Of those worn as
        expected never above what Markov's inequality allows (their mean likelihood ratio is
        one); of the others no such thing is known.

        A step of the table more than the score says: coins that read alike, as many of one
        cell do, count as high as each other whichever side of an edge rounding puts them."""
        like, unlike = (
            np.interp(score - _SCORE_STEP, _EDGES, of) for of in (self.like, self.unlike)
        )
        like = np.where(score > 0, np.minimum(like, -score), like)
        return np.minimum(np.logaddexp(like, unlike), 0.0)


@dataclass(frozen=True, slots=True)
class _Nodes:
    """Weight nodes: bounds of one cell at each, the probability of the whole stretch that
    a node stands for and of its one cell at each wear (nodes x wear grid)."""

    low_g: Floats
    high_g: Floats
    whole: Floats
    one: Floats


def null_tables(
    ground: Ground, shares: Floats, classes: Floats, unlike: Floats, doubt: float,
    readings: Readings,
) -> list[NullTable]:  # fmt: skip
    """A table for each class of coins whose wear is a row of ``classes`` (classes x wear
    grid) before weighing; ``shares`` (K,) weigh the components as the score does. A share
    ``doubt`` of the coins has the wear of ``unlike`` (the same shape) instead, of which the
    score knows nothing."""
    nodes = _weight_nodes(ground.struck, classes, unlike if doubt > 0 else classes, readings)
    return [
        _null_table(ground, shares, wear, other, doubt, nodes, readings)
        for wear, other in zip(classes, unlike, strict=True)
    ]


def _null_table(
    ground: Ground, shares: Floats, wear: Floats, unlike: Floats, doubt: float, nodes: _Nodes,
    readings: Readings,
) -> NullTable:  # fmt: skip
    like_mass, unlike_mass = nodes.whole @ wear, nodes.whole @ unlike
    kept = (1 - doubt) * like_mass + doubt * unlike_mass > _LEAST_MASS
    low, high = nodes.low_g[kept], nodes.high_g[kept]
    joint = wear[None, :] * nodes.one[kept]
    cell = np.maximum(joint.sum(axis=1), 1e-290)
    mean, sd = mean_and_sd(joint)
    before = date_wear(wear[None, :])
    date = DateWear(*(np.full(len(cell), m[0]) for m in (before.mean, before.sd, before.skew)))
    u = np.full(len(cell), readings.u_g)
    weight = weight_terms(ground, low, high, u, date)
    ratio = shares[None, :] * weight.cell / cell[:, None]
    across, thick = (
        _over_honest(gauge, ranges, weight, mean, sd)
        if read and gauge.speaks
        else np.ones((len(cell), 1, len(shares)))
        for read, gauge, ranges in (
            (readings.diameter, ground.diameter, ground.box.diameter),
            (readings.thickness, ground.thickness, ground.box.thickness),
        )
    )
    total = (across * ratio[:, None, :]) @ np.swapaxes(thick, 1, 2)
    score = np.log(np.maximum(total, 1e-200))
    lengths = _share(across, ground.diameter)[:, None] * _share(thick, ground.thickness)[None, :]
    place = np.where(score < _HIGH, (score - _LOWEST) / _SCORE_STEP, len(_EVEN) + score - _HIGH)
    place = np.clip(place, 0, len(_EDGES) - 1).astype(np.int64)
    return NullTable(*(
        _log_tail(place, share * mass[kept, None, None] / mass[kept].sum() * lengths)
        for share, mass in ((1 - doubt, like_mass), (doubt, unlike_mass))
    ))  # fmt: skip


def _share(nodes: Floats, gauge: GaugeFit) -> Floats:
    if nodes.shape[1] == 1:
        return np.ones(1)
    share = _Z_WIDTH * gauge_density(_Z, gauge.tail_share)
    return np.asarray(share / share.sum())


def _weight_nodes(struck: Struck, classes: Floats, unlike: Floats, readings: Readings) -> _Nodes:
    """Nodes for all classes, from the most worn coins of ``unlike``, and whatever is lighter,
    to the heaviest new ones; beyond what ``classes`` lead to expect, each is a fifth wider
    than the last, as few coins are there."""
    step = readings.step_g
    beyond = 5.5 * float(np.hypot(2.5 * struck.sd_g, readings.u_g))
    bottom, lowest = (_most_worn_g(struck, of) - beyond for of in (classes, unlike))
    top: float = float(struck.mean_g(np.array(0.0))) + beyond
    width = step * max(1, ceil((top - bottom) / step / _MOST_CELLS))
    first = np.floor(bottom / step) * step - step / 2
    even = first + width * np.arange(ceil((top - first) / width) + 1)
    growing = first - np.cumsum(width * 1.2 ** np.arange(1, _MOST_CELLS))
    edges = np.concatenate([growing[growing > lowest][::-1], even])
    u = np.full(len(edges) - 1, readings.u_g)
    from_nothing = np.concatenate([[-np.inf], edges[1:-1]])
    whole = tails_given_wear(from_nothing, edges[1:], u, struck).cell
    middle = 0.5 * (edges[:-1] + edges[1:])
    low, high = middle - step / 2, middle + step / 2
    return _Nodes(low, high, whole, tails_given_wear(low, high, u, struck).cell)


def _most_worn_g(struck: Struck, classes: Floats) -> float:
    """Mean reading of the most worn of all but a few in ten million of each class."""
    at = int(np.searchsorted(np.cumsum(classes, axis=1).min(axis=0), 1 - _FAR))
    return float(struck.mean_g(grid.WEAR)[min(at, len(grid.WEAR) - 1)])


def _over_honest(
    gauge: GaugeFit, ranges: Ranges, weight: WeightTerms, wear: Floats, wear_sd: Floats
) -> Floats:
    """Cells x nodes x K: density of the lengths at the nodes of honest coins under each
    component, over that of honest coins of the wear that each cell shows."""
    sd = honest_length_sd(gauge, wear, wear_sd)[:, None]
    value = (gauge.reference_mm + gauge.slope_mm * wear)[:, None] + sd * _Z[None, :]
    density = gauge_density(_Z, gauge.tail_share)[None, :] / sd
    return np.asarray(length_terms(value, gauge, ranges, weight) / density[:, :, None])


def _log_tail(place: Ints, probability: Floats) -> Floats:
    mass = np.bincount(place.ravel(), probability.ravel(), len(_EDGES))
    tail = np.cumsum(mass[::-1])[::-1]
    return np.log(np.clip(tail, 1e-300, 1.0))
