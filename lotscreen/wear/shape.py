"""The shape of u, the factor by which a coin's wear departs from its date's level.

No family is assumed: the logarithm of the density on the logarithmic grid is a smooth
cubic spline. Penalising its third differences makes the lognormal (a parabola) the limit
of little data. A tail of heavy wear that falls off more slowly than a lognormal of log-sd
0.75 is penalised too, or light pieces that are not honest would be taken as much worn. A
default shape worth a few coins stands in where the lot is small.
"""

from __future__ import annotations

import numpy as np
from scipy.interpolate import BSpline
from scipy.special import log_softmax, softmax

from lotscreen.records import Floats
from lotscreen.wear.grid import FACTOR, OFFSETS, STEP

_KNOT_SPACING = 0.45
_PENALTY = 10.0
_DEFAULT_WORTH_COINS = 15.0
_DEFAULT_GAMMA_SHAPE, _DEFAULT_GAMMA_PART = 2.0, 0.7
TAIL_LOG_SD = 0.75
_TAIL_FROM, _TAIL_PENALTY = 1.5, 10.0


def _basis() -> Floats:
    x = STEP * OFFSETS
    inner = np.arange(x[0], x[-1] + _KNOT_SPACING, _KNOT_SPACING)
    knots = np.concatenate([np.repeat(inner[0], 3), inner, np.repeat(inner[-1], 3)])
    return np.asarray(BSpline.design_matrix(x, knots, 3).toarray())


_BASIS = _basis()
_THIRD = np.diff(np.eye(_BASIS.shape[1]), n=3, axis=0)
_PROJECTION = np.linalg.pinv(_BASIS)
_PENALTY_MATRIX = _PENALTY * _THIRD.T @ _THIRD + 1e-6 * np.eye(_BASIS.shape[1])
_BEND = np.diff(np.eye(len(FACTOR)), n=2, axis=0)[FACTOR[1:-1] > _TAIL_FROM] / STEP**2
_BEND_OF_BASIS = _BEND @ _BASIS
_TAIL_WEIGHT = _TAIL_PENALTY * STEP


def default_shape() -> Floats:
    """Seven tenths a gamma of shape 2 and mean 1 on the grid of u (common practice, no
    source), three tenths the lognormal of like mean and variance: how heavy the tail is, no
    source says, and with these parts small lots in four worlds of wear are alarmed most
    nearly as often as stated."""
    return np.exp(_DEFAULT)


def _default_log_density() -> Floats:
    gamma = softmax(_DEFAULT_GAMMA_SHAPE * (np.log(FACTOR) - FACTOR))
    variance = np.log(1 + 1 / _DEFAULT_GAMMA_SHAPE)
    lognormal = softmax(-np.square(np.log(FACTOR) + variance / 2) / (2 * variance))
    return np.asarray(np.log(_DEFAULT_GAMMA_PART * gamma + (1 - _DEFAULT_GAMMA_PART) * lognormal))


_DEFAULT = _default_log_density()


def smooth_shape(
    counts: Floats, start: Floats, newton_steps: int = 4, expected: Floats | None = None
) -> Floats:
    """The penalised maximum-likelihood shape for expected ``counts`` on the grid of u.

    ``start`` is a shape to start from, ``expected`` the shape before the lot is seen (the
    default one when not given); returns probabilities that sum to one.
    """
    base = _DEFAULT if expected is None else np.log(np.maximum(expected, 1e-200))
    target = counts + _DEFAULT_WORTH_COINS * np.exp(base)
    total = target.sum()
    beta = _PROJECTION @ (np.log(np.maximum(start, 1e-12)) - base)
    flat = _BEND @ base + 1 / TAIL_LOG_SD**2
    for _ in range(newton_steps):
        p = softmax(base + _BASIS @ beta)
        excess = flat + _BEND_OF_BASIS @ beta
        over = excess > 0
        bent = _TAIL_WEIGHT * _BEND_OF_BASIS[over].T
        gradient = _BASIS.T @ (target - total * p) - _PENALTY_MATRIX @ beta
        gradient -= bent @ excess[over]
        weighted = _BASIS * p[:, None]
        mean = weighted.sum(axis=0)
        hessian = total * (_BASIS.T @ weighted - np.outer(mean, mean)) + _PENALTY_MATRIX
        hessian += bent @ _BEND_OF_BASIS[over]
        step = np.linalg.solve(hessian, gradient)
        beta = beta + step * min(1.0, 4.0 / (1e-12 + float(np.abs(step).max())))
    return np.asarray(np.exp(log_softmax(base + _BASIS @ beta)))
