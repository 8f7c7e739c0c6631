"""Fitting the honest weight distribution of one type by expectation-maximisation.

Alternates between the levels of the dates (pooled, averaged over), the shape of wear
about them, the struck spread and shift, and the part that is not honest coin. Works on
distinct (date, cell) counts, so time does not grow with equal readings.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from lotscreen.instruments import ScaleBelief
from lotscreen.records import Floats
from lotscreen.settings import Settings
from lotscreen.standards.coin_type import CoinType
from lotscreen.wear import false_part, grid
from lotscreen.wear.cell_counts import CellCounts
from lotscreen.wear.grades import grade_posterior, grade_prior, grade_shape
from lotscreen.wear.known import Known, known_of
from lotscreen.wear.levels import Levels, LinePrior, pool_levels
from lotscreen.wear.shape import default_shape, smooth_shape
from lotscreen.wear.struck import VARIANCE_FACTOR, Struck, cell_moments, cells_given_wear
from lotscreen.wear.type_fit import years_in_use

_STRUCK_PRIOR_COINS = 20.0
_LARGEST_STRUCK_SHARE = 0.005
_STRUCK_SHARE_WITHOUT_REMEDY = 0.003
_RENEWED = 4  # rounds between two updates of the struck weight and its tables
_LEAST_KNOWN = 0.1  # of the information on the struck spread, were wear known
_LONGEST_STEP = 0.5  # of its log variance
_SETTLED = 1e-4  # gain of log likelihood a coin in one round


@dataclass(frozen=True, slots=True)
class WeightFit:
    """The fitted honest weight distribution; fields as in :class:`TypeFit`."""

    struck: Struck
    struck_prior_sd_g: float
    shape: Floats
    slick_known: float
    false_share: float
    strips: Floats
    levels: Levels
    prior: LinePrior
    years: Floats
    date_coins: Floats
    grade_coins: Floats | None = None
    grade_posterior: Floats | None = None
    grade_shape: Floats | None = None


def struck_prior_sd_g(coin_type: CoinType, year: float, settings: Settings) -> float:
    """Spread of newly struck coins expected before the lot is seen, in g.

    ``struck_sd_of_remedy`` times the remedy in force, at most 0.5 % of the standard;
    0.3 % where no remedy is on file (both assumed).
    """
    remedy = coin_type.remedy_g(year)
    if remedy is None:
        return _STRUCK_SHARE_WITHOUT_REMEDY * coin_type.weight_g
    return min(settings.struck_sd_of_remedy * remedy, _LARGEST_STRUCK_SHARE * coin_type.weight_g)


def line_prior(
    coin_type: CoinType, years: Floats, counts: Floats, end: int, settings: Settings
) -> LinePrior:
    """The line expected before the lot is seen, at the lot's typical years in use."""
    used = years_in_use(years, end)
    dated = np.isfinite(years)
    longest = max(float(end - coin_type.first_year), 1.0)
    if dated.any():
        weights = counts[dated]
        weights = weights if weights.any() else np.ones(len(weights))
        reference = float(np.exp(np.average(np.log(used[dated]), weights=weights)))
    else:
        reference = longest
    rate = coin_type.wear_per_year * settings.wear_factor
    return LinePrior(float(np.log(rate * reference)), coin_type.wear_log_sd, reference)


def fit_weights(
    coin_type: CoinType, cells: CellCounts, belief: ScaleBelief, end: int, settings: Settings,
    start: WeightFit | None = None, apart: bool = False,
) -> WeightFit:  # fmt: skip
    """Fit the honest weight distribution to ``cells`` (at least one coin).

    ``belief`` is what is known of the balance, ``end`` the year circulation ended,
    ``start`` an earlier fit to go on from. ``apart``: the counts are already of honest
    coins, each by its chance to be one; no part is then absorbed as departing.
    """
    prior = line_prior(coin_type, cells.years, cells.date_coins, end, settings)
    typical_year = float(np.nanmedian(cells.years)) if np.isfinite(cells.years).any() else np.nan
    prior_sd = struck_prior_sd_g(coin_type, typical_year, settings)
    state = _Expectation(cells, coin_type, prior, end)
    struck = Struck(coin_type.weight_g, belief.error, prior_sd, belief.sd)
    shape, share, strips = default_shape(), false_part.PRIOR_SHARE, false_part.start_strips()
    by_grade = None if cells.graded is None else grade_shape()
    if start is not None:
        struck, shape = start.struck, start.shape
        state.known = known_of(coin_type, start.slick_known)
        share, strips = start.false_share, start.strips
        by_grade = start.grade_shape
    rounds = 70 if state.total >= 30 else 25 if state.total >= 8 else 4
    last, least = -np.inf, 8 if start is None else 4
    for turn in range(rounds):
        if turn % _RENEWED == 0:
            state.renew_cells(struck)
        step = state.expect(shape, 0.0 if apart else share, strips, by_grade)
        state.known = state.known.learned(step.wear_counts.sum(axis=0), step.missing)
        shape = smooth_shape(step.shape_counts, shape)
        if by_grade is not None and step.grade_counts is not None:
            by_grade = smooth_shape(step.grade_counts, by_grade, expected=grade_shape())
        if turn % _RENEWED == _RENEWED - 1:
            struck = _update_struck(struck, step, cells, prior_sd, belief, settings)
        if not apart:
            share, strips = false_part.update(step.false_counts, state.total)
        if abs(step.log_likelihood - last) < _SETTLED * state.total and turn > least:
            break
        last = step.log_likelihood
    state.renew_cells(struck)
    final = state.expect(shape, 0.0 if apart else share, strips, by_grade)
    return WeightFit(
        struck, prior_sd, shape, state.known.slick, share, strips, final.levels, prior, cells.years,
        cells.date_coins, None if cells.graded is None else cells.graded.sum(axis=1),
        final.grade_posterior, by_grade,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Step:
    levels: Levels
    shape_counts: Floats
    wear_counts: Floats
    false_counts: Floats
    missing: float
    log_likelihood: float
    grade_counts: Floats | None = None
    grade_posterior: Floats | None = None


@dataclass(frozen=True, slots=True)
class _ByLevel:
    """Probability of each cell at each level (``mixed``, cells x levels), departing part
    included, with what it was made of: ``shape`` of wear, its ``matrix`` and the share
    ``seen`` of the coins in lots (:class:`Known`), ``share`` of departing coins and its
    ``strips``."""

    shape: Floats
    matrix: Floats
    seen: Floats
    share: float
    strips: Floats
    mixed: Floats


class _Expectation:
    """One expectation step; holds the tables that change seldom."""

    def __init__(self, cells: CellCounts, coin_type: CoinType, prior: LinePrior, end: int) -> None:
        self.cells = cells
        self.prior = prior
        self.total = cells.total
        self.dated = np.isfinite(cells.years)
        self.used = years_in_use(cells.years, end)
        self.strip_table = false_part.strip_probabilities(
            cells.low_g, cells.high_g, coin_type.weight_g
        )
        self.known: Known = known_of(coin_type)
        self.given_wear: Floats = np.empty((0, 0))
        self.grade_prior = grade_prior(coin_type) if cells.graded is not None else np.empty((0, 0))

    def renew_cells(self, struck: Struck) -> None:
        c = self.cells
        given_wear = cells_given_wear(c.low_g, c.high_g, c.u_g, struck)
        self.given_wear = grid.as_factor(given_wear)

    def expect(
        self, shape: Floats, share: float, strips: Floats, by_grade: Floats | None = None
    ) -> _Step:
        """The expectations; ``by_grade`` is the shape of graded coins (None: there are none)."""
        dates = self._cells_by_level(shape, share, strips)
        log_likelihood = self.cells.counts @ np.log(dates.mixed)
        strata = self.cells.strata
        if strata is not None:
            log_likelihood = strata.to_dates(log_likelihood, len(self.used))
        levels = pool_levels(log_likelihood, self.used, self.dated, self.prior)
        posterior = levels.posterior if strata is None else strata.to_rows(levels.posterior)
        credited = self._credited(dates, self.cells.counts, posterior)
        step = _Step(levels, *credited, float(np.sum(levels.posterior * log_likelihood)))
        return step if by_grade is None else self._with_grades(step, by_grade, share, strips)

    def _with_grades(self, step: _Step, shape: Floats, share: float, strips: Floats) -> _Step:
        """The same with the coins that stand with their grades."""
        counts = np.empty((0, 0)) if self.cells.graded is None else self.cells.graded
        grades = self._cells_by_level(shape, share, strips)
        log_likelihood = counts @ np.log(grades.mixed)
        posterior = grade_posterior(log_likelihood, self.grade_prior)
        shaped, worn, false, missing = self._credited(grades, counts, posterior)
        return replace(
            step,
            wear_counts=step.wear_counts + worn,
            false_counts=step.false_counts + false,
            missing=step.missing + missing,
            log_likelihood=step.log_likelihood + float(np.sum(posterior * log_likelihood)),
            grade_counts=shaped,
            grade_posterior=posterior,
        )

    def _cells_by_level(self, shape: Floats, share: float, strips: Floats) -> _ByLevel:
        by_level, seen = self.known.matrix(shape)
        honest = self.given_wear @ by_level
        false = self.strip_table @ strips
        mixed = np.maximum((1 - share) * honest + share * false[:, None], 1e-300)
        return _ByLevel(shape, by_level, seen, share, strips, mixed)

    def _credited(
        self, by: _ByLevel, counts: Floats, posterior: Floats
    ) -> tuple[Floats, Floats, Floats, float]:
        """Expected counts by factor of the shape, by cell and wear, by strip, and of coins in
        no lot, from ``counts`` (rows x cells) whose rows have the levels of ``posterior``."""
        per_mixed = (counts.T @ posterior) / by.mixed
        honest_part = (1 - by.share) * per_mixed
        false_cells = by.share * per_mixed.sum(axis=1)
        wear_by_level = self.given_wear.T @ honest_part
        at_level = np.sum(wear_by_level * by.matrix, axis=0)
        return (
            self.known.shape_counts(by.shape, by.seen, wear_by_level, at_level),
            self.given_wear * (honest_part @ by.matrix.T),
            by.strips * (self.strip_table.T @ false_cells),
            self.known.missing(by.matrix, at_level),
        )


def _update_struck(
    struck: Struck,
    step: _Step,
    cells: CellCounts,
    prior_sd: float,
    belief: ScaleBelief,
    settings: Settings,
) -> Struck:
    counts, total = step.wear_counts, float(step.wear_counts.sum())
    if total <= 0:
        return struck
    mean = struck.mean_g(grid.WEAR)[None, :]
    spread = np.sqrt(VARIANCE_FACTOR * struck.sd_g**2 + np.square(cells.u_g))[:, None]
    first, second = cell_moments(cells.low_g[:, None], cells.high_g[:, None], mean, spread)
    known = np.square(cells.u_g)
    sd = _next_sd_g(struck.sd_g, counts, second, known, prior_sd)
    relative = first / struck.weight_g + struck.shift
    noise = float(np.mean(known) + VARIANCE_FACTOR * sd**2) / struck.weight_g**2
    width2 = belief.sd**2 + settings.mint_bias_width**2
    shift = (np.sum(counts * relative) / noise + belief.error / width2) / (
        total / noise + 1 / width2
    )
    doubt = float((total / noise + 1 / width2) ** -0.5)
    return Struck(struck.weight_g, float(shift), sd, doubt)


def _next_sd_g(
    sd_g: float, counts: Floats, second: Floats, known: Floats, prior_sd: float
) -> float:
    """The struck spread after one Newton step of its log variance.

    ``counts`` and ``second`` (cells x wear grid) are expected coins and their mean squared
    distance from the mean weight of that wear, ``known`` (cells,) the variance of a reading.
    Plain expectation-maximisation creeps here, because wear, itself unknown, could be nearly
    all of the spread: the step is divided by the part of the information that the lot holds
    (Louis, Journal of the Royal Statistical Society B 44, 1982), at least a tenth.
    """
    own = VARIANCE_FACTOR * sd_g**2
    part = own / (own + known)
    square = second / (own + known)[:, None]
    coins, first = counts.sum(axis=1), (counts * square).sum(axis=1)
    complete = 0.5 * float(np.square(part) @ coins)
    spread = (counts * np.square(square)).sum(axis=1) - first**2 / np.maximum(coins, 1e-12)
    missing = 0.25 * float(np.square(part) @ spread)
    prior = 0.5 * _STRUCK_PRIOR_COINS
    rise = 0.5 * float(part @ (first - coins)) + prior * (prior_sd**2 / sd_g**2 - 1)
    step = rise / (max(complete - missing, _LEAST_KNOWN * complete) + prior)
    step = min(max(step, -_LONGEST_STEP), _LONGEST_STEP)
    return float(np.clip(sd_g * np.exp(0.5 * step), 0.3 * prior_sd, 2.0 * prior_sd))
