"""The likelihood ratio of the readings: departures of every kind against honest coins.

Both sides are products of weight, diameter and thickness given the wear that the weight
shows (honest) or that coins of the date have (departures), so that the same terms serve
the coins and the null distribution of the score.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from lotscreen.records import Bools, Floats, Ints
from lotscreen.wear.components import Boxes, Ranges, box_cells, box_density, boxes
from lotscreen.wear.date_wear import DateWear
from lotscreen.wear.distinct import distinct_rows
from lotscreen.wear.relief import offsets
from lotscreen.wear.shares import score_shares, within_groups
from lotscreen.wear.struck import VARIANCE_FACTOR, Struck
from lotscreen.wear.type_fit import TAIL_TIMES, GaugeFit, TypeFit

_LEAST_DENSITY = 1e-290
_ONE_OVER_SQRT_2PI = float(1 / np.sqrt(2 * np.pi))
_LEAST_CELL = 1e-12
_MOST_SDS, _LEAST_LEFT = 3.0, 0.02
_PULL_SDS, _MOST_PULL = 2.5, 0.5
_BLOCK = 256  # rows at a time: their tables stay in the processor's cache


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
    return Ground(fit.struck, fit.diameter, fit.thickness, boxes(fit.coin_type, fit.by_weight))


def scored_shares(fit: TypeFit, box: Boxes) -> Floats:
    """The shares (K,) in which the score weighs the departures of a fitted type."""
    departing = fit.departing_share * fit.coins
    equal = within_groups(departing * fit.component_shares, box.equal, box.group, box.told)
    return score_shares(fit.component_shares, equal, box.least, departing)


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


@dataclass(frozen=True, slots=True)
class WeightTerms:
    """What the weights of n coins say under each of K components: probability of the
    ``cell`` and the wear (mean and sd) that a coin of the component then has, n x K."""

    cell: Floats
    wear: Floats
    wear_sd: Floats

    def columns(self, at: slice) -> WeightTerms:
        """The terms of some components."""
        return WeightTerms(self.cell[:, at], self.wear[:, at], self.wear_sd[:, at])

    def put(self, at: slice | tuple[slice, Ints], found: WeightTerms) -> None:
        """Fill in the terms ``found`` of some coins (and components)."""
        self.cell[at], self.wear[at], self.wear_sd[at] = found.cell, found.wear, found.wear_sd


def weight_terms(
    ground: Ground, low_g: Floats, high_g: Floats, u_g: Floats, date: DateWear
) -> WeightTerms:
    """What each component says of each cell low..high of readings (n,).

    Coins that read alike and of whose dates like wear is expected are computed once.
    The wear of a coin of the component, given its weight, follows from how the cell's
    probability changes with the date's wear (taken as normal, or as two normals): its mean
    moves by the variance times the slope of the log probability, its variance likewise
    (Tweedie's formula: Efron, Journal of the American Statistical Association 106, 2011).
    """
    rows = np.column_stack([low_g, high_g, u_g, date.mean, date.sd, date.skew])
    distinct, which, _ = distinct_rows(rows)
    low, high, u, mean, sd, skew = distinct.T
    found = WeightTerms(*np.empty((3, len(low), len(ground.box.worn))))
    for block in (slice(i, i + _BLOCK) for i in range(0, len(low), _BLOCK)):
        date = DateWear(mean[block], sd[block], skew[block])
        found.put(block, _distinct_terms(ground, low[block], high[block], u[block], date))
    return WeightTerms(found.cell[which], found.wear[which], found.wear_sd[which])


def _distinct_terms(
    ground: Ground, low_g: Floats, high_g: Floats, u_g: Floats, date: DateWear
) -> WeightTerms:
    """The terms of :func:`weight_terms`, row by row: components whose wear is taken with its
    skew once for each of its two normals, all in one pass."""
    box = ground.box
    two = date.two_normals()
    at = np.concatenate([box.plain, box.skewed, box.skewed])
    which = np.repeat(np.arange(3), [len(box.plain), len(box.skewed), len(box.skewed)])
    mean = np.stack([date.mean, *(part[1] for part in two)])[which].T * box.worn[at]
    sd = np.stack([date.sd, *(part[2] for part in two)])[which].T * box.worn[at]
    once = _given_normal(ground, (low_g, high_g, u_g), at, mean, sd)
    ends = len(box.plain) + len(box.skewed) * np.arange(3)
    first, second = (slice(*ends[i : i + 2]) for i in (0, 1))
    mixed = _together([(two[0][0], once.columns(first)), (two[1][0], once.columns(second))])
    found = WeightTerms(*np.empty((3, len(low_g), len(box.worn))))
    found.put((slice(None), box.plain), once.columns(slice(ends[0])))
    found.put((slice(None), box.skewed), mixed)
    return found


def _together(parts: Sequence[tuple[float, WeightTerms]]) -> WeightTerms:
    """The terms of a mixture, from those of its parts with their shares."""
    cell, total, first, second = np.zeros((4, *parts[0][1].cell.shape))
    for share, part in parts:
        weight = share * np.maximum(part.cell, _LEAST_CELL)
        cell += share * part.cell
        total += weight
        first += weight * part.wear
        second += weight * (np.square(part.wear) + np.square(part.wear_sd))
    wear = first / total
    return WeightTerms(cell, wear, np.sqrt(np.maximum(second / total - np.square(wear), 0.0)))


def _given_normal(
    ground: Ground, cells: tuple[Floats, Floats, Floats], at: Ints, mean: Floats, sd: Floats
) -> WeightTerms:
    """The terms of the components ``at`` in ``cells`` (low, high, u of n readings), the wear
    of each being normal of ``mean`` and ``sd`` (n x at)."""
    struck, box = ground.struck, ground.box
    low, high, u = (of[:, None] for of in cells)
    lower, upper = box.weight_low[at], box.weight_high[at]
    honest = struck.mean_g(mean)
    core = VARIANCE_FACTOR * struck.sd_g**2 + np.square(u)
    grams_per_wear = struck.weight_g * 0.5 * (lower + upper)
    soft = np.sqrt(core + np.square(grams_per_wear * sd))
    cell, rise, bend = box_cells(low, high, honest * lower, honest * upper, soft)
    if not (ground.diameter.speaks or ground.thickness.speaks):
        return WeightTerms(cell, mean, sd)
    known = np.maximum(cell, _LEAST_CELL)
    slope = grams_per_wear * rise / known
    curve = np.square(grams_per_wear) * bend / known - np.square(slope)
    moved = np.minimum(np.maximum(sd * slope, -_MOST_SDS), _MOST_SDS)
    left = np.minimum(np.maximum(1 + np.square(sd) * curve, _LEAST_LEFT), 1.0)
    return WeightTerms(cell, np.maximum(mean + sd * moved, 0.0), sd * np.sqrt(left))


def effective_sd(gauge: GaugeFit) -> float:
    """Spread of a reading about the reference with the doubts of both, mm."""
    freedom = gauge.freedom / max(gauge.freedom - 2.0, 1.0)
    return float(np.sqrt(gauge.sd_mm**2 * freedom + gauge.u_reference_mm**2))


def honest_length_variance(gauge: GaugeFit, wear: Floats, wear_sd: Floats) -> Floats:
    """Variance of an honest coin's length given the wear its weight shows, mm2."""
    doubt = gauge.variance_of_wear(wear, wear_sd)
    return np.asarray(effective_sd(gauge) ** 2 + gauge.slope_mm**2 * doubt)


def honest_length_sd(gauge: GaugeFit, wear: Floats, wear_sd: Floats) -> Floats:
    """Spread of an honest coin's length given the wear its weight shows, mm."""
    return np.sqrt(honest_length_variance(gauge, wear, wear_sd))


def honest_length(value_mm: Floats, gauge: GaugeFit, wear: Floats, wear_sd: Floats) -> Floats:
    """Density of a length of honest coins whose weight shows ``wear`` +- ``wear_sd``."""
    sd = honest_length_sd(gauge, wear, wear_sd)
    z = (value_mm - gauge.reference_mm - gauge.slope_mm * wear) / sd
    return np.asarray(gauge_density(z, gauge.tail_share) / sd)


def length_terms(value_mm: Floats, gauge: GaugeFit, ranges: Ranges, weight: WeightTerms) -> Floats:
    """Density of a length (n, or n x nodes) under each component, value's axes + (K,),
    given the wear that the weight shows under each."""
    result = np.empty((*value_mm.shape, weight.wear.shape[1]))
    off, variance = _off_expected(value_mm, gauge, weight, ranges.same)
    known = variance + np.square(gauge.reference_mm * ranges.scatter)
    height = _ONE_OVER_SQRT_2PI / np.sqrt(known)
    result[..., ranges.same] = np.exp(np.square(off) * (-0.5 / known)) * height
    off, variance = _off_expected(value_mm, gauge, weight, ranges.moved)
    low, high = gauge.reference_mm * ranges.low, gauge.reference_mm * ranges.high
    result[..., ranges.moved] = box_density(off, low, high, np.sqrt(variance))
    return result


def _off_expected(
    value_mm: Floats, gauge: GaugeFit, weight: WeightTerms, at: Ints
) -> tuple[Floats, Floats]:
    """What a length is off that of an honest coin of the wear that the weight shows under
    the components ``at``, value's axes + (at,), and the variance of that, to broadcast."""
    wear, wear_sd = (np.take(of, at, axis=1) for of in (weight.wear, weight.wear_sd))
    expected = gauge.reference_mm + gauge.slope_mm * wear
    variance = honest_length_variance(gauge, wear, wear_sd)
    if value_mm.ndim > 1:
        expected, variance = expected[:, None, :], variance[:, None, :]
    return value_mm[..., None] - expected, variance


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


def left_out(value_mm: Floats, gauge: GaugeFit, wear: Floats, in_fit: Bools) -> Floats:
    """Lengths (n,) as they would stand to a reference learned without them: a coin of the
    fit has pulled the reference towards itself. A far one has pulled no more than one at
    :data:`_PULL_SDS`, because the reference is learned robustly."""
    if not gauge.speaks or gauge.note:
        return value_mm
    share = min(gauge.u_reference_mm / gauge.sd_mm, _MOST_PULL) ** 2
    more = float(np.sqrt((1 + share) / (1 - share))) - 1
    residual = value_mm - gauge.reference_mm - gauge.slope_mm * wear
    most = _PULL_SDS * gauge.sd_mm
    return np.where(in_fit, value_mm + more * np.clip(residual, -most, most), value_mm)


def component_terms(ground: Ground, weight: WeightTerms, lengths: Lengths) -> Floats:
    """Joint density of n coins under each component, n x K, from their ``weight`` terms."""
    total = weight.cell
    for value, gauge, ranges in (
        (lengths.diameter_mm, ground.diameter, ground.box.diameter),
        (lengths.thickness_mm, ground.thickness, ground.box.thickness),
    ):
        has = np.isfinite(value)
        if gauge.speaks and has.any():
            terms = length_terms(np.where(has, value, 0.0), gauge, ranges, weight)
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
