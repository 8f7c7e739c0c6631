"""The level of wear of each date, pooled over dates.

The logarithm of a date's level is normal about a line in the logarithm of its years in
use: log level = a + g (log years - log reference years), spread tau. Slope g is 0 (date
does not explain wear), one half, or 1 (wear grows in proportion); a, g and tau are
averaged over, not plugged in. A date is left out of the line that judges it, in closed
form: the line's weights are divided by that date's own likelihood.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.records import Bools, Floats, Ints
from lotscreen.wear.grid import LEVELS, LOG_WEAR, STEP, gaussian_rows

SLOPES = (0.0, 0.5, 1.0)
_SLOPE_PRIOR = np.array([0.25, 0.25, 0.5])
SPREADS = (0.10, 0.22, 0.45)
_SPREAD_PRIOR = np.array([0.4, 0.35, 0.25])
_UNDATED_SPREAD = 0.7
_KERNELS = tuple(gaussian_rows(s) for s in SPREADS)
_UNDATED_KERNEL = gaussian_rows(_UNDATED_SPREAD)


@dataclass(frozen=True, slots=True)
class LinePrior:
    """Before the lot is seen: log level at the reference years is normal.

    ``log_level`` and ``log_sd`` are its mean and sd; ``reference_years`` years in use.
    """

    log_level: float
    log_sd: float
    reference_years: float


@dataclass(frozen=True, slots=True)
class Levels:
    """What the lot says of its dates' levels.

    ``posterior`` (dates x levels) is each date's level, its own coins included;
    ``line`` (slopes x spreads x levels) the weights of the line's parameters;
    ``slope_evidence`` the natural-log evidence of each slope, prior left out.
    """

    posterior: Floats
    line: Floats
    slope_evidence: Floats


def _shift(years: Floats, dated: Bools, slope: float, prior: LinePrior) -> Ints:
    log_ratio = np.log(np.where(dated, years, prior.reference_years) / prior.reference_years)
    return np.asarray(np.rint(slope * log_ratio / STEP), dtype=np.int64)


def _centres(shift: Ints) -> Ints:
    return np.asarray(np.clip(np.arange(LEVELS)[None, :] + shift[:, None], 0, LEVELS - 1))


def _line_prior(prior: LinePrior) -> Floats:
    z = (LOG_WEAR[:LEVELS] - prior.log_level) / prior.log_sd
    a = np.exp(-0.5 * z**2)
    a /= a.sum()
    return np.asarray(_SLOPE_PRIOR[:, None, None] * _SPREAD_PRIOR[None, :, None] * a[None, None, :])


def pool_levels(log_likelihood: Floats, years: Floats, dated: Bools, prior: LinePrior) -> Levels:
    """Pool the dates' own likelihoods (dates x levels, natural logs) over the line.

    ``years`` in use per date (> 0), ``dated`` False for the coins without date, whose
    level is spread wider about the line at the type's longest use.
    """
    likelihood = np.exp(log_likelihood - log_likelihood.max(axis=1, keepdims=True))
    smoothed = [likelihood @ k for k in _KERNELS]
    undated_smoothed = likelihood @ _UNDATED_KERNEL
    at_line = np.empty((len(SLOPES), len(SPREADS), len(years), LEVELS))
    for g, slope in enumerate(SLOPES):
        centres = _centres(_shift(years, dated, slope, prior))
        for t in range(len(SPREADS)):
            table = np.where(dated[:, None], smoothed[t], undated_smoothed)
            at_line[g, t] = np.take_along_axis(table, centres, axis=1)
    log_at = np.log(np.maximum(at_line, 1e-300))
    log_line = log_at.sum(axis=2) + np.log(np.maximum(_line_prior(prior), 1e-300))
    line = np.exp(log_line - log_line.max())
    line /= line.sum()
    log_without = log_line[:, :, None, :] - log_at
    without = np.exp(log_without - log_without.max(axis=(0, 1, 3), keepdims=True))
    without /= without.sum(axis=(0, 1, 3), keepdims=True)
    date_prior = spread_line(without, years, dated, prior)
    posterior = date_prior * likelihood
    posterior /= posterior.sum(axis=1, keepdims=True)
    return Levels(posterior, line, _slope_evidence(log_at, prior))


def spread_line(weights: Floats, years: Floats, dated: Bools, prior: LinePrior) -> Floats:
    """Dates x levels: the level the line leads to expect at ``years`` in use.

    ``weights`` is slopes x spreads x dates x levels, or without the dates' axis.
    """
    if weights.ndim == 3:
        weights = np.broadcast_to(weights[:, :, None, :], (*weights.shape[:2], len(years), LEVELS))
    rows = LEVELS * np.arange(len(years))[:, None]
    size = LEVELS * len(years)
    result = np.zeros((len(years), LEVELS))
    for g, slope in enumerate(SLOPES):
        flat = (rows + _centres(_shift(years, dated, slope, prior))).ravel()
        for t, kernel in enumerate(_KERNELS):
            placed = np.bincount(flat, weights[g, t].ravel(), size).reshape(-1, LEVELS)
            spread = np.where(dated[:, None], placed @ kernel, placed @ _UNDATED_KERNEL)
            result += spread
    return np.asarray(result / result.sum(axis=1, keepdims=True))


def _slope_evidence(log_at: Floats, prior: LinePrior) -> Floats:
    log_joint = log_at.sum(axis=2) + np.log(np.maximum(_line_prior(prior), 1e-300))
    log_joint = log_joint - np.log(_SLOPE_PRIOR)[:, None, None]
    top = log_joint.max()
    return np.asarray(np.log(np.exp(log_joint - top).sum(axis=(1, 2))) + top)


def prior_line(prior: LinePrior) -> Floats:
    """The line's weights before any coin is seen (slopes x spreads x levels)."""
    return np.asarray(_line_prior(prior))
