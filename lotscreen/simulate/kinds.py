"""Kinds of coin that are not what the sheet claims, each made as it is made.

A kind is made either *before* it wears (struck or cast in another metal, then used) or
*after* (a worn coin is cast from, clipped, filed, plugged, bent). Densities are
handbook values, rounded, from memory; nothing is derived from a weight difference.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from lotscreen.records import Floats
from lotscreen.simulate.bodies import Bodies

DENSITY_G_CM3: Mapping[str, float] = {
    "zinc": 6.7,
    "pewter": 7.3,
    "brass": 8.55,
    "nickel silver": 8.7,
    "copper": 8.95,
    "nine carat gold": 11.2,
    "lead alloy": 11.34,
    "tungsten alloy": 17.5,
}
_METAL_SPREAD_SHARE = 0.004

Make = Callable[[Bodies, np.random.Generator], Bodies]


@dataclass(frozen=True, slots=True)
class Kind:
    """``make`` turns honest bodies into this kind; ``worn_share`` is its wear against an
    honest coin of its date; ``made_after_wear`` when a worn coin is its raw material,
    ``one_host`` when one such coin served for all."""

    name: str
    make: Make
    worn_share: float
    made_after_wear: bool
    one_host: bool = False


def _metal(name: str, n: int, rng: np.random.Generator) -> np.ndarray:
    return np.asarray(DENSITY_G_CM3[name] * (1.0 + rng.normal(0.0, _METAL_SPREAD_SHARE, n)))


def _same_size(metal: str) -> Make:
    """Struck in another metal from dies taken off a coin: its size, that metal's weight."""

    def make(bodies: Bodies, rng: np.random.Generator) -> Bodies:
        n = len(bodies.diameter_mm)
        diameter = bodies.diameter_mm + rng.normal(0.0, 0.03, n)
        return replace(
            bodies,
            density_g_cm3=_metal(metal, n, rng),
            diameter_mm=diameter,
            short_mm=diameter.copy(),
            rim_mm=bodies.rim_mm + rng.normal(0.0, 0.02, n),
        )

    return make


def _same_weight(metal: str) -> Make:
    """Struck in another metal on a thicker planchet cut to the right weight."""

    def make(bodies: Bodies, rng: np.random.Generator) -> Bodies:
        n = len(bodies.diameter_mm)
        density = _metal(metal, n, rng)
        aimed = bodies.weight_g * (1.0 + rng.normal(0.0, 0.004, n))
        effective = aimed * 1000.0 / (density * math.pi / 4.0 * bodies.diameter_mm**2)
        rim = bodies.rim_mm + (effective - bodies.effective_mm)
        return replace(bodies, density_g_cm3=density, effective_mm=effective, rim_mm=rim)

    return make


def _cast(bodies: Bodies, rng: np.random.Generator) -> Bodies:
    """Cast in the right alloy from a mould of a worn coin: it shrinks across by 1-2 % and
    holds up to 5 % of pores; the thickness is made up unevenly."""
    n = len(bodies.diameter_mm)
    shrink = 1.0 - rng.uniform(0.01, 0.02, n)
    thick = rng.uniform(0.98, 1.05, n)
    return shrunk(bodies, shrink, thick, pores=rng.uniform(0.0, 0.05, n))


def _cast_family(bodies: Bodies, rng: np.random.Generator) -> Bodies:
    """One maker, one mould: every piece shrinks alike and keeps the mould's thickness."""
    n = len(bodies.diameter_mm)
    one = replace(
        bodies,
        diameter_mm=np.full(n, float(np.median(bodies.diameter_mm))),
        effective_mm=np.full(n, float(np.median(bodies.effective_mm))),
        rim_mm=np.full(n, float(np.median(bodies.rim_mm))),
    )
    shrink = 1.0 - (0.0118 + rng.normal(0.0, 0.0004, n))
    return shrunk(one, shrink, 1.0 + rng.normal(0.0, 0.002, n), 0.011 + rng.normal(0.0, 0.002, n))


def shrunk(bodies: Bodies, shrink: Floats, thick: Floats, pores: Floats) -> Bodies:
    """Castings: ``shrink`` and ``thick`` multiply the diameter and both thicknesses,
    ``pores`` is the share of the metal that is air."""
    diameter = bodies.diameter_mm * shrink
    return replace(
        bodies,
        density_g_cm3=bodies.density_g_cm3 * (1.0 - pores),
        diameter_mm=diameter,
        short_mm=diameter.copy(),
        effective_mm=bodies.effective_mm * thick,
        rim_mm=bodies.rim_mm * thick,
    )


def _clipped(bodies: Bodies, rng: np.random.Generator) -> Bodies:
    """A segment of 1-3 mm cut off along a chord."""
    return clip(bodies, rng.uniform(1.0, 3.0, len(bodies.diameter_mm)))


def clip(bodies: Bodies, depth_mm: Floats) -> Bodies:
    """The segment of height ``depth_mm`` is gone; across the cut the coin is shorter."""
    radius = bodies.diameter_mm / 2.0
    to_chord = radius - depth_mm
    segment = radius**2 * np.arccos(to_chord / radius) - to_chord * np.sqrt(radius**2 - to_chord**2)
    lost = bodies.density_g_cm3 * segment * bodies.effective_mm / 1000.0
    return replace(bodies, short_mm=bodies.diameter_mm - depth_mm, extra_g=bodies.extra_g - lost)


def _filed(bodies: Bodies, rng: np.random.Generator) -> Bodies:
    """The edge filed all round by 0.05-0.2 mm of the radius."""
    diameter = bodies.diameter_mm - 2.0 * rng.uniform(0.05, 0.2, len(bodies.diameter_mm))
    return replace(bodies, diameter_mm=diameter, short_mm=diameter.copy())


def _plugged(bodies: Bodies, rng: np.random.Generator) -> Bodies:
    """Holed and filled again: up to 1 % of the weight either way, a little proud."""
    n = len(bodies.diameter_mm)
    return replace(
        bodies,
        extra_g=bodies.extra_g + bodies.weight_g * rng.uniform(-0.01, 0.01, n),
        rim_mm=bodies.rim_mm + rng.uniform(0.0, 0.05, n),
    )


def _bent(bodies: Bodies, rng: np.random.Generator) -> Bodies:
    """An honest coin bent: the caliper reads the bow."""
    n = len(bodies.diameter_mm)
    return replace(
        bodies,
        rim_mm=bodies.rim_mm + rng.uniform(0.1, 0.4, n),
        short_mm=bodies.short_mm - rng.uniform(0.02, 0.1, n),
    )


def _from_mount(bodies: Bodies, rng: np.random.Generator) -> Bodies:
    """Taken out of a mount: solder adds about 1 % of the weight and stands on the rim."""
    n = len(bodies.diameter_mm)
    return replace(
        bodies,
        extra_g=bodies.extra_g + bodies.weight_g * rng.uniform(0.008, 0.012, n),
        rim_mm=bodies.rim_mm + rng.uniform(0.05, 0.12, n),
    )


def _light_alloy(bodies: Bodies, rng: np.random.Generator) -> Bodies:
    """Struck at the right size in a poorer alloy, 2-5 % lighter by volume."""
    lighter = 1.0 - rng.uniform(0.02, 0.05, len(bodies.diameter_mm))
    return replace(bodies, density_g_cm3=bodies.density_g_cm3 * lighter)


_ALL = (
    Kind("brass, right size", _same_size("brass"), 0.5, False),
    Kind("copper, right size", _same_size("copper"), 0.5, False),
    Kind("pewter, right size", _same_size("pewter"), 0.5, False),
    Kind("lead alloy, right size", _same_size("lead alloy"), 0.5, False),
    Kind("brass, right weight", _same_weight("brass"), 0.5, False),
    Kind("copper, right weight", _same_weight("copper"), 0.5, False),
    Kind("nickel silver, right weight", _same_weight("nickel silver"), 0.5, False),
    Kind("light alloy", _light_alloy, 1.0, False),
    Kind("tungsten alloy", _same_size("tungsten alloy"), 1.0, False),
    Kind("tungsten alloy, right weight", _same_weight("tungsten alloy"), 1.0, False),
    Kind("nine carat, right size", _same_size("nine carat gold"), 1.0, False),
    Kind("from a mount", _from_mount, 1.0, True),
    Kind("cast", _cast, 1.0, True),
    Kind("cast, one mould", _cast_family, 1.0, True, one_host=True),
    Kind("clipped", _clipped, 1.0, True),
    Kind("filed", _filed, 1.0, True),
    Kind("plugged", _plugged, 1.0, True),
    Kind("bent", _bent, 1.0, True),
)
KINDS: Mapping[str, Kind] = {kind.name: kind for kind in _ALL}
