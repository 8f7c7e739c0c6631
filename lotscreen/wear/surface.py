"""What wear of one depth all over takes from a coin: geometry of a flat round body."""

from __future__ import annotations

import math

from lotscreen.standards.coin_type import CoinType

_MM3_PER_CM3 = 1000.0
_USUAL_FLATNESS = 18.7
"""Diameter over effective thickness of a half, for types without a diameter on file; the
others on file lie between 10 and 41."""


def effective_thickness_mm(coin_type: CoinType) -> float | None:
    """Volume over area of an unworn coin; None where no diameter is on file."""
    if coin_type.diameter_mm is None:
        return None
    area_mm2 = math.pi / 4 * coin_type.diameter_mm**2
    return _MM3_PER_CM3 * coin_type.weight_g / coin_type.density_g_cm3 / area_mm2


def diameter_per_wear(coin_type: CoinType) -> float:
    """Relative loss of diameter per share of weight lost.

    A depth x off every surface takes 2x off diameter D and thickness t, so 2x / D of the
    one and 2x (2 / D + 1 / t) of the weight. A half: 46 um cost 6.2 % of weight and 0.09 mm.
    """
    thickness = effective_thickness_mm(coin_type)
    if thickness is None or coin_type.diameter_mm is None:
        return 1 / (2 + _USUAL_FLATNESS)
    return 1 / (2 + coin_type.diameter_mm / thickness)
