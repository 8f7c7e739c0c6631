"""Apparent density of a coin against its lot-mates, in which wear cancels.

A worn coin is lighter and thinner together: its metal is no less dense. The volume of a
coin against that of an unworn mate is the square of its diameter's ratio times what its
thickness says (a coin of more metal is thicker over the rim by a part of it, as a worn one
is thinner by a part of what it lost). Mass over this volume is a density; a metal is
admitted where it lies within two standard uncertainties.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from lotscreen.records import Bools, ItemTable
from lotscreen.standards.alloys import load_alloys
from lotscreen.wear import Fit, TypeFit
from lotscreen.wear.lengths import judged_diameter

_SDS = 2.0
_LEAST_PER_WEAR = 0.5
"""The least part of a volume's change that shows in a thickness over the rim (assumed)."""


@dataclass(frozen=True, slots=True)
class ApparentDensity:
    """``density_g_cm3`` with one standard uncertainty, and the names of the metals on file
    that it admits, nearest first. ``relative`` is to an honest coin of the type."""

    density_g_cm3: float
    u_g_cm3: float
    relative: float
    admits: tuple[str, ...]


def apparent_densities(table: ItemTable, coins: Bools, fit: Fit) -> Mapping[str, ApparentDensity]:
    """By item id, for the ``coins`` read in weight, diameter and thickness whose type has a
    reference for both lengths."""
    found: dict[str, ApparentDensity] = {}
    for key, of_type in fit.types.items():
        if not (of_type.diameter.speaks and of_type.thickness.speaks):
            continue
        across = judged_diameter(table)[0]
        read = np.isfinite(table.weight_g) & np.isfinite(across) & np.isfinite(table.thickness_mm)
        for row in np.flatnonzero(coins & read & (table.type_key == key)):
            told = _density(table, int(row), float(across[row]), of_type)
            if told is not None:
                found[str(table.item_id[row])] = told
    return found


def _density(
    table: ItemTable, row: int, diameter_mm: float, fit: TypeFit
) -> ApparentDensity | None:
    """None where the readings leave no volume (a slip of the pen)."""
    across, thick = fit.diameter, fit.thickness
    per_volume = max(-thick.slope_mm / thick.reference_mm, _LEAST_PER_WEAR)
    wide = diameter_mm / across.reference_mm
    tall = 1 + (float(table.thickness_mm[row]) / thick.reference_mm - 1) / per_volume
    mass = float(table.weight_g[row]) / (fit.coin_type.weight_g * (1 + fit.struck.shift))
    if tall <= 0 or wide <= 0 or mass <= 0:
        return None
    relative = mass / (wide**2 * tall)
    u = np.sqrt(
        (float(table.weight_u_g[row]) / float(table.weight_g[row])) ** 2
        + (fit.struck.sd_g / fit.coin_type.weight_g) ** 2
        + (2 * np.hypot(across.sd_mm, across.u_reference_mm) / diameter_mm) ** 2
        + (np.hypot(thick.sd_mm, thick.u_reference_mm)
           / (thick.reference_mm * per_volume * tall)) ** 2
    )  # fmt: skip
    density = relative * fit.coin_type.density_g_cm3
    return ApparentDensity(density, float(u) * density, relative, _admitted(density, u * density))


def _admitted(density: float, u: float) -> tuple[str, ...]:
    off = {
        alloy.name: abs(alloy.density_g_cm3 - density) / float(np.hypot(u, alloy.sd))
        for alloy in load_alloys().values()
    }
    return tuple(sorted((name for name in off if off[name] <= _SDS), key=lambda n: (off[n], n)))
