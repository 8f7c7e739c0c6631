"""The fine metal that a lot holds if some of its coins are not what they are said to be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from lotscreen.money.rate import RateBelief, counts_of_draws
from lotscreen.money.worth import CoinsWorth
from lotscreen.quantities import TROY_OUNCE_G
from lotscreen.records import Bools, Floats

_DRAWS = 20_000
_COIN_DRAWS = 4_000
_SEED = 20260302
_LEAST_AT_STAKE = 1e-9


@dataclass(frozen=True, slots=True)
class Rest:
    """The coins of a lot that were not measured singly, weighed together: how many, net
    weight with one sd, fineness, and what one that departs weighs and keeps of fine metal
    (grams, grams). ``confirmed`` are coins known to depart among those weighed with them."""

    coins: int
    net_g: float
    net_sd_g: float
    fineness: float
    departing_g: float
    departing_fine_g: float
    metal: str
    confirmed: int = 0


@dataclass(frozen=True, slots=True)
class FineMetal:
    """Fine metal of one kind, troy ounces: ``claimed`` if all coins are what they are said
    to be, ``mean``, and ``draws`` (many equally likely cases) with the shared errors of
    scale and fineness; ``departing`` is the number of coins not as said, one a draw."""

    metal: str
    claimed: float
    mean: float
    draws: Floats
    departing: Floats

    def quantile(self, share: float) -> float:
        """Ounces that ``share`` of the cases stay below."""
        return float(np.quantile(self.draws, share))


def fine_of_coins(
    worths: Sequence[CoinsWorth], belief: RateBelief, shared_sd: float, left_in: Sequence[Bools]
) -> dict[str, FineMetal]:
    """Fine metal by kind in coins measured singly. ``left_in`` marks, for each type, the
    coins that are bought; ``shared_sd`` is one sd of scale and fineness together, a share."""
    rates = belief.draws(_COIN_DRAWS)
    rng = np.random.default_rng(_SEED)
    rng.shuffle(rates)
    found: dict[str, FineMetal] = {}
    for metal in dict.fromkeys(w.metal for w in worths):
        claimed = mean = 0.0
        draws, departing = np.zeros(_COIN_DRAWS), np.zeros(_COIN_DRAWS)
        for worth, kept in zip(worths, left_in, strict=True):
            if worth.metal != metal:
                continue
            claimed += float(worth.claimed_oz[kept].sum())
            probability = worth.coins.at_rate(belief.mean)[kept]
            mean += float((probability * worth.true_oz[kept]).sum())
            drawn, odd = _drawn(worth, kept, rates, rng)
            draws += drawn
            departing += odd
        factor = 1 + shared_sd * _normal(_COIN_DRAWS, rng)
        found[metal] = FineMetal(metal, claimed, mean, draws * factor, departing)
    return found


def _drawn(
    worth: CoinsWorth, kept: Bools, rates: Floats, rng: np.random.Generator
) -> tuple[Floats, Floats]:
    """Ounces and number of departing coins in each case, coin by coin."""
    ounces, odd = np.zeros(len(rates)), np.zeros(len(rates))
    side = worth.coins.departing
    for place in np.flatnonzero(kept):
        shares, values = worth.coins.shares[place], worth.true_oz[place]
        departs = float(shares[side].sum())
        total = departs + float(shares[~side].sum())
        if departs <= _LEAST_AT_STAKE * total and np.ptp(values[shares > 0]) == 0:
            ounces += values[np.argmax(shares)]
            continue
        chance = rates * departs / (rates * departs + (1 - rates) * (total - departs))
        departing = rng.random(len(rates)) < chance
        u = rng.random(len(rates))
        ounces += np.where(
            departing, _picked(shares, values, side, u), _picked(shares, values, ~side, u)
        )
        odd += departing
    return ounces, odd


def _picked(shares: Floats, values: Floats, side: Bools, u: Floats) -> Floats:
    """Values of one side drawn by their shares."""
    rising = np.cumsum(shares[side])
    if not len(rising) or rising[-1] <= 0:
        return np.zeros(len(u))
    at = np.searchsorted(rising / rising[-1], u, side="right")
    return np.asarray(values[side][np.minimum(at, len(rising) - 1)])


def fine_of_rest(rest: Rest, belief: RateBelief, shared_sd: float) -> FineMetal:
    """Fine metal in coins weighed together, of which as many depart as the belief says.

    Rates and numbers are drawn at evenly spaced shares, so that the quantiles are those of
    the beta-binomial distribution to within a coin.
    """
    rng = np.random.default_rng(_SEED)
    places = (np.arange(_DRAWS) + 0.5) / _DRAWS
    departing = rest.confirmed + counts_of_draws(
        belief.draws(_DRAWS), rest.coins, rng.permutation(places)
    )
    net = rest.net_g + rest.net_sd_g * _normal(_DRAWS, rng)
    fineness = rest.fineness * (1 + shared_sd * _normal(_DRAWS, rng))
    good = np.maximum(net - departing * rest.departing_g, 0.0) * fineness
    draws = (good + departing * rest.departing_fine_g) / TROY_OUNCE_G
    claimed = rest.net_g * rest.fineness / TROY_OUNCE_G
    return FineMetal(rest.metal, claimed, mean_of_rest(rest, belief), draws, departing)


def mean_of_rest(rest: Rest, belief: RateBelief) -> float:
    """Mean fine metal, troy ounces, in coins weighed together; no case is drawn for it."""
    odd = rest.confirmed + rest.coins * belief.mean
    good = max(rest.net_g - odd * rest.departing_g, 0.0) * rest.fineness
    return (good + odd * rest.departing_fine_g) / TROY_OUNCE_G


def _normal(count: int, rng: np.random.Generator) -> Floats:
    """Standard normal values at evenly spaced shares, in random order."""
    return np.asarray(rng.permutation(ndtri((np.arange(count) + 0.5) / count)))


def together(parts: Sequence[FineMetal]) -> FineMetal:
    """Several lots of fine metal of one kind, independent given what is drawn."""
    count = max(len(p.draws) for p in parts)
    rng = np.random.default_rng(_SEED)
    draws, departing = np.zeros(count), np.zeros(count)
    for part in parts:
        order = rng.permutation(count) % len(part.draws)
        draws += part.draws[order]
        departing += part.departing[order]
    return FineMetal(parts[0].metal, sum(p.claimed for p in parts),
                     sum(p.mean for p in parts), draws, departing)  # fmt: skip
