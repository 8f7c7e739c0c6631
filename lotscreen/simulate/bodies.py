"""A coin as a body: a disc of metal with a rim; striking it and wearing it.

The disc has an *effective* thickness (volume over area); a caliper over the rim reads
more, because the rim stands above the field. Lengths mm, weights g, densities g/cm3.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from lotscreen.records import Floats
from lotscreen.standards.coin_type import CoinType

_MM3_PER_CM3 = 1000.0

# One standard deviation each, assumed (common practice, no source).
_PLANCHET_SD_OF_REMEDY = 0.4
_PLANCHET_SD_SHARE_AT_MOST = 0.004
_REMEDY_WHEN_NONE = 0.006
_ISSUE_SD_SHARE = 0.0002
_STRUCK_DIAMETER_SD_MM = 0.025
_RIM_SD_MM = 0.025
_CATALOGUE_RIM_SD_MM = 0.03
_DESIGN_RIM_SD_MM = 0.03
_RIM_WEAR_MEAN, _RIM_WEAR_SD = 1.2, 0.2
_RIM_PER_EFFECTIVE_WHEN_NONE = 1.0 / 0.77


@dataclass(frozen=True, slots=True)
class Bodies:
    """Arrays of one length: density, diameter, effective thickness, thickness over the
    rim. ``short_mm`` is the smallest diameter where the outline is no longer round."""

    density_g_cm3: Floats
    diameter_mm: Floats
    effective_mm: Floats
    rim_mm: Floats
    short_mm: Floats
    extra_g: Floats

    @property
    def weight_g(self) -> Floats:
        """Density times the volume of the disc, plus metal added or taken elsewhere."""
        area = math.pi / 4.0 * self.diameter_mm**2
        return (
            np.asarray(self.density_g_cm3 * area * self.effective_mm / _MM3_PER_CM3) + self.extra_g
        )

    def rows(self, index: np.ndarray) -> Bodies:
        """The bodies at ``index`` (mask or positions)."""
        return Bodies(
            self.density_g_cm3[index],
            self.diameter_mm[index],
            self.effective_mm[index],
            self.rim_mm[index],
            self.short_mm[index],
            self.extra_g[index],
        )

    def put(self, index: np.ndarray, other: Bodies) -> None:
        """Write ``other`` into the places ``index``."""
        self.density_g_cm3[index] = other.density_g_cm3
        self.diameter_mm[index] = other.diameter_mm
        self.effective_mm[index] = other.effective_mm
        self.rim_mm[index] = other.rim_mm
        self.short_mm[index] = other.short_mm
        self.extra_g[index] = other.extra_g


def strike(
    coin_type: CoinType,
    years: np.ndarray,
    designs: tuple[int, ...],
    weight_shift_share: float,
    rng: np.random.Generator,
    rim_stands_mm: Floats | None = None,
) -> Bodies:
    """New coins of ``coin_type``, one a year of ``years``: planchets within the remedy,
    struck in a collar, each design with a rim of its own height (``rim_stands_mm``, one a
    design as :func:`rim_stands` draws them; drawn where None)."""
    n = len(years)
    diameter = (coin_type.diameter_mm or math.nan) + rng.normal(0.0, _STRUCK_DIAMETER_SD_MM, n)
    density = np.full(
        n, coin_type.density_g_cm3 + rng.normal(0.0, 0.5 * coin_type.density_sd_g_cm3)
    )
    weight = _planchets(coin_type, years, rng) * (1.0 + weight_shift_share)
    effective = weight * _MM3_PER_CM3 / (density * math.pi / 4.0 * diameter**2)
    stands = rim_stands(coin_type, designs, rng) if rim_stands_mm is None else rim_stands_mm
    which = np.searchsorted(np.asarray(designs, dtype=np.int64), years, side="right")
    rim = effective + (stands[which] + rng.normal(0.0, _RIM_SD_MM, n))
    return Bodies(density, diameter, effective, rim, diameter.copy(), np.zeros(n))


def _planchets(coin_type: CoinType, years: np.ndarray, rng: np.random.Generator) -> Floats:
    """Planchet weights: each year's issue a little off; a piece outside the remedy went
    back and another, somewhere within, took its place. A mint works no worse than
    ``_PLANCHET_SD_SHARE_AT_MOST`` where the law is lax (the dime's remedy is 3.9 %)."""
    standard = coin_type.weight_g
    issues, issue = np.unique(years, return_inverse=True)
    law = [coin_type.remedy_g(int(year)) or _REMEDY_WHEN_NONE * standard for year in issues]
    remedy = np.array(law)[issue]
    sd = np.minimum(_PLANCHET_SD_OF_REMEDY * remedy, _PLANCHET_SD_SHARE_AT_MOST * standard)
    issue_mean = rng.normal(0.0, _ISSUE_SD_SHARE, len(issues)) * standard
    deviation = rng.normal(0.0, 1.0, len(years)) * sd + issue_mean[issue]
    replaced = np.abs(deviation) > remedy
    deviation[replaced] = (sd * rng.uniform(-1.0, 1.0, len(years)))[replaced]
    return np.asarray(standard + deviation)


def rim_stands(coin_type: CoinType, designs: tuple[int, ...], rng: np.random.Generator) -> Floats:
    """How much the caliper over the rim reads above the effective thickness, in mm, one a
    design (the one before the first of ``designs``, then each of them).

    The catalogue figure is only about right for a type, and each design stands its own
    height above or below it.
    """
    diameter = coin_type.diameter_mm or math.nan
    flat = (
        coin_type.weight_g * _MM3_PER_CM3 / (coin_type.density_g_cm3 * math.pi / 4.0 * diameter**2)
    )
    over_rim = coin_type.thickness_mm or flat * _RIM_PER_EFFECTIVE_WHEN_NONE
    catalogue = over_rim - flat + rng.normal(0.0, _CATALOGUE_RIM_SD_MM)
    return np.asarray(catalogue + rng.normal(0.0, _DESIGN_RIM_SD_MM, len(designs) + 1))


def wear_down(bodies: Bodies, depth_mm: Floats, rng: np.random.Generator) -> Bodies:
    """Take ``depth_mm`` from every surface: both faces and the edge. The rim, which lies
    on the table, loses somewhat more than the field and unequally from coin to coin."""
    rim_loss = (
        2.0 * depth_mm * np.maximum(rng.normal(_RIM_WEAR_MEAN, _RIM_WEAR_SD, len(depth_mm)), 0.0)
    )
    return replace(
        bodies,
        diameter_mm=bodies.diameter_mm - 2.0 * depth_mm,
        effective_mm=np.maximum(bodies.effective_mm - 2.0 * depth_mm, 0.1 * bodies.effective_mm),
        rim_mm=bodies.rim_mm - rim_loss,
        short_mm=bodies.short_mm - 2.0 * depth_mm,
    )
