"""The likelihood ratio of the readings: departures of every kind against honest coins.

Both sides are products of weight, diameter and thickness given the wear that the weight
shows (honest) or that coins of the date have (departures), so that the same terms serve
the coins and the null distribution of the score.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from lotscreen.records import Bools, Floats
from lotscreen.wear.components import Boxes, Ranges, box_cells, box_density, boxes
from lotscreen.wear.relief import offsets
from lotscreen.wear.struck import VARIANCE_FACTOR, Struck
from lotscreen.wear.type_fit import TAIL_TIMES, GaugeFit, TypeFit

_LEAST_DENSITY = 1e-290


def gauge_density(z: Floats, tail_share: float) -> Floats:
    """Density of a gauge's standardised error: normal, ``tail_share`` of it with
    :data:`TAIL_TIMES` the spread."""
    core = np.exp(-0.5 * np.square(z))
    tail = np.exp(-0.5 * np.square(z / TAIL_TIMES)) / TAIL_TIMES
    mixed = (1 - tail_share) * core + tail_share * tail
    return np.asarray(np.maximum(mixed, 1e-290) / np.sqrt(2 * np.pi))


@dataclass(frozen=True, slots=True)
class Ground:
    """What both sides stand on: struck weight, gauges, boxes of the departures."""

    struck: Struck
    diameter: GaugeFit
    thickness: GaugeFit
    box: Boxes


def ground_of(fit: TypeFit) -> Ground:
    """What a fitted type's densities stand on."""
    return Ground(fit.struck, fit.diameter, fit.thickness, boxes(fit.coin_type))


@dataclass(frozen=True, slots=True)
class DateWear:
    """Wear of honest coins of n dates before the reading is seen: mean and sd (n,)."""

    mean: Floats
    sd: Floats


class CoinYears(Protocol):
    """Year of each coin (NaN: none) and whether it was in the fit, arrays (n,)."""

    @property
    def year(self) -> Floats: ...

    @property
    def in_fit(self) -> Bools: ...


@dataclass(frozen=True, slots=True)
class Lengths:
    """Diameter and thickness of n coins, mm, NaN where not read."""

    diameter_mm: Floats
    thickness_mm: Floats


def weight_terms(
    ground: Ground, low_g: Floats, high_g: Floats, u_g: Floats, date: DateWear
) -> Floats:
    """Probability of each cell under each component, n x K."""
    struck, box = ground.struck, ground.box
    honest = struck.mean_g(date.mean)[:, None]
    core = VARIANCE_FACTOR * struck.sd_g**2 + np.square(u_g)
    soft = np.sqrt(core + np.square(struck.weight_g * date.sd))[:, None]
    return box_cells(
        low_g[:, None], high_g[:, None], honest * box.weight_low[None, :],
        honest * box.weight_high[None, :], soft,
    )  # fmt: skip


def effective_sd(gauge: GaugeFit) -> float:
    """Spread of a reading about the reference with the doubts of both, mm."""
    freedom = gauge.freedom / max(gauge.freedom - 2.0, 1.0)
    return float(np.sqrt(gauge.sd_mm**2 * freedom + gauge.u_reference_mm**2))


def honest_length_sd(gauge: GaugeFit, wear_sd: Floats) -> Floats:
    """Spread of an honest coin's length given the wear its weight shows, mm."""
    return np.sqrt(effective_sd(gauge) ** 2 + np.square(gauge.slope_mm * wear_sd))


def honest_length(value_mm: Floats, gauge: GaugeFit, wear: Floats, wear_sd: Floats) -> Floats:
    """Density of a length of honest coins whose weight shows ``wear`` +- ``wear_sd``."""
    sd = honest_length_sd(gauge, wear_sd)
    z = (value_mm - gauge.reference_mm - gauge.slope_mm * wear) / sd
    return np.asarray(gauge_density(z, gauge.tail_share) / sd)


def length_terms(value_mm: Floats, gauge: GaugeFit, date: DateWear, ranges: Ranges) -> Floats:
    """Density of a length under each component, value's axes + (K,); ``date`` broadcasts
    against ``value_mm``."""
    base = (gauge.reference_mm + gauge.slope_mm * date.mean)[..., None]
    soft = np.sqrt(effective_sd(gauge) ** 2 + np.square(gauge.slope_mm * date.sd))[..., None]
    at, to = base + gauge.reference_mm * ranges.low, base + gauge.reference_mm * ranges.high
    return box_density(value_mm[..., None], at, to, soft)[..., ranges.of]


def by_date(thickness_mm: Floats, fit: TypeFit, rows: CoinYears, wear: Floats) -> Floats:
    """Thickness as it would be without its date's own offset, the offset's doubt taken
    into the scale, so that one spread serves coins of well and little known dates."""
    gauge = fit.thickness
    if fit.relief is None or not gauge.speaks:
        return thickness_mm
    base = gauge.reference_mm + gauge.slope_mm * wear
    mean, variance = offsets(fit.relief, rows.year, thickness_mm - base, rows.in_fit)
    spread2 = effective_sd(gauge) ** 2
    return np.asarray(base + (thickness_mm - mean - base) * np.sqrt(spread2 / (spread2 + variance)))


def component_terms(ground: Ground, weight: Floats, lengths: Lengths, date: DateWear) -> Floats:
    """Joint density of n coins under each component, n x K, from their ``weight`` terms."""
    box, total = ground.box, weight
    for value, gauge, ranges in (
        (lengths.diameter_mm, ground.diameter, box.diameter),
        (lengths.thickness_mm, ground.thickness, box.thickness),
    ):
        has = np.isfinite(value)
        if gauge.speaks and has.any():
            terms = length_terms(np.where(has, value, 0.0), gauge, date, ranges)
            total = total * np.where(has[:, None], terms, 1.0)
    return np.maximum(total, _LEAST_DENSITY)


def honest_terms(
    ground: Ground, cell: Floats, lengths: Lengths, wear: Floats, wear_sd: Floats
) -> Floats:
    """Joint density of n honest coins (n,), from the probability of their cells."""
    total = np.maximum(cell, _LEAST_DENSITY)
    for value, gauge in (
        (lengths.diameter_mm, ground.diameter),
        (lengths.thickness_mm, ground.thickness),
    ):
        has = np.isfinite(value)
        if gauge.speaks and has.any():
            density = honest_length(np.where(has, value, 0.0), gauge, wear, wear_sd)
            total = total * np.where(has, density, 1.0)
    return np.maximum(total, _LEAST_DENSITY)
