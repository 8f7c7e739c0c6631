"""Samples judged by mean and spread of a measured figure (the k method), one limit.

Accept where the mean is at least k standard deviations inside the limit. Valid only where
the figure is normal: weights of coins as struck are near it, weights of worn coins are not
(they tail off to the light side), so that for worn coins the share below the limit is not
what these plans say. Lieberman and Resnikoff, Journal of the American Statistical
Association 50 (1955).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, sqrt

from scipy.special import ndtr, ndtri
from scipy.stats import nct

from lotscreen.records import SettingsError
from lotscreen.words import say

_MOST_COINS = 100_000


@dataclass(frozen=True, slots=True)
class VariablesPlan:
    """Measure ``coins``; accept where (mean - limit) / sd is ``k`` or more. The sd is known
    before (``sd_known``) or that of the sample."""

    coins: int
    k: float
    sd_known: bool

    def chance_to_accept(self, share_beyond: float) -> float:
        """Chance to accept where ``share_beyond`` of the coins lie beyond the limit; exact
        for a normal figure (noncentral t where the sd is the sample's)."""
        distance = -float(ndtri(share_beyond))
        if self.sd_known:
            return float(ndtr(sqrt(self.coins) * (distance - self.k)))
        root = sqrt(self.coins)
        return float(nct.sf(self.k * root, self.coins - 1, distance * root))


@dataclass(frozen=True, slots=True)
class TwoPoints:
    """What a plan is to do: accept a share ``good`` beyond the limit with chance 1 -
    ``risk_refuse``, a share ``bad`` with chance ``risk_accept`` at most."""

    good: float
    risk_refuse: float
    bad: float
    risk_accept: float

    def __post_init__(self) -> None:
        risks = self.risk_refuse, self.risk_accept
        if not 0.0 < self.good < self.bad < 0.5 or not all(0.0 < r < 0.5 for r in risks):
            raise SettingsError(say("plan.points_wrong", good=self.good, bad=self.bad, risks=risks))


def plan_sd_known(points: TwoPoints) -> VariablesPlan:
    """The smallest plan where the standard deviation is known before."""
    good, bad = -ndtri(points.good), -ndtri(points.bad)
    refuse, accept = -ndtri(points.risk_refuse), -ndtri(points.risk_accept)
    k = (accept * good + refuse * bad) / (refuse + accept)
    coins = ceil(((refuse + accept) / (good - bad)) ** 2 - 1e-9)
    return VariablesPlan(coins, float(k), True)


def plan_sd_of_sample(points: TwoPoints) -> VariablesPlan:
    """The smallest plan with the sample's own standard deviation; k keeps the risk to
    accept exactly."""
    low, high = 1, plan_sd_known(points).coins
    while high < _MOST_COINS and not _keeps(points, high):
        low, high = high, 2 * high
    if high >= _MOST_COINS:
        raise SettingsError(say("plan.variables_too_many", most=_MOST_COINS))
    while high - low > 1:
        middle = (low + high) // 2
        if _keeps(points, middle):
            high = middle
        else:
            low = middle
    return VariablesPlan(high, span_of_k(points, high)[0], False)


def span_of_k(points: TwoPoints, coins: int) -> tuple[float, float]:
    """Least and most k with which a sample of ``coins`` keeps both risks, the sd being the
    sample's; no k where the first is above the second."""
    root = sqrt(coins)
    bad, good = -float(ndtri(points.bad)), -float(ndtri(points.good))
    least = float(nct.isf(points.risk_accept, coins - 1, bad * root)) / root
    most = float(nct.isf(1.0 - points.risk_refuse, coins - 1, good * root)) / root
    return least, most


def _keeps(points: TwoPoints, coins: int) -> bool:
    if coins < 2:
        return False
    least, most = span_of_k(points, coins)
    return least <= most
