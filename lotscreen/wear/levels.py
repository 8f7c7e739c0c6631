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
from lotscreen.wear.grid import (
    LEVELS,
    LOG_WEAR,
    STEP,
    as_factor,
    gaussian_rows,
    without_traces,
)

SLOPES = (0.0, 0.5, 1.0)
_SLOPE_PRIOR = np.array([0.25, 0.25, 0.5])
SPREADS = (0.07, 0.15, 0.30, 0.45)
_SPREAD_PRIOR = np.array([0.25, 0.3, 0.25, 0.2])
_UNDATED_SPREAD = 0.7
_KERNELS: Floats = np.stack([gaussian_rows(s) for s in SPREADS])
_TO_EACH: Floats = np.concatenate(_KERNELS, axis=1)  # levels x (spreads x levels)
_FROM_ALL: Floats = np.concatenate(_KERNELS, axis=0)  # (spreads x levels) x levels
_UNDATED_KERNEL = gaussian_rows(_UNDATED_SPREAD)
_LEAST = 1e-300
_LOG_NOTHING = -40.0  # a weight this far below the largest is lost in rounding


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
    log_at = _log_at_line(likelihood, years, dated, prior)
    log_line = log_at.sum(axis=2) + np.log(np.maximum(_line_prior(prior), _LEAST))
    line = np.exp(log_line - log_line.max())
    line /= line.sum()
    without, columns = _without_each(log_line, log_at)
    posterior = _spread(without, columns, years, dated, prior) * likelihood
    posterior = without_traces(posterior / posterior.sum(axis=1, keepdims=True))
    return Levels(posterior, line, _slope_evidence(log_line))


def _log_at_line(likelihood: Floats, years: Floats, dated: Bools, prior: LinePrior) -> Floats:
    """Slopes x spreads x dates x levels of the line: log likelihood of each date."""
    dates = len(years)
    likelihood = as_factor(likelihood)
    smoothed = (likelihood @ _TO_EACH).reshape(dates, len(SPREADS), LEVELS)
    smoothed[~dated] = (likelihood[~dated] @ _UNDATED_KERNEL)[:, None, :]
    known = np.log(np.maximum(smoothed, _LEAST)).transpose(1, 0, 2).reshape(len(SPREADS), -1)
    rows = LEVELS * np.arange(dates)[:, None]
    at = np.stack([rows + _centres(_shift(years, dated, slope, prior)) for slope in SLOPES])
    at_line = np.take(known, at, axis=1)  # spreads x slopes x dates x levels
    return at_line.swapaxes(0, 1)


def _without_each(log_line: Floats, log_at: Floats) -> tuple[Floats, Ints]:
    """Weights of the line without each date, at the levels (their indices are returned too)
    where any weight counts."""
    log_without = log_line[:, :, None, :] - log_at
    log_without -= log_without.max(axis=(0, 1, 3), keepdims=True)
    columns = np.flatnonzero(log_without.max(axis=(0, 1, 2)) > _LOG_NOTHING)
    without = np.exp(log_without[..., columns])
    return without, columns


def spread_line(weights: Floats, years: Floats, dated: Bools, prior: LinePrior) -> Floats:
    """Dates x levels: the level the line (slopes x spreads x levels) leads to expect at
    ``years`` in use."""
    each = np.broadcast_to(weights[:, :, None, :], (*weights.shape[:2], len(years), LEVELS))
    return _spread(each, np.arange(LEVELS), years, dated, prior)


def _spread(
    weights: Floats, columns: Ints, years: Floats, dated: Bools, prior: LinePrior
) -> Floats:
    """Dates x levels from each date's own weights of the line, slopes x spreads x dates x
    ``columns`` (indices of levels): moved to the date's years, then spread about the line."""
    dates, size = len(years), len(years) * len(SPREADS) * LEVELS
    rows = np.arange(dates * len(SPREADS)).reshape(dates, len(SPREADS)).T[:, :, None] * LEVELS
    placed = np.zeros(size)
    for g, slope in enumerate(SLOPES):
        centres = _centres(_shift(years, dated, slope, prior))[:, columns]
        placed += np.bincount((rows + centres[None]).ravel(), weights[g].ravel(), size)
    by_date = placed.reshape(dates, -1)
    result = by_date @ _FROM_ALL
    if not dated.all():
        undated = by_date[~dated].reshape(-1, len(SPREADS), LEVELS).sum(axis=1)
        result[~dated] = undated @ _UNDATED_KERNEL
    return np.asarray(result / result.sum(axis=1, keepdims=True))


def _slope_evidence(log_line: Floats) -> Floats:
    log_joint = log_line - np.log(_SLOPE_PRIOR)[:, None, None]
    top = log_joint.max()
    return np.asarray(np.log(np.exp(log_joint - top).sum(axis=(1, 2))) + top)


def prior_line(prior: LinePrior) -> Floats:
    """The line's weights before any coin is seen (slopes x spreads x levels)."""
    return np.asarray(_line_prior(prior))
