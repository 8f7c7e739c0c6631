"""The share of coins that are not what they are said to be: prior, coins measured, posterior."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import betainc, xlog1py, xlogy
from scipy.stats import binom

from lotscreen.money.terms import Terms
from lotscreen.records import Floats
from lotscreen.second_tests.explained import Explained

_LEVELS = 801


@dataclass(frozen=True, slots=True)
class RateBelief:
    """Rates on a grid with the weight of belief on each (sums to one)."""

    rates: Floats
    weights: Floats

    @property
    def mean(self) -> float:
        """Mean rate."""
        return float(self.rates @ self.weights)

    def draws(self, count: int) -> Floats:
        """``count`` rates at evenly spaced shares of the belief, rising."""
        places = (np.arange(count) + 0.5) / count
        return np.asarray(
            np.interp(places, np.cumsum(self.weights) - 0.5 * self.weights, self.rates)
        )


def belief_of_counts(terms: Terms, measured: float, departing: float) -> RateBelief:
    """After ``departing`` of ``measured`` coins were confirmed: beta prior, binomial counts."""
    rates = _grid()
    log: Floats = np.asarray(
        xlogy(departing, rates) + xlog1py(measured - departing, -rates), dtype=np.float64
    )
    return _posterior(terms, rates, log)


def belief_of_coins(terms: Terms, coins: Sequence[Explained]) -> RateBelief:
    """After the evidence on each coin, second tests included."""
    rates = _grid()
    log = np.zeros(len(rates))
    for own in coins:
        departing = own.shares[:, own.departing].sum(axis=1) / own.shares.sum(axis=1)
        for start in range(0, len(departing), 500):
            part = departing[start : start + 500]
            mixed = rates[:, None] * part + (1 - rates[:, None]) * (1 - part)
            log = log + np.log(np.maximum(mixed, 1e-300)).sum(axis=1)
    return _posterior(terms, rates, log)


def _shape(terms: Terms) -> tuple[float, float]:
    """The two parameters of the beta prior."""
    return (
        terms.prior_departing * terms.prior_coins,
        (1 - terms.prior_departing) * terms.prior_coins,
    )


def _grid() -> Floats:
    """Rates, dense where small: the grid carries a beta prior with a pole at nought."""
    return np.asarray(np.linspace(0.0, 1.0, _LEVELS)[:-1] ** 3 + 0.5 / _LEVELS**3)


def _posterior(terms: Terms, rates: Floats, log_likelihood: Floats) -> RateBelief:
    edges = np.concatenate([[0.0], 0.5 * (rates[1:] + rates[:-1]), [1.0]])
    mass = np.diff(betainc(*_shape(terms), edges))
    log = np.log(np.maximum(mass, 1e-300)) + log_likelihood
    weights = np.exp(log - log.max())
    return RateBelief(rates, weights / weights.sum())


def counts_of_draws(rates: Floats, coins: int, places: Floats) -> Floats:
    """How many of ``coins`` unmeasured ones depart, one count a rate; ``places`` (0..1)
    choose within each rate's binomial distribution."""
    return np.asarray(binom.ppf(places, coins, rates), dtype=np.float64)
