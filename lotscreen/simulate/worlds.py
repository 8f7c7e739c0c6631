"""Four worlds of wear: how unequally coins of one age have worn, mean one.

Which one a real lot lives in is not known; a method that holds in one only is no
method. The four differ in their tails, which is where findings are made.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np

from lotscreen.records import Floats

_LOGNORMAL_SD = 0.6
_WEIBULL_SHAPE = 1.4
_HOARD_SHARE = 0.3
_HOARD_MEAN = 0.08


def _gamma(rng: np.random.Generator, n: int) -> Floats:
    return rng.gamma(2.0, 0.5, n)


def _lognormal(rng: np.random.Generator, n: int) -> Floats:
    return np.exp(rng.normal(-0.5 * _LOGNORMAL_SD**2, _LOGNORMAL_SD, n))


def _weibull(rng: np.random.Generator, n: int) -> Floats:
    return np.asarray(rng.weibull(_WEIBULL_SHAPE, n) / math.gamma(1.0 + 1.0 / _WEIBULL_SHAPE))


def _hoard(rng: np.random.Generator, n: int) -> Floats:
    """Three in ten lay unworn in a hoard whatever their date, the others circulated."""
    hoarded = rng.random(n) < _HOARD_SHARE
    circulated_mean = (1.0 - _HOARD_SHARE * _HOARD_MEAN) / (1.0 - _HOARD_SHARE)
    scale = np.where(hoarded, _HOARD_MEAN, circulated_mean)
    return np.asarray(scale * rng.gamma(3.0, 1.0 / 3.0, n))


WORLDS: Mapping[str, Callable[[np.random.Generator, int], Floats]] = {
    "gamma": _gamma,
    "lognormal": _lognormal,
    "weibull": _weibull,
    "hoard and circulation": _hoard,
}
