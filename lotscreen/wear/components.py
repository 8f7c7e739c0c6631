"""Coins that are not honest coins of the type, as broad joint densities of the readings.

Each component is a box with soft edges: a range of weight, of diameter and of thickness
relative to an honest coin of the same date. Ranges of other metals come from the type's
own density, so that a range right for silver is not used for gold or bronze. The light,
clipped and cast ones are cut into strips of weight whose shares the lot itself tells.
Directions are common practice, no source; sizes follow from densities and geometry.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from lotscreen.records import Bools, Floats, Ints
from lotscreen.standards.coin_type import CoinType
from lotscreen.wear.blank import thicker

Range = tuple[float, float]
_SAME: Range = (-0.001, 0.001)
_NO_CHANGE = 0.02
# A piece of another metal is of later make than its date says, and was passed on with
# less handling: common practice, no source.
_LATER = 0.5
# Planchets cut to the right weight are weighed with some care, or they would not pass:
# within 1 % besides the spread of struck coins (assumed).
_RIGHT_WEIGHT: Range = (0.99, 1.01)
# Weight alone tells these from honest coins hardly or not at all.
_LOOKS_HONEST = ("same_weight",)
# These differ from worn coins in little but weight: there the skew of wear counts, by weight
# alone also where the metal is another.
_WITH_SKEW = ("clipped", "lighter_alloy")
_WITH_SKEW_BY_WEIGHT = (*_WITH_SKEW, "same_size")
# Weight alone tells the kinds of these from each other and, but for the most worn coins,
# from honest ones.
_TOLD_BY_WEIGHT = ("same_size", "heavy")
_SQRT_2PI = float(np.sqrt(2 * np.pi))
_BEYOND = 9.0
# Density ratios of metals that stand in, against the type's own: gold is replaced by
# metals of two fifths to nine tenths of its density, silver and copper by lighter ones.
_LIGHT_RATIOS: dict[str, tuple[Range, ...]] = {
    "gold": ((0.37, 0.47), (0.47, 0.54), (0.54, 0.72), (0.72, 0.90)),
    "silver": ((0.62, 0.72), (0.72, 0.80), (0.80, 0.85), (0.85, 0.90)),
    "else": ((0.72, 0.82), (0.82, 0.90), (0.90, 0.97)),
}
# The metals that stand in for silver lie next to its most worn coins.
_FINE_RATIOS: dict[str, tuple[Range, ...]] = {
    "silver": (
        (0.62, 0.72), (0.72, 0.80), (0.80, 0.82), (0.82, 0.84), (0.84, 0.86), (0.86, 0.88),
        (0.88, 0.90),
    ),
}  # fmt: skip
# By weight alone each is as narrow as the pieces of one melt are alike in density, a few
# parts in a thousand (assumed); the spread of struck coins and of wear fills the gaps.
_MELTS: dict[str, tuple[Range, ...]] = {
    "silver": (
        (0.62, 0.72), (0.72, 0.80),
        *((round(at, 4), round(at + 0.003, 4)) for at in np.arange(0.795, 0.8951, 0.0075).tolist()),
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Component:
    """A box: ``weight`` as factors on an honest coin's, ``diameter`` and ``thickness`` as
    relative changes; up to 2 % either way is no change but a normal scatter of the box's
    variance. ``worn`` is its wear against an honest coin's."""

    group: str
    weight: Range
    diameter: Range
    thickness: Range
    worn: float = 1.0


def components(coin_type: CoinType, by_weight: bool = False) -> tuple[Component, ...]:
    """All components of a type, its groups in a fixed order; the last holds readings far
    off in anything, a misplaced decimal sign among them. Where coins are known ``by_weight``
    alone, other metals of the same size are told finer, and pieces both lighter and thicker
    are not told from them."""
    family = coin_type.fine_metal or coin_type.metal
    ratios = _LIGHT_RATIOS.get(family, _LIGHT_RATIOS["else"])
    sizes = (_MELTS if by_weight else _FINE_RATIOS).get(family, ratios)
    thick = () if by_weight else ratios
    return (
        *(Component("same_size", r, _SAME, (-0.02, 0.02), _LATER) for r in sizes),
        *(Component("same_weight", _RIGHT_WEIGHT, _SAME, _thicker(r), _LATER) for r in ratios),
        *(Component("light_and_thick", ((1 + r[0]) / 2, (1 + r[1]) / 2), _SAME, _half_thicker(r),
                    _LATER) for r in thick if r[0] > 0.6),
        *(Component("cast", w, (-0.023, -0.007), (-0.03, 0.05)) for w in _CAST),
        Component("cast_other_metal", (ratios[0][0], 0.90), (-0.025, -0.007), (-0.03, 0.08),
                  _LATER),
        *(Component("clipped", w, (-0.11, 0.002), (-0.015, 0.015)) for w in _CLIPPED),
        *(Component("lighter_alloy", w, _SAME, (-0.015, 0.015)) for w in _LIGHTER),
        *(Component("heavy", w, _SAME, (-0.02, 0.02), _LATER) for w in _HEAVY),
        Component("unnamed", (0.03, 2.5), (-0.2, 0.2), (-0.4, 0.6)),
        Component("unnamed", (0.85, 1.10), (-0.04, 0.04), (-0.15, 0.25)),
        *(Component("unnamed", *alone) for alone in _ONE_READING_OFF),
        Component("gross", (0.01, 12.0), (-0.97, 11.0), (-0.97, 11.0)),
    )  # fmt: skip


_ONE_READING_OFF: tuple[tuple[Range, Range, Range], ...] = (
    ((0.85, 1.10), _SAME, (-0.02, 0.02)),
    ((0.97, 1.02), (-0.04, 0.04), (-0.02, 0.02)),
    ((0.97, 1.02), _SAME, (-0.15, 0.25)),
)
_CAST: tuple[Range, ...] = ((0.86, 0.91), (0.91, 0.94), (0.94, 0.97), (0.97, 1.01))
_CLIPPED: tuple[Range, ...] = ((0.91, 0.94), (0.94, 0.965), (0.965, 0.985))
_LIGHTER: tuple[Range, ...] = (
    (0.925, 0.945), (0.945, 0.955), (0.955, 0.965), (0.965, 0.975), (0.975, 0.985),
)  # fmt: skip
_HEAVY: tuple[Range, ...] = ((1.012, 1.03), (1.03, 1.07), (1.07, 1.14))


def _thicker(ratio: Range) -> Range:
    low, high = (thicker(r) for r in reversed(ratio))
    return low, high


def _half_thicker(ratio: Range) -> Range:
    low, high = (thicker(r, (1 + r) / 2) for r in reversed(ratio))
    return low, high


@dataclass(frozen=True, slots=True)
class Boxes:
    """The components of a type as arrays (K,), ``group`` an index of the groups in order,
    ``equal`` their shares when every group counts alike, ``least`` the same of those that
    look honest and 0 of the others; ``told`` are those of groups whose kinds the weight, read
    alone, tells apart; ``skewed`` are the indices of those whose wear is taken with its skew,
    ``plain`` of the others."""

    group: Ints
    equal: Floats
    least: Floats
    told: Bools
    weight_low: Floats
    weight_high: Floats
    worn: Floats
    skewed: Ints
    plain: Ints
    diameter: Ranges
    thickness: Ranges


@dataclass(frozen=True, slots=True)
class Ranges:
    """Relative changes of a length under each component (K,): ``scatter`` (sd) of those that
    leave it as it is (indices ``same``), ``low`` to ``high`` of the others (``moved``)."""

    same: Ints
    scatter: Floats
    moved: Ints
    low: Floats
    high: Floats


def _ranges(ends: Floats) -> Ranges:
    low, high = ends.T
    unchanged = (low == -high) & (high <= _NO_CHANGE)
    same, moved = np.flatnonzero(unchanged), np.flatnonzero(~unchanged)
    return Ranges(same, high[same] / np.sqrt(3.0), moved, low[moved], high[moved])


def boxes(coin_type: CoinType, by_weight: bool = False) -> Boxes:
    """The :func:`components` of ``coin_type`` as arrays."""
    found = components(coin_type, by_weight)
    names = list(dict.fromkeys(c.group for c in found))
    group = np.array([names.index(c.group) for c in found], dtype=np.int64)
    equal = 1 / (len(names) * np.bincount(group)[group])
    least = equal * np.array([c.group in _LOOKS_HONEST for c in found])
    weight = np.array([c.weight for c in found])
    across = _ranges(np.array([c.diameter for c in found]))
    thick = _ranges(np.array([c.thickness for c in found]))
    worn = np.array([c.worn for c in found])
    with_skew = _WITH_SKEW_BY_WEIGHT if by_weight else _WITH_SKEW
    skewed = np.array([c.group in with_skew for c in found])
    told = np.array([by_weight and c.group in _TOLD_BY_WEIGHT for c in found])
    return Boxes(
        group, equal, least, told, weight[:, 0], weight[:, 1], worn, np.flatnonzero(skewed),
        np.flatnonzero(~skewed), across, thick,
    )  # fmt: skip


def box_cells(
    low: Floats, high: Floats, at: Floats, to: Floats, soft: Floats
) -> tuple[Floats, Floats, Floats]:
    """Probability of a cell low..high (either may be infinite) of a uniform on at..to
    smoothed by a normal of sd ``soft``, and its first and second derivative as the box moves
    down; broadcast over all arguments."""
    above, rise_above, bend_above = _below(high, at, to, soft)
    under, rise_under, bend_under = _below(low, at, to, soft)
    return np.maximum(above - under, 0.0), rise_above - rise_under, bend_above - bend_under


def _below(x: Floats, at: Floats, to: Floats, soft: Floats) -> tuple[Floats, Floats, Floats]:
    """Probability below ``x``, density and slope there of the smoothed uniform."""
    finite = np.isfinite(x)
    kept = np.where(finite, x, 0.0)
    width, known = to - at, finite.astype(np.float64)
    a, b = (kept - at) / soft, (kept - to) / soft
    below_a, below_b = _ndtr(a), _ndtr(b)
    height_a, height_b = np.exp(-0.5 * a * a) / _SQRT_2PI, np.exp(-0.5 * b * b) / _SQRT_2PI
    area = soft * ((a * below_a + height_a) - (b * below_b + height_b)) / width
    return (
        np.where(finite, area, (x > 0).astype(np.float64)),
        known * (below_a - below_b) / width,
        known * (height_a - height_b) / (soft * width),
    )


def box_density(value: Floats, at: Floats, to: Floats, soft: Floats) -> Floats:
    """Density of a uniform on at..to smoothed by a normal of sd ``soft``; broadcast."""
    inside = _ndtr((value - at) / soft) - _ndtr((value - to) / soft)
    return np.asarray(np.maximum(inside, 0.0) / (to - at))


def _ndtr(z: Floats) -> Floats:
    """The normal distribution function; 0 or 1 where ``z`` is beyond :data:`_BEYOND`, as
    half of them are: no sum with the readings far off feels what is left there."""
    flat = z.ravel()
    result = (flat > 0).astype(np.float64)
    near = np.flatnonzero(np.abs(flat) < _BEYOND)
    result[near] = ndtr(flat[near])
    return result.reshape(z.shape)
