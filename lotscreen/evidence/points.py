"""Points: what a mechanism predicts of a coin's readings, and how well they agree.

Every mechanism is a handful of points. A point says by what factors weight, diameter and
thickness of an honest coin of that date would be changed, and how loosely. The evidence
for a mechanism is the average of its points' densities, each averaged over the wear
that the coin may have had.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from lotscreen.records import Floats, Ints
from lotscreen.wear import GaugeFit, TypeFit
from lotscreen.wear.joint import gauge_density
from lotscreen.wear.struck import VARIANCE_FACTOR

_WEAR_POINT_SHARE = np.array([0.14, 0.24, 0.24, 0.24, 0.14])
_OUT_OF_ROUND_MM, _OUT_OF_ROUND_TAIL = 0.03, 0.05
_CHUNK = 4000


@dataclass(frozen=True, slots=True)
class Point:
    """One way a coin may depart. ``weight``, ``diameter`` and ``thickness`` are factors
    on what an honest coin of equal wear would read; ``more_wear`` further share of weight
    lost by wear; ``*_sd`` looseness (share of the standard weight; mm); ``out_of_round_mm``
    what the smallest diameter falls short of the largest; ``prior`` its share."""

    weight: float = 1.0
    diameter: float = 1.0
    thickness: float = 1.0
    more_wear: float = 0.0
    weight_sd: float = 0.0
    diameter_sd_mm: float = 0.0
    thickness_sd_mm: float = 0.0
    out_of_round_mm: float = 0.0
    prior: float = 1.0


@dataclass(frozen=True, slots=True)
class PointTable:
    """The points of all mechanisms as arrays; ``mechanism`` indexes their register and
    ``log_prior`` is the natural log of the point's share within its mechanism; ``starts``
    and ``sizes`` say where each mechanism's points begin and how many they are."""

    mechanism: Ints
    log_prior: Floats
    weight: Floats
    diameter: Floats
    thickness: Floats
    more_wear: Floats
    weight_sd: Floats
    diameter_sd_mm: Floats
    thickness_sd_mm: Floats
    out_of_round_mm: Floats
    starts: Ints
    sizes: Ints


def point_table(points: list[list[Point]]) -> PointTable:
    """Flatten the points of each mechanism, shares scaled to one a mechanism."""
    index, flat, prior = [], [], []
    for m, group in enumerate(points):
        total = sum(p.prior for p in group)
        for p in group:
            index.append(m)
            flat.append(p)
            prior.append(np.log(p.prior / total))

    def column(name: str) -> Floats:
        return np.array([getattr(p, name) for p in flat], dtype=np.float64)

    mechanism = np.array(index, dtype=np.int64)
    starts = np.flatnonzero(np.diff(mechanism, prepend=-1))
    return PointTable(
        mechanism, np.array(prior), column("weight"), column("diameter"),
        column("thickness"), column("more_wear"), column("weight_sd"), column("diameter_sd_mm"),
        column("thickness_sd_mm"), column("out_of_round_mm"), starts,
        np.diff(np.append(starts, len(mechanism))),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class CoinReadings:
    """Readings of n coins of one type, arrays (n,): cell of the weight, diameter to judge
    (the smallest where two were taken), its excess (largest - smallest, NaN where not
    taken), thickness; NaN where not read. ``wear_points`` is n x 5."""

    low_g: Floats
    high_g: Floats
    u_g: Floats
    diameter_mm: Floats
    diameter_u_mm: Floats
    excess_mm: Floats
    thickness_mm: Floats
    wear_points: Floats

    def rows(self, index: slice | Ints) -> CoinReadings:
        """The coins at ``index``."""
        return CoinReadings(*(getattr(self, name)[index] for name in self.__slots__))


def log_evidence(coins: CoinReadings, fit: TypeFit, table: PointTable, mechanisms: int) -> Floats:
    """Natural log of the density of the readings under each mechanism, n x mechanisms."""
    parts = [
        _chunk(coins.rows(slice(start, start + _CHUNK)), fit, table, mechanisms)
        for start in range(0, len(coins.low_g), _CHUNK)
    ]
    return np.concatenate(parts) if parts else np.empty((0, mechanisms))


def _chunk(coins: CoinReadings, fit: TypeFit, table: PointTable, mechanisms: int) -> Floats:
    wear = coins.wear_points[:, None, :]
    worn = np.minimum(wear + table.more_wear[None, :, None], 0.95)
    struck = fit.struck
    mean = struck.mean_g(worn) * table.weight[None, :, None]
    variance = VARIANCE_FACTOR * struck.sd_g**2 + np.square(coins.u_g)[:, None]
    sd = np.sqrt(variance + np.square(table.weight_sd * struck.weight_g)[None, :])[:, :, None]
    density = _cell(coins.low_g[:, None, None], coins.high_g[:, None, None], mean, sd)
    gauges = _gauge(coins.diameter_mm, fit.diameter, worn,
                    table.diameter, table.diameter_sd_mm)  # fmt: skip
    gauges = gauges * _gauge(coins.thickness_mm, fit.thickness, worn,
                             table.thickness, table.thickness_sd_mm)  # fmt: skip
    by_point = (density * gauges) @ _WEAR_POINT_SHARE * _round(coins, table)
    log_point = np.log(np.maximum(by_point, 1e-300)) + table.log_prior[None, :]
    return _log_sum_by(log_point, table, mechanisms)


def _cell(low_g: Floats, high_g: Floats, mean_g: Floats, sd_g: Floats) -> Floats:
    """Probability of a cell of a normal, accurate in both tails; broadcast. The points are
    loose by themselves: the struck weight's heavier tail would add nothing."""
    far, near = (low_g - mean_g) / sd_g, (high_g - mean_g) / sd_g
    above = far > 0
    return ndtr(np.where(above, -far, near)) - ndtr(np.where(above, -near, far))


def _gauge(value: Floats, gauge: GaugeFit, worn: Floats, factor: Floats, sd_mm: Floats) -> Floats:
    """Density of one length, 1 where it was not read or has no reference."""
    has = np.isfinite(value)
    if not gauge.speaks or not has.any():
        return np.ones((1, 1, 1))
    mean = (gauge.reference_mm + gauge.slope_mm * worn) * factor[None, :, None]
    sd = np.sqrt(gauge.sd_mm**2 + gauge.u_reference_mm**2 + np.square(sd_mm))[None, :, None]
    z = (np.where(has, value, 0.0)[:, None, None] - mean) / sd
    return np.where(has[:, None, None], gauge_density(z, gauge.tail_share) / sd, 1.0)


def _round(coins: CoinReadings, table: PointTable) -> Floats:
    """Density of the largest less the smallest diameter, 1 where not taken."""
    has = np.isfinite(coins.excess_mm)
    if not has.any():
        return np.ones((1, 1))
    expected = table.out_of_round_mm[None, :]
    return np.exp(log_excess(coins.excess_mm[:, None], coins.diameter_u_mm[:, None], expected))


def log_excess(excess_mm: Floats, u_mm: Floats, expected_mm: Floats | float = 0.0) -> Floats:
    """Natural log density of largest less smallest diameter, 0 where not taken (NaN)."""
    has = np.isfinite(excess_mm)
    if not has.any():
        return np.zeros(np.broadcast_shapes(excess_mm.shape, np.shape(expected_mm)))
    known = np.where(has, np.square(u_mm), 0.0)
    sd = np.sqrt(2 * known + _OUT_OF_ROUND_MM**2 + np.square(0.3 * np.asarray(expected_mm)))
    z = (np.where(has, excess_mm, 0.0) - expected_mm) / sd
    return np.where(has, np.log(gauge_density(z, _OUT_OF_ROUND_TAIL) / sd), 0.0)


def _log_sum_by(log_point: Floats, table: PointTable, mechanisms: int) -> Floats:
    result = np.full((len(log_point), mechanisms), -690.0)
    starts = table.starts
    top = np.maximum.reduceat(log_point, starts, axis=1)
    spread = np.repeat(top, table.sizes, axis=1)
    sums = np.add.reduceat(np.exp(log_point - spread), starts, axis=1)
    result[:, table.mechanism[starts]] = top + np.log(sums)
    return result
