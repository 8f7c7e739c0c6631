"""Density of a coin from its weight in air and in water."""

from __future__ import annotations

import math

from lotscreen.records import InputError
from lotscreen.words import say

AIR_G_CM3 = 0.0012
"""Density of air taken for granted by conventional mass (OIML D 28)."""

USUAL_TEMPERATURE_C = 20.0
_LOWEST_C, _HIGHEST_C = 0.0, 40.0


def water_known(temperature_c: float) -> bool:
    """Whether the formula for the density of water holds at a temperature."""
    return _LOWEST_C <= temperature_c <= _HIGHEST_C


def water_density(temperature_c: float) -> float:
    """Density of air-free water, g/cm3, from 0 to 40 degrees Celsius (InputError elsewhere).

    Tanaka and others, Metrologia 38 (2001) 301, the formula for air-free water of the mean
    ocean composition at 101 325 Pa.
    """
    if not water_known(temperature_c):
        raise InputError(say("second_tests.error.temperature", value=temperature_c))
    t = temperature_c
    share = (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881))
    return 0.999974950 * (1 - share)


def density_from_immersed(air_g: float, immersed_g: float, temperature_c: float) -> float:
    """Density, g/cm3, of a coin that reads ``air_g`` in air and ``immersed_g`` hanging in
    water, thread taken off; buoyancy in air allowed for. NaN where it does not sink."""
    if not 0.0 <= immersed_g < air_g:
        return math.nan
    water = water_density(temperature_c)
    return (air_g * water - immersed_g * AIR_G_CM3) / (air_g - immersed_g)


def density_from_displaced(air_g: float, displaced_g: float, temperature_c: float) -> float:
    """Density, g/cm3, of a coin that reads ``air_g`` in air and adds ``displaced_g`` to a
    beaker of water in which it hangs. NaN where nothing is displaced."""
    if displaced_g <= 0.0:
        return math.nan
    return air_g * water_density(temperature_c) / displaced_g + AIR_G_CM3
