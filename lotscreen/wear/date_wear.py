"""Wear of coins of a date before they are read: three moments, and two normals for them.

Wear is right-skewed. Where its skew matters, the distribution is taken as two normals of
like mean, variance and skew, so that what follows stays in closed form.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.records import Floats
from lotscreen.wear import grid

_POWERS: Floats = np.stack([grid.WEAR**k for k in range(4)], axis=1)
_LEAST_VARIANCE = 1e-16
# A quarter of the coins are the more worn ones. As the ``lean`` of the pair grows from 0,
# its wider part moves out and widens, its narrower one narrows; the distance of their means
# follows from the variance.
_WORN_SHARE = 0.25
_LEAN: Floats = np.linspace(0.0, 1.6, 33)
_WIDER, _NARROWER = 1 + 0.2 * _LEAN, 1 - 0.4 * _LEAN
_ODDS = _WORN_SHARE / (1 - _WORN_SHARE)
_LEFT = 1 - _WORN_SHARE * _WIDER**2 - (1 - _WORN_SHARE) * _NARROWER**2
_OUT: Floats = np.sqrt(np.maximum(_LEFT, 0.0) / _ODDS)
_IN: Floats = _ODDS * _OUT
_SKEW: Floats = _WORN_SHARE * (_OUT**3 + 3 * _OUT * _WIDER**2) - (1 - _WORN_SHARE) * (
    _IN**3 + 3 * _IN * _NARROWER**2
)


@dataclass(frozen=True, slots=True)
class DateWear:
    """Wear of honest coins of n dates before the reading is seen: mean, sd and skewness of
    the share of weight lost (n,)."""

    mean: Floats
    sd: Floats
    skew: Floats

    def two_normals(self) -> tuple[tuple[float, Floats, Floats], ...]:
        """Share, means and sds (n,) of each of two normals which together have these moments;
        a skewness below 0 or above 1.8 is taken as that."""
        wider, narrower, out, back = (
            np.interp(self.skew, _SKEW, of) for of in (_WIDER, _NARROWER, _OUT, _IN)
        )
        return (
            (_WORN_SHARE, self.mean + out * self.sd, wider * self.sd),
            (1 - _WORN_SHARE, self.mean - back * self.sd, narrower * self.sd),
        )


def date_wear(wear: Floats) -> DateWear:
    """Moments of n distributions over the wear grid (n x grid), up to a factor each."""
    mass, first, second, third = (wear @ _POWERS).T
    mass = np.maximum(mass, 1e-300)
    mean = first / mass
    variance = np.maximum(second / mass - mean**2, _LEAST_VARIANCE)
    skew = (third / mass - 3 * mean * variance - mean**3) / variance**1.5
    return DateWear(mean, np.sqrt(variance), skew)


def mean_and_sd(wear: Floats) -> tuple[Floats, Floats]:
    """Mean and sd (n,) of n distributions over the wear grid, up to a factor each."""
    mass = np.maximum(wear.sum(axis=1), 1e-300)
    mean = wear @ grid.WEAR / mass
    square = wear @ np.square(grid.WEAR) / mass
    return mean, np.sqrt(np.maximum(square - np.square(mean), 0.0))
