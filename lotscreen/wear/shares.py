"""Shares of the departures in a lot, by expectation-maximisation over single coins.

The score weighs the departures for the greater part as this lot has them and for the rest
alike, so that a kind the lot does not hold can still be seen. A kind whose readings look
like an honest coin's is seldom counted where it is: it keeps what all alike would give it.
"""

from __future__ import annotations

import numpy as np

from lotscreen.records import Bools, Floats, Ints

_START = 0.03
_FITTED_PART, _FITTED_FROM_COINS = 0.7, 2.0
_WITHIN_FROM_COINS = 5.0
_PRIOR_COINS = 6.0
_ROUNDS = 150
_SETTLED = 1e-6


def departing_shares(honest: Floats, terms: Floats, equal: Floats) -> tuple[float, Floats]:
    """Share of departing coins and the components' shares among them (K,).

    ``honest`` (n,) and ``terms`` (n, K) are joint densities; ``equal`` (K,) the prior
    shares, worth a few coins.
    """
    share, shares = _START, equal
    relative = terms / honest[:, None]
    n = len(honest)
    for _ in range(_ROUNDS):
        part = share * shares
        found = part * (relative.T @ (1 / (1 - share + relative @ part)))
        counts = found + _START * _PRIOR_COINS * equal
        new_share = float(counts.sum()) / (n + _PRIOR_COINS)
        shares = counts / counts.sum()
        moved = abs(new_share - share)
        share = min(new_share, 0.95)
        if moved < _SETTLED:
            break
    return share, shares


def honest_chance(honest: Floats, terms: Floats, share: float, shares: Floats) -> Floats:
    """Chance of each coin (n,) to be honest, given densities and shares."""
    departing = share * (terms @ shares)
    kept = (1 - share) * honest
    return np.asarray(kept / (kept + departing))


def score_shares(fitted: Floats, equal: Floats, least: Floats, departing: float) -> Floats:
    """The shares (K,) that the score uses, between the fitted ones and equal ones; where
    ``least`` is not 0, not less than that in all.

    ``departing`` is how many coins the fitted ones were learned from. From one or two, the
    kind of the oddest honest coin would be what the score looks for.
    """
    part = _FITTED_PART * departing / (departing + _FITTED_FROM_COINS)
    shares = part * fitted + (1 - part) * equal
    held = least > 0
    floor, found = float(least.sum()), float(shares[held].sum())
    if found >= floor:
        return shares
    return np.where(held, least, shares * (1 - floor) / (1 - found))


def within_groups(coins: Floats, equal: Floats, group: Ints, told: Bools) -> Floats:
    """The ``equal`` shares (K,), each ``group`` with as much as before, but in the groups
    that are ``told`` divided among its components as the departing ``coins`` (K,) are.

    Which metal a lot's pieces are of shows once a few of them are seen; to look for all
    others as much would cost the worn coins beside them.
    """
    whole, seen = np.bincount(group, equal)[group], np.bincount(group, coins)[group]
    alike = equal / whole
    inside = (coins + _WITHIN_FROM_COINS * alike) / (seen + _WITHIN_FROM_COINS)
    return np.where(told, whole * inside, equal)
