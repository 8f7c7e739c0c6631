"""How much a coin can lose before it is slick: no design, no date, no type to be judged.

Working values for slick coins (8 % of a dollar, 10 % of a half, 13 % of a quarter, 17 %
of a dime: common practice, no source) are within a tenth one and the same depth, 0.08 mm off
both faces and the edge.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr

from lotscreen.records import Floats
from lotscreen.standards.coin_type import CoinType
from lotscreen.wear import grid
from lotscreen.wear.surface import effective_thickness_mm

SLICK_DEPTH_MM = 0.08
_SLICK_WITHOUT_DIAMETER = 0.2
# How unlike the depths are at which coins are called slick, sd of the logarithm (assumed).
_SHOULDER = 0.08


def slick_wear(coin_type: CoinType) -> float:
    """Share of the weight lost when a coin of the type is slick."""
    return loss_at_depth(coin_type, SLICK_DEPTH_MM)


def loss_at_depth(coin_type: CoinType, depth_mm: float) -> float:
    """Share of the weight lost when ``depth_mm`` is worn off both faces and the edge; where no
    diameter is on file, in proportion to what slick coins are taken to have lost."""
    thickness, across = effective_thickness_mm(coin_type), coin_type.diameter_mm
    if thickness is None or across is None:
        return _SLICK_WITHOUT_DIAMETER * depth_mm / SLICK_DEPTH_MM
    left = max(1 - 2 * depth_mm / thickness, 0.0)
    return 1 - left * (1 - 2 * depth_mm / across) ** 2


def depth_at_loss(coin_type: CoinType, loss: float) -> float:
    """Depth worn off both faces and the edge, mm, of a coin that has lost the share ``loss``
    (0 to 1) of its weight: the inverse of :func:`loss_at_depth`."""
    across = coin_type.diameter_mm
    deepest = SLICK_DEPTH_MM / _SLICK_WITHOUT_DIAMETER if across is None else across / 2
    return float(brentq(lambda depth: loss_at_depth(coin_type, depth) - loss, 0.0, deepest))


def legible(wear: Floats, coin_type: CoinType) -> Floats:
    """Distributions over the wear grid (the last axis), cut with a soft shoulder where coins
    are slick."""
    kept = wear * still_legible(coin_type)
    return np.asarray(kept / kept.sum(axis=-1, keepdims=True))


def still_legible(coin_type: CoinType) -> Floats:
    """Share of coins of each wear of the grid that are not yet slick."""
    return np.asarray(ndtr((np.log(slick_wear(coin_type)) - grid.LOG_WEAR) / _SHOULDER))
