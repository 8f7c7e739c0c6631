"""The frozen result of fitting one type: the honest distribution and the gauges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.instruments import ScaleBelief
from lotscreen.records import Floats
from lotscreen.standards.coin_type import CoinType
from lotscreen.wear import grid
from lotscreen.wear.grades import GradeLevels
from lotscreen.wear.group_levels import GroupLevels
from lotscreen.wear.known import known_of
from lotscreen.wear.levels import LinePrior
from lotscreen.wear.relief import Relief
from lotscreen.wear.struck import Struck

TAIL_TIMES = 3.0
"""Spread of the heavier-tailed readings of a gauge against the others (assumed)."""
UNLIKE_LOG_SD = 1.0
"""Spread of the logarithm of wear among coins that are worn unlike the others (assumed)."""
# How many those are: by trial on lots of 20 to 2,000 coins in four worlds of wear, with other
# seeds than the rates are told from.
_UNLIKE_COINS, _UNLIKE_FROM_COINS = 4.0, 200.0


@dataclass(frozen=True, slots=True)
class GaugeFit:
    """A length of a type's coins: reference of an unworn coin, change with wear, spread.

    ``reference_mm`` is NaN where the quantity cannot speak (``note`` says why).
    ``slope_mm`` is the change per unit share of weight lost (negative), ``sd_mm`` one
    standard deviation of a single reading about it, ``freedom`` its degrees of freedom,
    ``mates`` the number of coins it was learned from, ``u_reference_mm`` the standard
    uncertainty of the reference, ``free_slope`` whether the slope was learned too,
    ``tail_share`` the share of readings with :data:`TAIL_TIMES` the spread and
    ``wear_spread`` the spread of the change with wear among coins, as a share of it (rims
    wear unequally), ``wear_doubt`` what the mates leave unknown of both, the change and its
    spread, as such a share.
    """

    reference_mm: float
    slope_mm: float
    sd_mm: float
    u_reference_mm: float
    freedom: float
    mates: int
    note: str
    free_slope: bool = False
    tail_share: float = 0.03
    wear_spread: float = 0.0
    wear_doubt: float = 0.0

    @property
    def speaks(self) -> bool:
        """Whether there is a reference to judge against."""
        return bool(np.isfinite(self.reference_mm))

    def doubt_of_wear_mm(self, wear: Floats, wear_sd: Floats) -> Floats:
        """Spread of the length of coins of ``wear`` +- ``wear_sd`` (one shape) by what is
        not known of their wear, mm."""
        return np.asarray(abs(self.slope_mm) * np.sqrt(self.variance_of_wear(wear, wear_sd)))

    def variance_of_wear(self, wear: Floats, wear_sd: Floats) -> Floats:
        """Variance of the wear that a length shows, of coins of ``wear`` +- ``wear_sd`` by
        weight (one shape), a share squared: rims wear unequally, and few mates tell how."""
        of_wear2 = self.wear_spread**2 + self.wear_doubt**2
        return np.asarray(np.square(wear_sd) + of_wear2 * np.square(wear))


@dataclass(frozen=True, slots=True, eq=False)
class TypeFit:
    """The fitted honest distribution of one type in one balance's readings.

    ``date_years`` are the years struck (the last may be NaN: coins without date),
    ``date_coins`` the coins of each, and ``date_posterior`` (dates x levels) their levels
    of wear, own coins included.
    ``line`` are the weights of the line's parameters (slopes x spreads x levels).
    ``shape`` is the distribution of a coin's wear about its date's level, and
    ``slick_known`` the share of slick coins that are in the lot all the same. ``false_share``
    and ``strips`` are the part absorbed by coins that are not honest coins of the type,
    by weight alone; ``departing_share`` and ``component_shares`` the same by all readings.
    ``typical_wear`` (classes x wear grid) are classes of coins whose date leads to expect
    like wear, in rising order: the null distribution of the score is made for each.
    ``beyond_slick_share`` of the coins are lighter than any slick coin. ``relief`` holds
    the dates' own thickness (None: not told). ``groups`` holds the levels of rolls (None:
    there are none), ``grades`` those of graded coins (None: there are none), who count for
    no date.
    ``coins`` entered the fit; ``slope_evidence`` belongs to :data:`levels.SLOPES`.
    """

    coin_type: CoinType
    coins: int
    circulation_end: int
    prior: LinePrior
    belief: ScaleBelief
    struck: Struck
    struck_prior_sd_g: float
    shape: Floats
    slick_known: float
    date_years: Floats
    date_coins: Floats
    date_posterior: Floats
    line: Floats
    slope_evidence: Floats
    false_share: float
    strips: Floats
    departing_share: float
    component_shares: Floats
    typical_wear: Floats
    beyond_slick_share: float
    diameter: GaugeFit
    thickness: GaugeFit
    relief: Relief | None = None
    groups: GroupLevels | None = None
    grades: GradeLevels | None = None

    @property
    def by_weight(self) -> bool:
        """Whether its coins are known by weight alone: of no lot-mate a length was learned."""
        return weights_alone(self.diameter, self.thickness)

    @property
    def worn_unlike(self) -> float:
        """Share of the honest coins that may be worn unlike the others, by far more or far
        less: the fewer coins there are, the less they tell of the tail of their wear."""
        return _UNLIKE_COINS / (self.coins + _UNLIKE_FROM_COINS)

    def years_in_use(self, year: Floats) -> Floats:
        """Years in use of coins struck in ``year``; NaN stays NaN."""
        return years_in_use(year, self.circulation_end)

    def by_level(self) -> Floats:
        """Wear x level: probability of each wear of the lot's coins at each level."""
        return known_of(self.coin_type, self.slick_known).matrix(self.shape)[0]

    def by_grade(self) -> Floats:
        """The same of graded coins. A grade of which the lot holds no coin is taken with the
        wider shape of the dates."""
        if self.grades is None:
            return self.by_level()
        return known_of(self.coin_type, self.slick_known).matrix(self.grades.shape)[0]

    def mean_wear(self) -> float:
        """Mean share of weight lost over the coins of the fit."""
        return self.mean_of_wear(grid.WEAR)

    def mean_of_wear(self, values: Floats) -> float:
        """Mean over the coins of the fit of ``values`` on the wear grid."""
        weights = self.date_coins if self.coins else np.ones(len(self.date_years))
        by_date = self.date_posterior @ (self.by_level().T @ values)
        if self.grades is not None:
            by_grade = self.grades.posterior @ (self.by_grade().T @ values)
            by_date = np.append(by_date, by_grade)
            weights = np.append(weights, self.grades.coins)
        return float(np.average(by_date, weights=weights))

    def wear_by_date(self) -> Floats:
        """Mean share of weight lost at each date of the fit, shape (dates,)."""
        return np.asarray(self.date_posterior @ self.by_level().T @ grid.WEAR)

    def wear_by_grade(self) -> Floats:
        """Mean share of weight lost by coins of each grade, shape (grades,); none where the
        lot has no graded coin."""
        if self.grades is None:
            return np.empty(0)
        return np.asarray(self.grades.posterior @ self.by_grade().T @ grid.WEAR)


def weights_alone(diameter: GaugeFit, thickness: GaugeFit) -> bool:
    """Whether no length was learned from lot-mates (a standard may still give one)."""
    return diameter.mates == 0 and not thickness.speaks


def years_in_use(year: Floats, circulation_end: int) -> Floats:
    """Years between striking and the end of circulation, at least half a year."""
    return np.maximum(circulation_end - year, 0.5)
