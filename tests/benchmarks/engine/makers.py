"""The simulator's kinds written out once more, as plain functions of every chance in them.

``oracle.py`` integrates over these; a test compares them with the simulator's own draws.
Nothing is shared with the engine. Large chances (how worn, how far shrunk, how much cut)
come as arrays of nodes; the small ones, all normal, are the fields of :class:`Small`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lotscreen.records import Floats
from lotscreen.simulate.kinds import DENSITY_G_CM3

_MM3_PER_CM3 = 1000.0
_RIM_WEAR_MEAN = 1.2


@dataclass(frozen=True, slots=True)
class Small:
    """The small chances of one coin, each normal about zero: the planchet's weight (share),
    struck diameter and rim (mm), how much faster the rim wears, a metal's density (share),
    the weight aimed at (share), and a false die's diameter and rim (mm)."""

    planchet: float = 0.0
    diameter: float = 0.0
    rim: float = 0.0
    rim_wear: float = 0.0
    metal: float = 0.0
    aimed: float = 0.0
    die: float = 0.0
    die_rim: float = 0.0


SMALL_SD = Small(
    planchet=math.nan, diameter=0.025, rim=0.025, rim_wear=0.2,
    metal=0.004, aimed=0.004, die=0.03, die_rim=0.02,
)  # fmt: skip
"""One standard deviation each; the planchet's depends on type and date."""


@dataclass(frozen=True, slots=True)
class Date:
    """What is true of a date's coins: the type's weight (g), diameter (mm) and density
    (g/cm3), mean depth worn and the rim's stand over the metal (mm; arrays for several
    dates at once)."""

    weight_g: float
    diameter_mm: float
    density_g_cm3: float
    depth_mm: Floats | float
    stand_mm: Floats | float


@dataclass(frozen=True, slots=True)
class Body:
    """True weight (g), diameter, effective thickness and thickness over the rim (mm)."""

    weight_g: Floats
    diameter_mm: Floats
    effective_mm: Floats
    rim_mm: Floats


def _disc_g(density: Floats | float, diameter_mm: Floats, effective_mm: Floats) -> Floats:
    return np.asarray(density * math.pi / 4.0 * diameter_mm**2 * effective_mm / _MM3_PER_CM3)


def _thickness_of(weight_g: Floats | float, density: float, diameter_mm: float) -> Floats:
    area = math.pi / 4.0 * diameter_mm**2
    return np.asarray(weight_g * _MM3_PER_CM3 / (density * area))


def _worn(
    density: float, diameter: float, effective: Floats, rim: Floats, depth: Floats, s: Small
) -> Body:
    across = diameter - 2.0 * depth
    left = np.maximum(effective - 2.0 * depth, 0.1 * effective)
    rim_left = rim - 2.0 * depth * (_RIM_WEAR_MEAN + s.rim_wear)
    return Body(_disc_g(density, across, left), across, left, rim_left)


def honest(date: Date, s: Small, wear: Floats, planchet: Floats | float = 0.0) -> Body:
    """Struck at the standard, worn ``wear`` times the mean depth of its date; ``planchet``
    (share) is added to the small chance of the same name."""
    diameter = date.diameter_mm + s.diameter
    weight = date.weight_g * (1.0 + s.planchet + planchet)
    effective = _thickness_of(weight, date.density_g_cm3, diameter)
    rim = effective + date.stand_mm + s.rim
    return _worn(date.density_g_cm3, diameter, effective, rim, date.depth_mm * wear, s)


def same_size(date: Date, s: Small, wear: Floats, metal: str) -> Body:
    """Another metal from dies taken off a coin; half as worn."""
    diameter = date.diameter_mm + s.diameter
    weight = date.weight_g * (1.0 + s.planchet)
    effective = _thickness_of(weight, date.density_g_cm3, diameter)
    rim = effective + date.stand_mm + s.rim + s.die_rim
    density = DENSITY_G_CM3[metal] * (1.0 + s.metal)
    return _worn(density, diameter + s.die, effective, rim, 0.5 * date.depth_mm * wear, s)


def same_weight(date: Date, s: Small, wear: Floats, metal: str) -> Body:
    """Another metal made up to the right weight by thickness; half as worn."""
    diameter = date.diameter_mm + s.diameter
    weight = date.weight_g * (1.0 + s.planchet)
    density = DENSITY_G_CM3[metal] * (1.0 + s.metal)
    effective = _thickness_of(weight * (1.0 + s.aimed), density, diameter)
    rim = effective + date.stand_mm + s.rim
    return _worn(density, diameter, effective, rim, 0.5 * date.depth_mm * wear, s)


def cast(date: Date, s: Small, wear: Floats, shrink: Floats, thick: Floats) -> Body:
    """Cast from a worn coin, without pores."""
    model = honest(date, s, wear)
    across, left = model.diameter_mm * shrink, model.effective_mm * thick
    weight = _disc_g(date.density_g_cm3, across, left)
    return Body(weight, across, left, model.rim_mm * thick)


def clipped(date: Date, s: Small, wear: Floats, share: Floats, across: Floats) -> Body:
    """A worn coin that lost ``share`` of its weight at a chord, measured where ``across``
    (share of the diameter) is left."""
    whole = honest(date, s, wear)
    return Body(
        whole.weight_g * (1.0 - share),
        whole.diameter_mm * across,
        whole.effective_mm,
        whole.rim_mm,
    )
