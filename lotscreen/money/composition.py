"""How the departing coins of this lot are divided among explanations, learned from the lot.

The reference weights of explanations say nothing of this lot: where a few coins are plainly
of another metal, that is no reason to believe in as many of a poorer alloy that nobody can
see. Each explanation has a share of its own: the opinion before the lot in proportion to its
reference weight, and the coins.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from lotscreen.evidence.mechanisms import MECHANISMS, OTHER_TYPE_SHARE
from lotscreen.evidence.slips import SLIP_KEYS
from lotscreen.money.terms import Terms
from lotscreen.records import Bools, Floats, Ints
from lotscreen.second_tests.explained import DEPARTURES, Explained
from lotscreen.second_tests.hypotheses import OTHER_TYPE

_KEYS = (*(m.key for m in MECHANISMS), OTHER_TYPE, *SLIP_KEYS)
_REFERENCE: Floats = np.array(
    [*(m.share for m in MECHANISMS), OTHER_TYPE_SHARE, *(1.0 for _ in SLIP_KEYS)]
)
_DEPARTS = np.array([key in DEPARTURES for key in _KEYS], dtype=np.bool_)
_SLIP = np.array([key in SLIP_KEYS for key in _KEYS], dtype=np.bool_)
_ROUNDS = 60


def composed(
    coins: Mapping[str, Explained], terms: Terms, apart: Bools | None = None
) -> dict[str, Explained]:
    """The coins with shares weighted by what this lot says of each explanation.

    Each side still weighs the same before a coin's readings, so that a rate of departing
    coins means what it meant. Slips of the pen keep their rate. ``apart`` (one a row of the
    item table) parts the coins in two, each learned from by itself: coins picked to be
    measured fully say nothing of those that were not. None: all are one lot.
    """
    found = dict(coins)
    for part in (False, True) if apart is not None and apart.any() else (False,):
        of = {
            key: np.ones(len(own.rows), np.bool_) if apart is None else apart[own.rows] == part
            for key, own in coins.items()
        }
        parts = [_by_mechanism(own)[of[key]] for key, own in coins.items()]
        if not sum(map(len, parts)):
            continue
        factors = _factors(_rates(np.concatenate(parts), terms))
        for key, own in found.items():
            shares = own.shares.copy()
            shares[of[key]] *= factors[_columns(own)][None, :]
            found[key] = replace(own, shares=shares)
    return found


def _columns(own: Explained) -> Ints:
    place = {key: at for at, key in enumerate(_KEYS)}
    return np.array([place[h.mechanism] for h in own.hypotheses], dtype=np.int64)


def _by_mechanism(own: Explained) -> Floats:
    """Shares by explanation (n x explanations), each coin's summing to one."""
    columns = _columns(own)
    found = np.zeros((len(own.shares), len(_KEYS)))
    for at in range(len(_KEYS)):
        found[:, at] = own.shares[:, columns == at].sum(axis=1)
    return np.asarray(found / np.maximum(found.sum(axis=1, keepdims=True), 1e-300))


def _rates(shares: Floats, terms: Terms) -> Floats:
    """Share of coins by explanation: expectation-maximisation from the opinion before."""
    before = np.where(_DEPARTS, terms.prior_departing, 1 - terms.prior_departing) * _REFERENCE
    evidence = shares / _REFERENCE
    rates = before.copy()
    for _ in range(_ROUNDS):
        likely = evidence * rates
        likely = likely / np.maximum(likely.sum(axis=1, keepdims=True), 1e-300)
        counts = likely.sum(axis=0) + terms.prior_coins * before
        fresh = counts / counts[~_SLIP].sum()
        rates = np.where(_SLIP, before, fresh)
    return rates


def _factors(rates: Floats) -> Floats:
    """What each explanation's share is multiplied by: its part of its side in this lot over
    its part in the reference weights; one for slips."""
    factors = np.ones(len(rates))
    for side in (_DEPARTS, ~_DEPARTS & ~_SLIP):
        part = rates[side] / rates[side].sum()
        factors[side] = part / (_REFERENCE[side] / _REFERENCE[side].sum())
    return factors
