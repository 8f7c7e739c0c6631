"""Thickness by date: designs change within a type, and with them how high the rim stands.

The offset of each date from the type's line is a smooth course over the years plus a
date's own part; both spreads are chosen by the evidence of the lot. A coin is left out of
its own date in closed form.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.linalg import cho_factor, cho_solve

from lotscreen.records import Bools, Floats

_COURSE_SDS_MM = (0.0, 0.015, 0.03, 0.06)
_COURSE_YEARS = (6.0, 20.0)
_OWN_SDS_MM = (0.002, 0.008, 0.02)
_LEAST_COINS, _LEAST_DATES = 40, 4
_MATE_SDS = 3.5
_LEAST_WEIGHT = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class Relief:
    """What a lot says of its dates' thickness. By date: ``years``, ``coins`` that count,
    their mean residual ``mean_mm``. ``sd_mm`` of a single residual; ``course_sd_mm``,
    ``course_years`` and ``own_sd_mm`` the chosen spreads."""

    years: Floats
    coins: Floats
    mean_mm: Floats
    sd_mm: float
    course_sd_mm: float
    course_years: float
    own_sd_mm: float


def counts(residual_mm: Floats, sd_mm: float) -> Bools:
    """Whether a coin's residual counts for its date: those far off may not be mates."""
    return np.asarray(np.abs(residual_mm) < _MATE_SDS * sd_mm)


def fit_relief(residual_mm: Floats, year: Floats, honest: Floats, sd_mm: float) -> Relief | None:
    """Offsets by date from residuals about the type's line (1-D, NaN: not read), each coin
    counted by its chance to be ``honest`` (0..1); None where the lot is too small to tell."""
    use = np.isfinite(residual_mm) & np.isfinite(year) & counts(residual_mm, sd_mm)
    years, date = np.unique(year[use], return_inverse=True)
    if honest[use].sum() < _LEAST_COINS or len(years) < _LEAST_DATES:
        return None
    n = np.maximum(np.bincount(date, honest[use]), _LEAST_WEIGHT)
    mean = np.bincount(date, honest[use] * residual_mm[use]) / n
    options = [
        Relief(years, n, mean, sd_mm, course, span, own)
        for course in _COURSE_SDS_MM
        for span in (_COURSE_YEARS if course else _COURSE_YEARS[:1])
        for own in _OWN_SDS_MM
    ]
    return max(options, key=_log_evidence)


def _covariance(relief: Relief, a: Floats, b: Floats) -> Floats:
    apart = np.abs(a[:, None] - b[None, :])
    course = relief.course_sd_mm**2 * np.exp(-apart / relief.course_years)
    return np.asarray(course + relief.own_sd_mm**2 * (apart == 0))


def _total(relief: Relief) -> Floats:
    noise = np.diag(relief.sd_mm**2 / relief.coins)
    return np.asarray(_covariance(relief, relief.years, relief.years) + noise)


@dataclass(frozen=True, slots=True)
class _Solved:
    """Inverse of the covariance of the dates' means; each date's offset and its variance
    from the other dates alone."""

    inverse: Floats
    without: Floats
    doubt: Floats


@lru_cache(maxsize=64)
def _solved(relief: Relief) -> _Solved:
    inverse = np.asarray(np.linalg.inv(_total(relief)))
    own = 1 / np.diag(inverse)
    without = relief.mean_mm - own * (inverse @ relief.mean_mm)
    return _Solved(inverse, without, np.maximum(own - relief.sd_mm**2 / relief.coins, 1e-12))


def _log_evidence(relief: Relief) -> float:
    factor = cho_factor(_total(relief), lower=True)
    fitted = cho_solve(factor, relief.mean_mm)
    log_det = 2 * float(np.log(np.diag(factor[0])).sum())
    return -0.5 * (float(relief.mean_mm @ fitted) + log_det)


def offsets(
    relief: Relief, year: Floats, residual_mm: Floats, in_fit: Bools
) -> tuple[Floats, Floats]:
    """Mean and variance of each coin's offset (n,), mm and mm2; coins of the fit are left
    out of their own date. Undated coins: nothing but the spread."""
    solved = _solved(relief)
    spread = relief.course_sd_mm**2 + relief.own_sd_mm**2
    mean, variance = np.zeros(len(year)), np.full(len(year), spread)
    place = np.minimum(np.searchsorted(relief.years, year), len(relief.years) - 1)
    known = relief.years[place] == year
    other = np.isfinite(year) & ~known
    if other.any():
        cross = _covariance(relief, year[other], relief.years)
        mean[other] = cross @ (solved.inverse @ relief.mean_mm)
        variance[other] = spread - np.einsum("cd,de,ce->c", cross, solved.inverse, cross)
    without, doubt = solved.without[place[known]], solved.doubt[place[known]]
    n, date_mean = relief.coins[place[known]], relief.mean_mm[place[known]]
    residual = np.where(np.isfinite(residual_mm[known]), residual_mm[known], np.inf)
    taken = in_fit[known] & counts(residual, relief.sd_mm)
    left = np.where(taken, np.maximum(n - 1, 0.0), n)
    total = np.where(left > 0, n * date_mean - np.where(taken, residual, 0.0), 0.0)
    precision = 1 / doubt + left / relief.sd_mm**2
    mean[known] = (without / doubt + total / relief.sd_mm**2) / precision
    variance[known] = 1 / precision
    return mean, np.maximum(variance, 0.0)
