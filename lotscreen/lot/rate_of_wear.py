"""What the coins of a lot have lost, in all and a year, with what is known and with what is
only allowed for.

The loss is the lot's own: what these coins lost together over the years these coins were
used, so that the luck of the single coin in its wear is no error of it. What is left is
the spread of struck weights and of the balance, which shrinks with the number of coins,
and three common errors that do not: of the balance, of the mint, of the year in which
circulation ended.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.polynomial.hermite_e import hermegauss

from lotscreen.lot.off import Allowance, allowance, mean_loss, noise_share
from lotscreen.records import Floats, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import TypeFit

_LOSSES = 1201
_REACH_SDS = 8.0
_YEAR_NODES = 21
_ENDS = (0.025, 0.975)
_LEAST_YEARS_SHARE = 0.1


@dataclass(frozen=True, slots=True)
class Interval:
    """An estimate and its 95 % interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class RateOfWear:
    """Shares of the weight: ``loss`` of all coins with every width allowed; ``a_year`` of
    the dated coins where balance, mint and end of circulation are as given, and
    ``a_year_wide`` where each may be off by its declared width (None: no coin has a date).
    ``mean_years`` in use, of the dated coins."""

    loss: Interval
    a_year: Interval | None
    a_year_wide: Interval | None
    mean_years: float


def rate_of_wear(coins: ItemTable, honest: Floats, fit: TypeFit, settings: Settings) -> RateOfWear:
    """The realised loss of ``coins`` (one type, all with a weight), each counted by its
    chance ``honest`` to be a coin of the type (n,)."""
    common = float(np.hypot(fit.belief.sd, settings.mint_bias_width))
    every = _Loss(coins, honest, fit, settings)
    dated = np.isfinite(coins.year)
    if not dated.any():
        return RateOfWear(every.interval(common), None, None, float("nan"))
    some = every if dated.all() else _Loss(coins.rows(dated), honest[dated], fit, settings)
    used = fit.years_in_use(coins.year[dated])
    years = float(np.average(used, weights=np.maximum(honest[dated], 1e-9)))
    return RateOfWear(
        every.interval(common), some.interval(0.0, years),
        some.interval(common, years, settings.circulation_end_width), years,
    )  # fmt: skip


class _Loss:
    """Mean loss of some coins: seen, its error by chance, and the wear allowance."""

    def __init__(self, coins: ItemTable, honest: Floats, fit: TypeFit, settings: Settings) -> None:
        self.seen = mean_loss(coins, honest, fit)
        total = max(float(honest.sum()), 1.0)
        self.sd = noise_share(coins, fit.struck.sd_g, fit) / float(np.sqrt(total))
        self.declared: Allowance = allowance(coins, fit, settings)
        self.expected = expected_loss(self.declared, fit)

    def interval(self, common: float, years: float = 1.0, years_sd: float = 0.0) -> Interval:
        """Loss over ``years``, which may be off by ``years_sd``; ``common`` is the error
        that all coins share."""
        sd = float(np.hypot(self.sd, common))
        loss = self.seen + sd * np.linspace(-_REACH_SDS, _REACH_SDS, _LOSSES)
        loss = (
            np.maximum(loss, 1e-6) if self.seen > -2 * sd else np.geomspace(1e-6, 9 * sd, _LOSSES)
        )
        log_chance = -0.5 * np.square((loss - self.seen) / sd)
        log_chance -= 0.5 * np.square(np.log(loss / self.expected) / self.declared.log_sd)
        chance = np.exp(log_chance - log_chance.max()) * np.gradient(loss) / loss
        used, weight = _years(years, years_sd)
        rate = (loss[:, None] / used).ravel()
        return _interval(rate, (chance[:, None] * weight).ravel())


def expected_loss(declared: Allowance, fit: TypeFit) -> float:
    """Mean loss that the type's wear allowance leads to expect of the lot's dates."""
    level = float(np.exp(fit.prior.log_level))
    return level * float(declared.coin_share @ declared.relative_years)


def _years(mean: float, sd: float) -> tuple[Floats, Floats]:
    if sd <= 0:
        return np.array([mean]), np.ones(1)
    node, weight = hermegauss(_YEAR_NODES)
    return np.maximum(mean + sd * node, _LEAST_YEARS_SHARE * mean), weight / weight.sum()


def _interval(values: Floats, chance: Floats) -> Interval:
    order = np.argsort(values, kind="stable")
    values, chance = values[order], chance[order] / chance.sum()
    below = np.cumsum(chance) - 0.5 * chance
    low, high = np.interp(_ENDS, below, values)
    return Interval(float(values @ chance), float(low), float(high))
