"""The register of mechanisms: rival explanations of a coin's readings.

Adding one is one function that yields points and one line in ``MECHANISMS``. ``side`` is
'honest' or 'departure'; ``share`` its reference weight within its side (each side sums to
one). Directions and sizes are common practice, no source, except where geometry or a
density table gives them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from lotscreen.evidence.points import Point
from lotscreen.standards import CoinType
from lotscreen.standards.alloys import load_alloys
from lotscreen.wear import TypeFit
from lotscreen.wear.allowance import slick_wear
from lotscreen.wear.blank import thicker

ZINC_AND_TIN_G_CM3 = 7.4
"""No denser than this: zinc, tin and their alloys (handbook values, from memory)."""


@dataclass(frozen=True, slots=True)
class Mechanism:
    """One explanation: ``key`` (also the key of its words), side, reference share, and the
    points it predicts for a fitted type. The second test that would tell is in
    :mod:`lotscreen.evidence.second_tests`."""

    key: str
    side: str
    share: float
    points: Callable[[TypeFit], list[Point]]


def _metal_family(coin_type: CoinType) -> str:
    return coin_type.fine_metal or coin_type.metal


def _density_ratios(coin_type: CoinType) -> list[float]:
    family = _metal_family(coin_type)
    return [
        alloy.density_g_cm3 / coin_type.density_g_cm3
        for alloy in load_alloys().values()
        if family in alloy.fits_metals
    ] or [0.83, 0.87]


def honest_wear(_: TypeFit) -> list[Point]:
    """A coin of the declared type and date, worn as its date's coins are."""
    return [Point()]


def more_wear(fit: TypeFit) -> list[Point]:
    """Worn beyond its date's coins, up to slick; the more, the rarer."""
    typical = max(1.2 * fit.mean_wear(), 0.008)
    extra = np.arange(0.01, slick_wear(fit.coin_type) + 0.01, 0.01)
    return [
        Point(more_wear=float(e), weight_sd=0.004, prior=float(np.exp(-e / typical))) for e in extra
    ]


def dirt(_: TypeFit) -> list[Point]:
    """Soil or lacquer: up to one per cent heavier."""
    return [Point(weight=1 + w, weight_sd=0.002) for w in (0.003, 0.007)]


def damage(_: TypeFit) -> list[Point]:
    """Bent or dented: the caliper reads the bow."""
    return [
        Point(thickness_sd_mm=0.04, thickness=1 + t, diameter_sd_mm=0.03) for t in (0.03, 0.06, 0.1)
    ]


def scale_error(_: TypeFit) -> list[Point]:
    """The balance was off when this coin was weighed."""
    return [Point(weight=1 + w, weight_sd=0.0015) for w in (-0.01, -0.005, 0.005, 0.01)]


def same_size(fit: TypeFit) -> list[Point]:
    """Another metal struck at the right size: weight falls with density."""
    return [Point(weight=r, weight_sd=0.012) for r in _density_ratios(fit.coin_type)]


def same_weight(fit: TypeFit) -> list[Point]:
    """Another metal made up to the right weight: thicker."""
    return [
        Point(thickness=1 + thicker(r), weight_sd=0.012, thickness_sd_mm=0.03)
        for r in _density_ratios(fit.coin_type)
        if abs(1 / r - 1) > 0.04
    ]


def light_and_thick(fit: TypeFit) -> list[Point]:
    """A compromise: half of the weight is made up by thickness. Zinc and tin are left at the
    right size (common practice, no source)."""
    least = ZINC_AND_TIN_G_CM3 / fit.coin_type.density_g_cm3
    return [
        Point(weight=(1 + r) / 2, weight_sd=0.015, thickness_sd_mm=0.03,
              thickness=1 + thicker(r, (1 + r) / 2))
        for r in _density_ratios(fit.coin_type)
        if least < r < 0.95
    ]  # fmt: skip


def cast(_: TypeFit) -> list[Point]:
    """Cast in the right alloy: shrinks across by one to two per cent, some pores."""
    return [
        Point(weight=(1 - d) ** 2 * t * (1 - p), diameter=1 - d, thickness=t,
              weight_sd=0.012, thickness_sd_mm=0.03, diameter_sd_mm=0.06)
        for d in (0.009, 0.013, 0.018)
        for t in (0.985, 1.03)
        for p in (0.01, 0.035)
    ]  # fmt: skip


def cast_other_metal(fit: TypeFit) -> list[Point]:
    """Cast in another metal: smaller across and lighter still."""
    return [
        Point(weight=r * 0.97, diameter=0.985, diameter_sd_mm=0.12,
              weight_sd=0.03, thickness_sd_mm=0.06, thickness=1.01)
        for r in _density_ratios(fit.coin_type)
    ]  # fmt: skip


def clipped(fit: TypeFit) -> list[Point]:
    """A chord cut off: weight falls with the segment, one diameter is short by its height,
    thickness kept. A single diameter, taken anywhere, meets the cut as often as the cut is
    long round the edge (geometry), and then seldom square to it: anything up to its height
    is missing."""
    across = fit.coin_type.diameter_mm or 25.0
    points = []
    for depth in (0.5, 0.8, 1.2, 1.6, 2.1, 2.7, 3.4):
        chord = 2 * np.sqrt(depth * (across - depth))
        lost = (2 / 3) * chord * depth / (np.pi / 4 * across**2)
        met = float(np.arccos(1 - 2 * depth / across) / (np.pi / 2))
        whole = Point(weight=1 - float(lost), weight_sd=0.006, diameter_sd_mm=0.02,
                      out_of_round_mm=depth, prior=1 - met)  # fmt: skip
        square = replace(whole, diameter=1 - depth / across, diameter_sd_mm=0.2, prior=met / 2)
        askew = replace(square, diameter=1 - 0.6 * depth / across, diameter_sd_mm=0.25 * depth)
        points += [whole, square, askew]
    return points


def filed(_: TypeFit) -> list[Point]:
    """Edge filed all round: diameter and weight fall, thickness kept."""
    return [
        Point(weight=(1 - d) ** 2, diameter=1 - d, weight_sd=0.004, diameter_sd_mm=0.04)
        for d in (0.005, 0.01, 0.017)
    ]


def holed(_: TypeFit) -> list[Point]:
    """Holed, or holed and plugged."""
    return [Point(weight=1 - w, weight_sd=0.004) for w in (0.004, 0.01, 0.02)]


def lighter_alloy(_: TypeFit) -> list[Point]:
    """A poorer alloy at the right size: one to eight per cent light."""
    return [Point(weight=1 - w, weight_sd=0.006) for w in (0.015, 0.025, 0.035, 0.05, 0.07)]


def mount_removed(_: TypeFit) -> list[Point]:
    """Solder or a mount's remains: heavier."""
    return [
        Point(weight=1 + w, weight_sd=0.006, diameter_sd_mm=0.05, thickness_sd_mm=0.05)
        for w in (0.008, 0.016, 0.028)
    ]


def unnamed(_: TypeFit) -> list[Point]:
    """Anything else, said broadly."""
    return [
        Point(weight=w, weight_sd=0.08, diameter_sd_mm=0.5, thickness_sd_mm=0.25)
        for w in (0.45, 0.6, 0.75, 0.9, 1.05, 1.2)
    ]


MECHANISMS: list[Mechanism] = [
    Mechanism("wear", "honest", 0.86, honest_wear),
    Mechanism("more_wear", "honest", 0.04, more_wear),
    Mechanism("dirt", "honest", 0.02, dirt),
    Mechanism("damage", "honest", 0.02, damage),
    Mechanism("scale_error", "honest", 0.01, scale_error),
    Mechanism("same_size", "departure", 0.22, same_size),
    Mechanism("same_weight", "departure", 0.15, same_weight),
    Mechanism("light_and_thick", "departure", 0.08, light_and_thick),
    Mechanism("cast", "departure", 0.15, cast),
    Mechanism("cast_other_metal", "departure", 0.06, cast_other_metal),
    Mechanism("clipped", "departure", 0.08, clipped),
    Mechanism("filed", "departure", 0.05, filed),
    Mechanism("holed", "departure", 0.03, holed),
    Mechanism("lighter_alloy", "departure", 0.08, lighter_alloy),
    Mechanism("mount_removed", "departure", 0.04, mount_removed),
    Mechanism("unnamed", "departure", 0.06, unnamed),
]
OTHER_TYPE_SHARE = 0.05
"""Reference share of the honest side given to all other types on file together."""
HONEST_KEYS = frozenset(m.key for m in MECHANISMS if m.side == "honest") | {"other_type"}
"""Explanations that leave a coin honest; a coin of another type is one."""
