"""Robust z of each reading and the joint rate among honest coins."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc, gammaln, ndtr, ndtri, stdtr

from lotscreen.evidence.points import CoinReadings, gauge_density, log_excess
from lotscreen.records import Bools, Floats, ItemTable
from lotscreen.wear import GaugeFit, TypeFit
from lotscreen.wear.predict import Predicted, predictor

_LARGEST_Z = 37.0


@dataclass(frozen=True, slots=True)
class Departures:
    """Departure of n coins of one type from honest ones, arrays (n,).

    ``z_*`` normal deviates (NaN: did not speak), ``p_*`` the two-sided rate of honest
    coins as far off in that reading alone (thickness and diameter given the wear that
    the weight shows), ``p_joint`` all readings together, ``log10_p`` its log without
    floor. ``predicted`` and ``readings`` are what they were computed from.
    """

    z_weight: Floats
    z_diameter: Floats
    z_thickness: Floats
    p_weight: Floats
    p_diameter: Floats
    p_thickness: Floats
    p_joint: Floats
    log10_p: Floats
    predicted: Predicted
    readings: CoinReadings


def departures(coins: ItemTable, fit: TypeFit, in_fit: Bools) -> Departures:
    """Departures of ``coins`` (one type, all with a weight) from honest coins."""
    seen = predictor(fit).predict(
        coins.weight_low_g, coins.weight_high_g, coins.weight_u_g, coins.year, in_fit
    )
    diameter, excess = judged_diameter(coins)
    readings = CoinReadings(
        coins.weight_low_g, coins.weight_high_g, coins.weight_u_g, diameter, coins.diameter_u_mm,
        excess, coins.thickness_mm, seen.wear_points,
    )  # fmt: skip
    z_weight, p_weight = _weight(seen)
    z_diameter = gauge_z(diameter, fit.diameter, seen.wear, seen.wear_sd)
    z_thickness = gauge_z(coins.thickness_mm, fit.thickness, seen.wear, seen.wear_sd)
    p_diameter, p_thickness = _two_sided(z_diameter), _two_sided(z_thickness)
    log10_p, p_joint = _joint(p_weight, z_diameter, z_thickness)
    return Departures(
        z_weight, z_diameter, z_thickness, p_weight, p_diameter, p_thickness, p_joint,
        log10_p, seen, readings,
    )  # fmt: skip


def judged_diameter(coins: ItemTable) -> tuple[Floats, Floats]:
    """The diameter to judge, mm (the smallest where taken, else the mean), and by how
    much the largest exceeds it (NaN where not both were taken)."""
    least, most = coins.diameter_min_mm, coins.diameter_max_mm
    both = np.isfinite(least) & np.isfinite(most)
    return np.where(np.isfinite(least), least, coins.diameter_mm), np.where(
        both, most - least, np.nan
    )


def _weight(seen: Predicted) -> tuple[Floats, Floats]:
    below, above = seen.p_low - 0.5 * seen.cell, seen.p_high - 0.5 * seen.cell
    z = np.where(below < above, ndtri(np.maximum(below, 1e-299)), -ndtri(np.maximum(above, 1e-299)))
    by_lot = 2 * np.minimum(seen.p_low, seen.p_high)
    by_standard = 2 * np.minimum(seen.standard_p_low, seen.standard_p_high)
    p = np.clip(np.minimum(by_lot, by_standard), 1e-299, 1.0)
    return np.clip(z, -_LARGEST_Z, _LARGEST_Z), p


def gauge_z(value_mm: Floats, gauge: GaugeFit, wear: Floats, wear_sd: Floats) -> Floats:
    """Normal deviate of a length from lot and standard given the coin's wear, NaN where
    it was not read or has no reference."""
    if not gauge.speaks:
        return np.full(len(value_mm), np.nan)
    mean = gauge.reference_mm + gauge.slope_mm * wear
    sd = np.sqrt(gauge.sd_mm**2 + gauge.u_reference_mm**2 + np.square(gauge.slope_mm * wear_sd))
    t = (value_mm - mean) / sd
    tail = stdtr(gauge.freedom, -np.abs(t))
    z = -ndtri(np.maximum(tail, 1e-299)) * np.sign(t)
    return np.clip(z, -_LARGEST_Z, _LARGEST_Z)


def _two_sided(z: Floats) -> Floats:
    return np.asarray(2 * ndtr(-np.abs(z)))


def _joint(p_weight: Floats, z_diameter: Floats, z_thickness: Floats) -> tuple[Floats, Floats]:
    z_weight = -ndtri(0.5 * p_weight)
    stack = np.stack([z_weight, z_diameter, z_thickness])
    spoke = np.isfinite(stack).sum(axis=0)
    square = np.nansum(np.square(stack), axis=0)
    log10_p = np.where(spoke == 1, np.log10(p_weight), _log10_chi2(square, spoke))
    return log10_p, np.power(10.0, np.maximum(log10_p, -290.0))


def _log10_chi2(square: Floats, freedom: Floats) -> Floats:
    """log10 of the upper tail of chi-squared, by its leading term where it underflows."""
    half = 0.5 * np.maximum(square, 1e-9)
    far = -half + (0.5 * freedom - 1) * np.log(half) - gammaln(0.5 * freedom)
    near = np.log(np.maximum(chdtrc(freedom, square), 1e-280))
    return np.asarray(np.where(square > 1000, far, near) / np.log(10))


def log_gauge_given(found: Departures, fit: TypeFit) -> Floats:
    """Natural log density of diameter, its excess and thickness of honest coins given
    the wear that each coin's weight shows, n; nothing for what did not speak."""
    total = np.zeros(len(found.z_weight))
    for value, gauge in (
        (found.readings.diameter_mm, fit.diameter),
        (found.readings.thickness_mm, fit.thickness),
    ):
        if not gauge.speaks:
            continue
        wear, wear_sd = found.predicted.wear, found.predicted.wear_sd
        total += np.where(np.isfinite(value), _log_length(value, gauge, wear, wear_sd), 0.0)
    return total + log_excess(found.readings.excess_mm, found.readings.diameter_u_mm)


def _log_length(value_mm: Floats, gauge: GaugeFit, wear: Floats, wear_sd: Floats) -> Floats:
    mean = gauge.reference_mm + gauge.slope_mm * wear
    sd = np.sqrt(gauge.sd_mm**2 + gauge.u_reference_mm**2 + np.square(gauge.slope_mm * wear_sd))
    return np.log(gauge_density((value_mm - mean) / sd) / sd)
