"""Fitting the honest weight distribution of one type by expectation-maximisation.

Alternates between the levels of the dates (pooled, averaged over), the shape of wear
about them, the struck spread and shift, and the part that is not honest coin. Works on
distinct (date, cell) counts, so time does not grow with equal readings.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.instruments import ScaleBelief
from lotscreen.records import Floats
from lotscreen.settings import Settings
from lotscreen.standards.coin_type import CoinType
from lotscreen.wear import false_part, grid
from lotscreen.wear.distinct import distinct_rows
from lotscreen.wear.levels import Levels, LinePrior, pool_levels
from lotscreen.wear.shape import default_shape, smooth_shape
from lotscreen.wear.struck import VARIANCE_FACTOR, Struck, cell_moments, cells_given_wear
from lotscreen.wear.type_fit import years_in_use

_STRUCK_PRIOR_COINS = 20.0
_LARGEST_STRUCK_SHARE = 0.005
_STRUCK_SHARE_WITHOUT_REMEDY = 0.003
_SETTLED = 1e-4  # gain of log likelihood a coin in one round


@dataclass(frozen=True, slots=True)
class CellCounts:
    """Distinct cells of readings and how often each occurs at each date.

    ``low_g, high_g, u_g`` by cell; ``years`` by date (NaN last: no date); ``counts``
    dates x cells.
    """

    low_g: Floats
    high_g: Floats
    u_g: Floats
    years: Floats
    counts: Floats


def count_cells(
    low_g: Floats, high_g: Floats, u_g: Floats, year: Floats, weight: Floats | None = None
) -> CellCounts:
    """Collapse single coins (arrays of one length) to counts by date and cell; each coin
    counts by its ``weight`` (default 1)."""
    rows = np.column_stack([np.round(low_g, 9), np.round(high_g, 9), np.round(u_g, 9)])
    cells, cell_of, _ = distinct_rows(rows)
    years, date_of = np.unique(year, return_inverse=True)
    flat = date_of.ravel() * len(cells) + cell_of
    counts = np.bincount(flat, weight, len(years) * len(cells)).astype(np.float64)
    return CellCounts(
        cells[:, 0], cells[:, 1], cells[:, 2], years, counts.reshape(len(years), len(cells))
    )


@dataclass(frozen=True, slots=True)
class WeightFit:
    """The fitted honest weight distribution; fields as in :class:`TypeFit`."""

    struck: Struck
    struck_prior_sd_g: float
    shape: Floats
    false_share: float
    strips: Floats
    levels: Levels
    prior: LinePrior
    years: Floats
    date_coins: Floats


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
    prior = line_prior(coin_type, cells.years, cells.counts.sum(axis=1), end, settings)
    typical_year = float(np.nanmedian(cells.years)) if np.isfinite(cells.years).any() else np.nan
    prior_sd = struck_prior_sd_g(coin_type, typical_year, settings)
    state = _Expectation(cells, coin_type, prior, end)
    struck = Struck(coin_type.weight_g, belief.error, prior_sd, belief.sd)
    shape, share, strips = default_shape(), false_part.PRIOR_SHARE, false_part.start_strips()
    if start is not None:
        struck, shape = start.struck, start.shape
        share, strips = start.false_share, start.strips
    rounds = 70 if state.total >= 30 else 25 if state.total >= 8 else 4
    last, least = -np.inf, 8 if start is None else 4
    for turn in range(rounds):
        if turn % 4 == 0:
            state.renew_cells(struck)
        step = state.expect(shape, 0.0 if apart else share, strips)
        shape = smooth_shape(step.shape_counts, shape)
        struck = _update_struck(struck, step, cells, prior_sd, belief, settings)
        if not apart:
            share, strips = false_part.update(step.false_counts, state.total)
        if abs(step.log_likelihood - last) < _SETTLED * state.total and turn > least:
            break
        last = step.log_likelihood
    state.renew_cells(struck)
    final = state.expect(shape, 0.0 if apart else share, strips)
    return WeightFit(
        struck, prior_sd, shape, share, strips, final.levels, prior, cells.years,
        cells.counts.sum(axis=1),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Step:
    levels: Levels
    shape_counts: Floats
    wear_counts: Floats
    false_counts: Floats
    log_likelihood: float


class _Expectation:
    """One expectation step; holds the tables that change seldom."""

    def __init__(self, cells: CellCounts, coin_type: CoinType, prior: LinePrior, end: int) -> None:
        self.cells = cells
        self.prior = prior
        self.total = float(cells.counts.sum())
        self.dated = np.isfinite(cells.years)
        self.used = years_in_use(cells.years, end)
        self.strip_table = false_part.strip_probabilities(
            cells.low_g, cells.high_g, coin_type.weight_g
        )
        self.given_wear: Floats = np.empty((0, 0))

    def renew_cells(self, struck: Struck) -> None:
        c = self.cells
        self.given_wear = cells_given_wear(c.low_g, c.high_g, c.u_g, struck)

    def expect(self, shape: Floats, share: float, strips: Floats) -> _Step:
        by_level = grid.shape_matrix(shape)
        honest = self.given_wear @ by_level
        false = self.strip_table @ strips
        mixed = np.maximum((1 - share) * honest + share * false[:, None], 1e-300)
        log_likelihood = self.cells.counts @ np.log(mixed)
        levels = pool_levels(log_likelihood, self.used, self.dated, self.prior)
        per_mixed = (self.cells.counts.T @ levels.posterior) / mixed
        honest_part = (1 - share) * per_mixed
        false_cells = share * per_mixed.sum(axis=1)
        return _Step(
            levels,
            grid.fold_to_shape(self.given_wear.T @ honest_part, shape),
            self.given_wear * (honest_part @ by_level.T),
            strips * (self.strip_table.T @ false_cells),
            float(np.sum(levels.posterior * log_likelihood)),
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
    spare = np.sum(counts * (second - known[:, None]))
    variance = (spare / VARIANCE_FACTOR + _STRUCK_PRIOR_COINS * prior_sd**2) / (
        total + _STRUCK_PRIOR_COINS
    )
    sd = float(np.sqrt(np.clip(variance, (0.3 * prior_sd) ** 2, (2.0 * prior_sd) ** 2)))
    relative = first / struck.weight_g + struck.shift
    noise = float(np.mean(known) + VARIANCE_FACTOR * sd**2) / struck.weight_g**2
    width2 = belief.sd**2 + settings.mint_bias_width**2
    shift = (np.sum(counts * relative) / noise + belief.error / width2) / (
        total / noise + 1 / width2
    )
    doubt = float((total / noise + 1 / width2) ** -0.5)
    return Struck(struck.weight_g, float(shift), sd, doubt)
