"""What an honest coin's reading should be: predictive distribution by type and date.

A coin that was in the fit is left out of its own date's level in closed form: the
posterior of the level is divided by that coin's own factor.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from lotscreen.records import Floats
from lotscreen.wear import grid
from lotscreen.wear.allowance import legible
from lotscreen.wear.date_wear import date_wear
from lotscreen.wear.distinct import distinct_rows
from lotscreen.wear.grades import LEVEL_SD, grade_prior
from lotscreen.wear.group_levels import departed
from lotscreen.wear.joint import ground_of, scored_shares
from lotscreen.wear.levels import LinePrior, prior_line, spread_line
from lotscreen.wear.null import NullTable, Readings, null_tables
from lotscreen.wear.own_part import said_by_cell, without_own
from lotscreen.wear.predicted import Predicted, quantiles_of_wear
from lotscreen.wear.standing import NONE, CoinRows, Standing, by_standing, standing
from lotscreen.wear.struck import DistinctTails, Struck, once_a_cell, reading_cdf
from lotscreen.wear.type_fit import UNLIKE_LOG_SD, TypeFit

_NEAR_SDS, _NEAR_POINTS = 9.0, 109
_LEAST_SHARE, _WORN_POINTS = 0.4, 241
_WIDER = 1.3
_MOMENTS: Floats = np.column_stack([np.ones(len(grid.WEAR)), grid.WEAR, np.square(grid.WEAR)])


class Predictor:
    """Predictive tables of one fitted type, computed once and then looked up; ``at`` is a
    year (NaN: no date) or a coin's :class:`Standing`."""

    def __init__(self, fit: TypeFit) -> None:
        self.fit = fit
        self._by_level = fit.by_level()
        self._by_grade = self._by_level if fit.grades is None else fit.by_grade()
        self._date_of = {year: i for i, year in enumerate(fit.date_years) if year == year}
        self._undated = next((i for i, y in enumerate(fit.date_years) if y != y), None)
        self._levels_of: dict[Standing, Floats] = {}
        self._wear_of_year: dict[Standing, Floats] = {}
        self._standard_of_year: dict[Standing, Floats] = {}
        self._cdf_of_u: dict[float, Floats] = {}
        self._cdf_of_year: dict[tuple[Standing, float], Floats] = {}
        self._worn_of_year: dict[tuple[Standing, float], Floats] = {}
        self._points = self._place_points()
        self.ground = ground_of(fit)
        self.score_shares = scored_shares(fit, self.ground.box)
        self._nulls: dict[tuple[Readings, bool], list[NullTable]] = {}
        wide = LinePrior(fit.prior.log_level, fit.prior.log_sd * _WIDER, fit.prior.reference_years)
        self._standard_line = (wide, prior_line(wide))
        self._standard_struck = Struck(
            fit.coin_type.weight_g, fit.belief.error, fit.struck_prior_sd_g
        )

    def levels(self, at: float | Standing) -> Floats:
        """Distribution over the level grid of the wear of coins so placed, this lot's coins
        known."""
        of = standing(at)
        if of not in self._levels_of:
            self._levels_of[of] = self._known_levels(of)
        return self._levels_of[of]

    def _known_levels(self, of: Standing) -> Floats:
        if of.grade >= 0:
            grades = self.fit.grades
            known = grade_prior(self.fit.coin_type) if grades is None else grades.posterior
            return np.asarray(known[of.grade])
        row = self._date_of.get(of.year) if of.year >= 0 else self._undated
        if row is not None:
            level = np.asarray(self.fit.date_posterior[row])
        else:
            level = self._line_levels(of.year, self.fit.prior, self.fit.line)
        if of.group == NONE or self.fit.groups is None:
            return level
        return departed(level, self.fit.groups.of(of.group))

    def _line_levels(self, year: float, prior: LinePrior, line: Floats) -> Floats:
        years = self.fit.years_in_use(np.array([year if year >= 0 else np.nan]))
        return np.asarray(spread_line(line, years, np.isfinite(years), prior)[0])

    def _matrix_of(self, of: Standing) -> Floats:
        return self._by_grade if of.grade >= 0 else self._by_level

    def _shape_of(self, of: Standing) -> Floats:
        grades = self.fit.grades
        return self.fit.shape if grades is None or of.grade < 0 else grades.shape

    def wear(self, at: float | Standing) -> Floats:
        """Distribution over the wear grid of an honest coin so placed."""
        of = standing(at)
        if of not in self._wear_of_year:
            self._wear_of_year[of] = self._matrix_of(of) @ self.levels(of)
        return self._wear_of_year[of]

    def standard_wear(self, at: float | Standing) -> Floats:
        """The same before the lot is seen, with a wider wear allowance, up to slick."""
        of = standing(at)
        if of not in self._standard_of_year:
            if of.grade >= 0:
                level = grade_prior(self.fit.coin_type, LEVEL_SD * _WIDER)[of.grade]
            else:
                level = self._line_levels(of.year, *self._standard_line)
            wear = grid.shape_matrix(self._shape_of(of)) @ level
            self._standard_of_year[of] = legible(wear, self.fit.coin_type)
        return self._standard_of_year[of]

    def reading_points(self) -> Floats:
        """Readings in g at which distribution functions are tabulated, rising."""
        return self._points

    def _place_points(self) -> Floats:
        struck = self.fit.struck
        new = struck.weight_g * (1 + struck.shift)
        near = np.linspace(-_NEAR_SDS, _NEAR_SDS, _NEAR_POINTS) * struck.sd_g
        worn = new * np.linspace(_LEAST_SHARE, 1.0, _WORN_POINTS)
        return np.concatenate([worn[worn < new + near[0]], new + near])

    def reading_cdf(self, at: float | Standing, u_g: float) -> Floats:
        """P(reading <= each of ``reading_points``) of an honest coin so placed."""
        if u_g not in self._cdf_of_u:
            struck = self.fit.struck
            self._cdf_of_u[u_g] = reading_cdf(
                self.reading_points()[:, None], struck.mean_g(grid.WEAR)[None, :],
                struck.sd_g, np.array(u_g),
            )  # fmt: skip
        key = (standing(at), u_g)
        if key not in self._cdf_of_year:
            self._cdf_of_year[key] = self._cdf_of_u[u_g] @ self.wear(at)
        return self._cdf_of_year[key]

    def reading_quantiles(self, at: float | Standing, u_g: float, shares: Floats) -> Floats:
        """Readings in g below which the given shares of honest coins fall."""
        return np.interp(shares, self.reading_cdf(at, u_g), self.reading_points())

    def cells(
        self, at: float | Standing, u_g: float, low_g: Floats, high_g: Floats
    ) -> tuple[Floats, Floats]:
        """Probability of each cell low..high (n,) of readings of an honest coin so
        placed, and the mean wear of coins that read so, both looked up between
        ``reading_points``; a cell off them has nothing."""
        key = (standing(at), u_g)
        rising = self.reading_cdf(at, u_g)
        if key not in self._worn_of_year:
            self._worn_of_year[key] = self._cdf_of_u[u_g] @ (self.wear(at) * grid.WEAR)
        worn = self._worn_of_year[key]
        points = self.reading_points()
        cell = np.interp(high_g, points, rising) - np.interp(low_g, points, rising)
        lost = np.interp(high_g, points, worn) - np.interp(low_g, points, worn)
        shown = np.minimum(lost / np.maximum(cell, 1e-299), grid.WEAR[-1])
        return cell, np.maximum(shown, grid.WEAR[0])

    def expected_reading_g(self, at: float | Standing) -> float:
        """Mean reading of an honest coin so placed."""
        struck = self.fit.struck
        return float(self.wear(at) @ struck.mean_g(grid.WEAR))

    def predict(self, coins: CoinRows) -> Predicted:
        """Predict every coin."""
        rows = coins.stacked()
        if len(rows) == 1:
            return self._predict_distinct(rows)
        distinct, which, _ = distinct_rows(rows)
        return self._predict_distinct(distinct).rows(which)

    def _predict_distinct(self, rows: Floats) -> Predicted:
        once = self._tails(rows)
        wear = self._wear_before(rows, once)
        tails, of = once.tails, once.of
        joint = wear * tails.cell[of]
        cell, first, second = (joint @ _MOMENTS).T
        mean, sd = self._wear_shown(rows, cell, first, second)
        before = date_wear(wear)
        return Predicted(
            p_low=np.einsum("cw,cw->c", wear, tails.up_to_high[of]),
            p_high=np.einsum("cw,cw->c", wear, tails.from_low[of]),
            cell=cell,
            wear=mean,
            wear_sd=sd,
            date_wear=before.mean,
            date_wear_sd=before.sd,
            date_wear_skew=before.skew,
            wear_points=quantiles_of_wear(wear),
        )

    def _wear_shown(
        self, rows: Floats, cell: Floats, first: Floats, second: Floats
    ) -> tuple[Floats, Floats]:
        """Mean and sd of the wear of coins that read so, from the moments up to the
        probability of their ``cell``; where no wear leads to it, the wear that comes nearest."""
        some, mass, struck = cell > grid.TRACE, np.maximum(cell, grid.TRACE), self.fit.struck
        reading = np.where(np.isfinite(rows[:, 0]), rows[:, 0], rows[:, 1])
        nearest = np.clip(1 - reading / struck.mean_g(np.zeros(1)), grid.WEAR[0], grid.WEAR[-1])
        mean = np.where(some, first / mass, nearest)
        variance = np.maximum(second / mass - np.square(mean), 0.0)
        return mean, np.where(some, np.sqrt(variance), struck.sd_g / struck.weight_g)

    def _tails(self, rows: Floats) -> DistinctTails:
        """Tails of each row's cell by the lot; each distinct cell is computed once."""
        struck = self.fit.struck
        return once_a_cell(rows[:, :3], struck, struck.shift_sd * struck.weight_g)

    def standard_rate(self, coins: CoinRows) -> Floats:
        """Two-sided rate of honest coins this far off by standard and wear allowance
        alone, no lot-mates (n,)."""
        rows = coins.stacked()
        wear = by_standing(rows, self.standard_wear)
        wide = self.fit.belief.sd * self.fit.struck.weight_g
        once = once_a_cell(rows[:, :3], self._standard_struck, wide)
        low = np.einsum("cw,cw->c", wear, once.tails.up_to_high[once.of])
        high = np.einsum("cw,cw->c", wear, once.tails.from_low[once.of])
        return np.asarray(2 * np.minimum(low, high))

    def _wear_before(self, rows: Floats, once: DistinctTails) -> Floats:
        """Wear expected of each row's mates, its own coin left out where it was in the fit;
        ``once`` has the tails of the rows' cells."""
        wear = np.empty((len(rows), len(grid.WEAR)))
        graded, in_fit = rows[:, 6] >= 0, rows[:, 4] > 0
        if not in_fit.all():
            wear[~in_fit] = by_standing(rows[~in_fit], self.wear)
        for by_level, here in ((self._by_level, ~graded), (self._by_grade, graded)):
            out = here & in_fit
            if out.any():
                said = said_by_cell(self.fit, once.low_g, once.high_g, once.tails.cell, by_level)[
                    once.of[out]
                ]
                level = without_own(by_standing(rows[out], self.levels), said)
                wear[out] = level @ by_level.T
        return wear

    def wear_classes(self, rows: CoinRows, most: int) -> Floats:
        """At most ``most`` classes of the coins' wear before weighing, classes x wear grid,
        rising: coins of like expectation averaged."""
        distinct, _, counts = distinct_rows(rows.stacked())
        wear = self._wear_before(distinct, self._tails(distinct))
        order = np.argsort(wear @ grid.WEAR, kind="stable")
        rank = np.cumsum(counts[order]) - 0.5 * counts[order]
        label = np.floor(rank / counts.sum() * most).astype(np.int64)
        return np.array([
            np.average(wear[order[label == k]], axis=0, weights=counts[order[label == k]])
            for k in np.unique(label)
        ])  # fmt: skip

    def null_rate(
        self, score: Floats, date_wear: Floats, readings: Readings, graded: bool = False
    ) -> Floats:
        """Natural log of the rate of honest coins with this score or a higher one, n:
        between the tables of the two nearest classes of wear, of ``graded`` coins or not."""
        classes = self.fit.typical_wear
        if graded and self.fit.grades is not None:
            classes = self.fit.grades.typical_wear
        if (readings, graded) not in self._nulls:
            ground, shares = self.ground, self.score_shares
            doubt = self.fit.struck.shift_sd * self.fit.struck.weight_g
            wide = replace(readings, u_g=float(np.hypot(readings.u_g, doubt)))
            unlike = legible(grid.spread(classes, UNLIKE_LOG_SD), self.fit.coin_type)
            self._nulls[readings, graded] = null_tables(
                ground, shares, classes, unlike, self.fit.worn_unlike, wide
            )
        tables = self._nulls[readings, graded]
        centres = np.log(classes @ grid.WEAR)
        place = np.interp(np.log(np.maximum(date_wear, 1e-6)), centres, np.arange(len(centres)))
        below = np.minimum(place.astype(np.int64), max(len(centres) - 2, 0))
        part = place - below
        above = np.minimum(below + 1, len(centres) - 1)
        result = np.empty(len(score))
        for k in np.unique(below):
            here = below == k
            low, high = (
                tables[k].log_rate(score[here]),
                tables[above[here][0]].log_rate(score[here]),
            )
            result[here] = (1 - part[here]) * low + part[here] * high
        return result


@lru_cache(maxsize=256)
def predictor(fit: TypeFit) -> Predictor:
    """The predictor of a fitted type; made once a fit (fits compare by identity)."""
    return Predictor(fit)
