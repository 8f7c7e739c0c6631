"""Wald's sequential probability ratio test on a share: constants, lines, approximations.

Wald, A., Sequential Analysis (1947), chapters 3 and 5. The test counts the coins set
aside among the coins measured so far. Valid only when each coin is set aside with the
same chance, independently of the others: coins drawn at random, or in an order that has
nothing to do with what they are.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, expm1, log, log1p

import numpy as np
from scipy.optimize import brentq

from lotscreen.records import Floats, Ints, SettingsError
from lotscreen.words import say

_NO_DRIFT = 1e-7  # the formula for the mean number of coins is 0 / 0 at the lines' slope


@dataclass(frozen=True, slots=True)
class WaldPlan:
    """Two hypotheses on the share of coins set aside, and the two risks, fixed before.

    ``clean_share`` < ``bad_share``, both strictly between 0 and 1. ``risk_measure_all``
    is the nominal risk to say *measure all* at the clean share, ``risk_accept`` to say
    *accept* at the bad share; each above 0, together below 1. SettingsError otherwise.
    """

    clean_share: float
    bad_share: float
    risk_measure_all: float
    risk_accept: float

    def __post_init__(self) -> None:
        if not 0.0 < self.clean_share < self.bad_share < 1.0:
            raise SettingsError(
                say("sequential.shares_wrong", clean=self.clean_share, bad=self.bad_share)
            )
        risks = (self.risk_measure_all, self.risk_accept)
        if not (min(risks) > 0.0 and sum(risks) < 1.0):
            raise SettingsError(say("sequential.risks_wrong", first=risks[0], second=risks[1]))

    @property
    def log_odds_ratio(self) -> float:
        """ln of the bad odds over the clean odds: what one coin set aside weighs."""
        return self.log_weight_set_aside - self.log_weight_clean

    @property
    def log_weight_set_aside(self) -> float:
        """Log likelihood ratio (bad over clean) of one coin set aside; positive."""
        return log(self.bad_share / self.clean_share)

    @property
    def log_weight_clean(self) -> float:
        """Log likelihood ratio (bad over clean) of one coin not set aside; negative."""
        return log1p(-self.bad_share) - log1p(-self.clean_share)

    @property
    def log_upper(self) -> float:
        """Log likelihood ratio at which the test says *measure all*."""
        return log((1.0 - self.risk_accept) / self.risk_measure_all)

    @property
    def log_lower(self) -> float:
        """Log likelihood ratio at which the test says *accept*; negative."""
        return log(self.risk_accept / (1.0 - self.risk_measure_all))

    @property
    def slope(self) -> float:
        """Coins set aside per coin measured along both lines."""
        return -self.log_weight_clean / self.log_odds_ratio

    @property
    def accept_intercept(self) -> float:
        """The accept line is ``-accept_intercept + slope * coins``."""
        return -self.log_lower / self.log_odds_ratio

    @property
    def measure_all_intercept(self) -> float:
        """The measure-all line is ``measure_all_intercept + slope * coins``."""
        return self.log_upper / self.log_odds_ratio

    def accept_line(self, coins: Ints) -> Floats:
        """Coins set aside at or below which to accept; negative where no count can be."""
        return -self.accept_intercept + self.slope * coins.astype(np.float64)

    def measure_all_line(self, coins: Ints) -> Floats:
        """Coins set aside at or above which to measure all; may exceed ``coins``."""
        return self.measure_all_intercept + self.slope * coins.astype(np.float64)

    def acceptance_number(self, coins: Ints) -> Ints:
        """Largest whole count that accepts after ``coins`` coins; -1 where none does."""
        return np.maximum(np.floor(self.accept_line(coins)), -1.0).astype(np.int64)

    def rejection_number(self, coins: Ints) -> Ints:
        """Smallest whole count that says *measure all*; above ``coins`` where none can."""
        return np.ceil(self.measure_all_line(coins)).astype(np.int64)

    @property
    def bound_measure_all(self) -> float:
        """Risk to say *measure all* at or below the clean share, at most, however long the
        test runs and whichever coins stay unsettled (they count as clean there): the
        likelihood ratio of the smaller count is a supermartingale (Ville's inequality)."""
        return self.risk_measure_all / (1.0 - self.risk_accept)

    @property
    def bound_accept(self) -> float:
        """Risk to *accept* at or above the bad share, at most, in the same sense."""
        return self.risk_accept / (1.0 - self.risk_measure_all)


@dataclass(frozen=True, slots=True)
class WaldApproximation:
    """Wald's own formulas at one true share, which neglect the step over the line:
    chance to accept and mean number of coins to a decision."""

    share: float
    accept: float
    average_coins: float


def wald_approximation(plan: WaldPlan, share: float) -> WaldApproximation:
    """Operating characteristic and average sample number by Wald's formulas.

    ``share`` lies in [0, 1]. Too high a risk and too few coins as a rule;
    :func:`lotscreen.sequential.exact.exact_curve` gives the figures that hold.
    """
    upper, lower = plan.log_upper, plan.log_lower
    set_aside, clean = plan.log_weight_set_aside, plan.log_weight_clean
    drift = share * set_aside + (1.0 - share) * clean
    if abs(drift) < _NO_DRIFT * plan.log_odds_ratio:
        square = share * set_aside**2 + (1.0 - share) * clean**2
        return WaldApproximation(share, upper / (upper - lower), -upper * lower / square)
    if share in (0.0, 1.0):
        accept = 1.0 - share
    else:
        accept = _chance_to_accept(_power_at(plan, share), upper, lower)
    return WaldApproximation(share, accept, (accept * lower + (1.0 - accept) * upper) / drift)


def _power_at(plan: WaldPlan, share: float) -> float:
    """The power h at which the mean of the likelihood ratio^h is 1 at the true ``share``:
    positive below the slope of the lines, negative above."""

    def excess(power: float) -> float:
        return _share_at(plan, power) - share

    far = 1.0 if share < plan.slope else -1.0
    while excess(far) * far > 0.0:
        far *= 2.0
    return float(brentq(excess, min(far, 0.0), max(far, 0.0), xtol=1e-15, rtol=1e-14))


def _share_at(plan: WaldPlan, power: float) -> float:
    """The true share that belongs to the power h, falling in h; no exponent overflows."""
    set_aside, clean = plan.log_weight_set_aside, plan.log_weight_clean
    if power == 0.0:
        return plan.slope
    if power > 0.0:
        top = expm1(power * clean) * exp(-power * set_aside)
        return top / expm1(-power * plan.log_odds_ratio)
    return expm1(-power * clean) / expm1(power * plan.log_odds_ratio)


def _chance_to_accept(power: float, upper: float, lower: float) -> float:
    """(A^h - 1) / (A^h - B^h) without overflow."""
    if power > 0.0:
        return expm1(-power * upper) / expm1(power * (lower - upper))
    return expm1(power * upper) * exp(-power * lower) / expm1(power * (upper - lower))
