"""Each kind of coin as a sum of normal distributions: what the likelihood ratio adds up.

Nodes stand for the large chances (quadrature on wear and planchet, a low-discrepancy net
for castings and cuts); given a node the small chances act by their slopes.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from functools import lru_cache

import numpy as np
from scipy import stats
from scipy.stats import qmc

from lotscreen.records import Floats

from . import makers
from .lots import ALL_KINDS, SLICK_DEPTH_MM
from .makers import SMALL_SD, Body, Date, Small
from .more_kinds import CLIPPED_SHARE, chord_depth

ISSUE_SD_SHARE = 0.0002
_PLANCHET_SD_OF_REMEDY = 0.4
_PLANCHET_SD_SHARE_AT_MOST = 0.004
_CAST_SHRINKS, _CAST_THICK, _CAST_PORES = (0.01, 0.02), (0.98, 1.05), (0.0, 0.05)
_ALLOY_LIGHTER = (0.02, 0.05)
_WEAR_NODES, _MOST_WEAR = 64, 16.0
_ROOT_STEP = math.sqrt(_MOST_WEAR) / _WEAR_NODES
_PIECES = 4

Density = Callable[[Floats], Floats]
_HOARD, _HOARD_MEAN = 0.3, 0.08
_OTHERS_MEAN = (1.0 - _HOARD * _HOARD_MEAN) / (1.0 - _HOARD)
WEAR_DENSITY: dict[str, Density] = {
    "gamma": lambda u: stats.gamma.pdf(u, 2.0, scale=0.5),
    "lognormal": lambda u: stats.lognorm.pdf(u, 0.6, scale=math.exp(-0.18)),
    "weibull": lambda u: stats.weibull_min.pdf(u, 1.4, scale=1.0 / math.gamma(1.0 + 1.0 / 1.4)),
    "hoard and circulation": lambda u: (
        _HOARD * stats.gamma.pdf(u, 3.0, scale=_HOARD_MEAN / 3.0)
        + (1.0 - _HOARD) * stats.gamma.pdf(u, 3.0, scale=_OTHERS_MEAN / 3.0)
    ),
}


@dataclass(frozen=True, slots=True)
class Noise:
    """One standard deviation of each instrument, rounding of lengths included; the mean
    of the tilt, mm; the scale's error (share)."""

    weight_g: float
    length_mm: float
    tilt_mm: float
    scale: float


@dataclass(frozen=True, slots=True)
class Nodes:
    """A kind as a sum of normals over (weight, diameter, thickness): ``share`` of each
    node, the ``wear`` it stands for over its date's mean, ``mean`` (dates x nodes x 3),
    ``cov`` (dates x nodes x 3 x 3), and ``lost``: least and most share of the weight that is
    missing besides, uniform (None: nothing). After :meth:`at` shares, means and covariances
    are one date's."""

    share: Floats
    wear: Floats
    mean: Floats
    cov: Floats
    lost: tuple[float, float] | None = None

    def at(self, date: int, depth_mm: float) -> Nodes:
        """The nodes of one date, ``depth_mm`` its mean depth worn: coins worn slick are in no
        lot, and others stand in their place."""
        share = among_legible(self.share, self.wear, depth_mm)
        return Nodes(share, self.wear, self.mean[date], self.cov[date], self.lost)


@dataclass(frozen=True, slots=True)
class Truth:
    """What the ratio knows of a lot: levels by date (fields of ``dates`` of shape dates x
    1), the planchets' remedy (share of the standard), world and noise."""

    dates: Date
    remedy: float
    world: str
    noise: Noise


def _planchet_sd(remedy: float) -> float:
    return min(_PLANCHET_SD_OF_REMEDY * remedy, _PLANCHET_SD_SHARE_AT_MOST)


def among_legible(share: Floats, wear: Floats, depth_mm: float) -> Floats:
    """The ``share`` of nodes of each ``wear`` among coins not worn slick, in sum as before;
    of the node at the edge the part that lies within."""
    room = (math.sqrt(SLICK_DEPTH_MM / depth_mm) - np.sqrt(wear)) / _ROOT_STEP
    kept = share * np.clip(room + 0.5, 0.0, 1.0)
    return np.asarray(kept * (share.sum() / kept.sum()))


@lru_cache
def planchet_nodes(remedy: float, spacing: float) -> tuple[Floats, Floats]:
    """Deviations of planchets (share of the standard) about ``spacing`` apart and the share
    of each: normal up to the remedy, the pieces beyond it drawn anew near the middle."""
    sd = _planchet_sd(remedy)
    wide = math.hypot(sd, ISSUE_SD_SHARE)
    half = max(4, math.ceil(remedy / spacing))
    at = np.linspace(-remedy, remedy, 2 * half + 1)
    share = stats.norm.pdf(at, scale=wide)
    share[[0, -1]] /= 2.0
    inside = 1.0 - 2.0 * stats.norm.sf(remedy / wide)
    share *= inside / share.sum()
    again = np.clip((sd - np.abs(at)) / (at[1] - at[0]) + 0.5, 0.0, 1.0)
    return at, share + (1.0 - inside) * again / again.sum()


@lru_cache
def wear_nodes(world: str, nodes: int = _WEAR_NODES) -> tuple[Floats, Floats]:
    """Wear over its date's mean on a grid of even steps in the square root, and shares."""
    root = (np.arange(nodes) + 0.5) * math.sqrt(_MOST_WEAR) / nodes
    wear = root**2
    share = WEAR_DENSITY[world](wear) * root
    return wear, share / share.sum()


def _wear_quantile(world: str, level: Floats) -> Floats:
    wear, share = wear_nodes(world, 4000)
    return np.asarray(np.interp(level, np.cumsum(share) - 0.5 * share, wear))


def honest_nodes(truth: Truth) -> Nodes:
    """Honest coins by wear; the planchet is left to :func:`honest_density`."""
    wear, share = wear_nodes(truth.world)
    sd = replace(SMALL_SD, planchet=0.0)
    return _linear(
        lambda s: makers.honest(truth.dates, s, wear), wear, sd, truth.noise, None, share
    )


def _linear(
    make: Callable[[Small], Body], wear: Floats, sd: Small, noise: Noise,
    lost: tuple[float, float] | None = None, share: Floats | None = None,
) -> Nodes:  # fmt: skip
    """Nodes of ``make``, worn ``wear`` times their date's mean, whose small chances act by
    their slopes at the middle."""

    def readings(small: Small) -> Floats:
        body = make(small)
        weight = body.weight_g * (1.0 + noise.scale)
        shape = np.broadcast_shapes(weight.shape, body.rim_mm.shape)
        three = (weight, body.diameter_mm, body.rim_mm)
        return np.stack([np.broadcast_to(x, shape) for x in three], axis=-1)

    mean = readings(Small())
    cov = np.zeros((*mean.shape, 3))
    for name in (f.name for f in fields(Small)):
        step = getattr(sd, name)
        if step:
            up = readings(replace(Small(), **{name: step}))
            down = readings(replace(Small(), **{name: -step}))
            slope = 0.5 * (up - down)
            cov += slope[..., :, None] * slope[..., None, :]
    cov += np.diag([noise.weight_g, noise.length_mm, noise.length_mm]) ** 2
    even = np.full(mean.shape[1], 1.0 / mean.shape[1])
    return Nodes(even if share is None else share, wear, mean, cov, lost)


def kind_nodes(kind: str, truth: Truth) -> list[Nodes]:
    """A kind at every date as sums of normals; several where it has branches."""
    sd = replace(SMALL_SD, planchet=_planchet_spread(truth.remedy))
    dates, noise = truth.dates, truth.noise
    wear, share = wear_nodes(truth.world)
    what, _, how = kind.partition(", ")
    if how in ("right size", "right weight"):
        make = makers.same_size if how == "right size" else makers.same_weight
        worn = ALL_KINDS[kind].worn_share * wear
        return [_linear(lambda s: make(dates, s, wear, what), worn, sd, noise, None, share)]
    if kind == "light alloy":
        return [
            _linear(lambda s: makers.honest(dates, s, wear), wear, sd, noise, _ALLOY_LIGHTER, share)
        ]
    if kind == "cast":
        return [_cast_nodes(truth, sd)]
    if kind == "clipped by weight":
        return [_met_cut(truth, sd), *_missed_cut(truth, sd)]
    raise ValueError(f"kind is {kind!r}; the likelihood ratio knows only the six of the benchmark")


@lru_cache
def _planchet_spread(remedy: float) -> float:
    """Standard deviation of planchets, the mixture of :func:`planchet_nodes`."""
    at, share = planchet_nodes(remedy, remedy / 100.0)
    return math.sqrt(float(share @ at**2))


@lru_cache
def _net(dimensions: int, log2_nodes: int) -> Floats:
    return np.asarray(qmc.Sobol(dimensions, rng=1).random_base2(log2_nodes))


def _between(bounds: tuple[float, float], level: Floats) -> Floats:
    return bounds[0] + (bounds[1] - bounds[0]) * level


def _cast_nodes(truth: Truth, sd: Small) -> Nodes:
    net = _net(3, 8)
    wear = _wear_quantile(truth.world, net[:, 0])
    shrink, thick = 1.0 - _between(_CAST_SHRINKS, net[:, 1]), _between(_CAST_THICK, net[:, 2])
    return _linear(
        lambda s: makers.cast(truth.dates, s, wear, shrink, thick), wear, sd, truth.noise,
        _CAST_PORES,
    )  # fmt: skip


def _met_cut(truth: Truth, sd: Small) -> Nodes:
    """Clipped, and the caliper met the cut: the oftener, the larger it is."""
    net = _net(3, 9)
    lost = _between(CLIPPED_SHARE, net[:, 1])
    depth = chord_depth(lost) / 2.0
    half_angle = np.arccos(1.0 - 2.0 * depth)
    across = np.minimum(0.5 + (0.5 - depth) / np.cos(half_angle * net[:, 2]), 1.0)
    wear = _wear_quantile(truth.world, net[:, 0])
    met = _linear(
        lambda s: makers.clipped(truth.dates, s, wear, lost, across), wear, sd, truth.noise
    )
    return replace(met, share=met.share * half_angle / (math.pi / 2.0))


def _missed_cut(truth: Truth, sd: Small) -> list[Nodes]:
    """Clipped, and the caliper lay across the whole diameter: in pieces of the size of the
    cut, because a large cut is missed less often."""
    wear, share = wear_nodes(truth.world)
    bounds = np.linspace(*CLIPPED_SHARE, _PIECES + 1)
    middle = 0.5 * (bounds[:-1] + bounds[1:])
    missed = 1.0 - np.arccos(1.0 - chord_depth(middle)) / (math.pi / 2.0)
    whole = _linear(
        lambda s: makers.honest(truth.dates, s, wear), wear, sd, truth.noise, None, share
    )
    return [
        replace(whole, share=share * chance / _PIECES, lost=(float(least), float(most)))
        for least, most, chance in zip(bounds[:-1], bounds[1:], missed, strict=True)
    ]
