"""Kinds that the benchmark asks for beside the simulator's own.

``clipped by weight`` loses a stated share of its weight. The *unlike* kinds are made on
purpose to fit no mechanism: other alloys, sizes jittered at random.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from lotscreen.records import Floats
from lotscreen.simulate.bodies import Bodies
from lotscreen.simulate.kinds import DENSITY_G_CM3, Kind, Make, clip, shrunk

_METAL_SPREAD_SHARE = 0.004
CLIPPED_SHARE = (0.015, 0.06)
"""Least and most share of the weight that the clipped ones have lost."""


def chord_depth(share: Floats) -> Floats:
    """Height of the segment that holds this share of a disc, in radii."""
    height = np.linspace(0.0, 0.6, 4001)
    to_chord = 1.0 - height
    area = (np.arccos(to_chord) - to_chord * np.sqrt(1.0 - to_chord**2)) / math.pi
    return np.asarray(np.interp(share, area, height))


def _clipped_by_weight(bodies: Bodies, rng: np.random.Generator) -> Bodies:
    share = rng.uniform(*CLIPPED_SHARE, len(bodies.diameter_mm))
    return clip(bodies, chord_depth(share) * bodies.diameter_mm / 2.0)


def _unlike(densities: tuple[float, float], size_sd: float, thickness_sd: float) -> Make:
    """Of a density anywhere between two ratios to the alloy, each length off on its own."""

    def make(bodies: Bodies, rng: np.random.Generator) -> Bodies:
        n = len(bodies.diameter_mm)
        diameter = bodies.diameter_mm * (1.0 + rng.normal(0.0, size_sd, n))
        thick = 1.0 + rng.normal(0.0, thickness_sd, n)
        return replace(
            bodies,
            density_g_cm3=bodies.density_g_cm3 * rng.uniform(*densities, n),
            diameter_mm=diameter,
            short_mm=diameter.copy(),
            effective_mm=bodies.effective_mm * thick,
            rim_mm=bodies.rim_mm * thick,
        )

    return make


def _half_made_up(bodies: Bodies, rng: np.random.Generator) -> Bodies:
    """Brass a good deal too light, of which about half is made up by thickness."""
    n = len(bodies.diameter_mm)
    density = DENSITY_G_CM3["brass"] * (1.0 + rng.normal(0.0, _METAL_SPREAD_SHARE, n))
    ratio = density / bodies.density_g_cm3
    aimed = (1.0 + ratio) / 2.0 * (1.0 + rng.normal(0.0, 0.01, n))
    effective = bodies.effective_mm * aimed / ratio
    rim = bodies.rim_mm + effective - bodies.effective_mm
    return replace(bodies, density_g_cm3=density, effective_mm=effective, rim_mm=rim)


def _cast_in_brass(bodies: Bodies, rng: np.random.Generator) -> Bodies:
    n = len(bodies.diameter_mm)
    brass = np.full(n, DENSITY_G_CM3["brass"])
    shrink, thick = 1.0 - rng.uniform(0.01, 0.02, n), rng.uniform(0.98, 1.05, n)
    return shrunk(
        replace(bodies, density_g_cm3=brass), shrink, thick, pores=rng.uniform(0.0, 0.05, n)
    )


def _heavier(low: float, high: float) -> Make:
    """Something adds this share of the weight (soil, solder), no length changes."""

    def make(bodies: Bodies, rng: np.random.Generator) -> Bodies:
        added = bodies.weight_g * rng.uniform(low, high, len(bodies.diameter_mm))
        return replace(bodies, extra_g=bodies.extra_g + added)

    return make


def _worn_more(bodies: Bodies, rng: np.random.Generator) -> Bodies:
    """Worn beyond its date's coins, on the faces; the more, the rarer."""
    lost = 0.008 + rng.exponential(0.02, len(bodies.diameter_mm))
    thinner = bodies.effective_mm * np.minimum(lost, 0.3)
    return replace(
        bodies, effective_mm=bodies.effective_mm - thinner, rim_mm=bodies.rim_mm - 1.2 * thinner
    )


UNLIKE_KINDS = ("unlike, light", "unlike, heavy", "unlike, jittered", "unlike, near")
MORE_KINDS: Mapping[str, Kind] = {
    k.name: k
    for k in (
        Kind("clipped by weight", _clipped_by_weight, 1.0, True),
        Kind("brass, half made up", _half_made_up, 0.5, False),
        Kind("brass, cast", _cast_in_brass, 1.0, True),
        Kind("holed", _heavier(-0.03, -0.004), 1.0, True),
        Kind("mount removed", _heavier(0.005, 0.03), 1.0, True),
        Kind("soiled", _heavier(0.002, 0.01), 1.0, True),
        Kind("worn more", _worn_more, 1.0, True),
        Kind("unlike, light", _unlike((0.70, 0.97), 0.006, 0.03), 0.7, False),
        Kind("unlike, heavy", _unlike((1.02, 1.30), 0.006, 0.03), 0.7, False),
        Kind("unlike, jittered", _unlike((0.90, 1.10), 0.012, 0.06), 0.7, False),
        Kind("unlike, near", _unlike((0.97, 1.01), 0.003, 0.02), 0.7, False),
    )
}
