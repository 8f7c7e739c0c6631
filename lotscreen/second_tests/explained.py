"""Every coin's shares over its hypotheses, before any second test."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from lotscreen.evidence.mechanisms import MECHANISMS
from lotscreen.evidence.points import log_evidence
from lotscreen.evidence.readings import departures
from lotscreen.evidence.slips import SLIP_KEYS
from lotscreen.evidence.weigh import COLUMNS, Weighed, weigh
from lotscreen.records import Bools, Findings, Floats, Ints, ItemKind, ItemTable
from lotscreen.second_tests.hypotheses import OTHER_TYPE, Hypothesis, Split, hypotheses_of
from lotscreen.settings import Settings
from lotscreen.wear import Fit, TypeFit

_NEVER_EXCLUDED = 1e-4
"""Share of the evidence kept for what is not named here (assumed)."""

DEPARTURES = frozenset(m.key for m in MECHANISMS if m.side == "departure")


@dataclass(frozen=True, slots=True)
class Explained:
    """The coins of one type: ``rows`` of the item table (n,), ``hypotheses`` (h), and
    ``shares`` (n x h) of the evidence at equal start: the honest side (slips, other types
    on file with it) and the departing side weigh the same before the readings.
    ``departing`` marks hypotheses of the departing side; ``slip_g`` is the weight where a
    slip of the pen explains the coin: what was meant, or as typed where the slip is of
    another reading; NaN where it is not known (a holder not tared)."""

    type_key: str
    rows: Ints
    hypotheses: tuple[Hypothesis, ...]
    shares: Floats
    slip_g: Floats

    @property
    def departing(self) -> Bools:
        """Hypotheses of the departing side (h,)."""
        return np.array([h.mechanism in DEPARTURES for h in self.hypotheses], dtype=np.bool_)

    def at_rate(self, rate: float) -> Floats:
        """Probabilities (n x h) where ``rate`` of the coins depart, 0..1."""
        weight = np.where(self.departing, rate, 1.0 - rate)
        found = self.shares * weight
        return np.asarray(found / np.maximum(found.sum(axis=1, keepdims=True), 1e-300))

    def place_of(self, row: int) -> int:
        """Place of a row of the item table among these coins, -1 where it is not one."""
        places = np.flatnonzero(self.rows == row)
        return int(places[0]) if len(places) else -1


def explained(
    table: ItemTable, fit: Fit, findings: Findings, settings: Settings
) -> Mapping[str, Explained]:
    """The coins of ``table`` that were judged, by type, with their shares over hypotheses.

    Shares of explanations are those of the finding where it has them; a coin that is not
    rare among honest ones is weighed here by the same evidence.
    """
    usable = (table.kind == ItemKind.COIN) & (table.weight_n > 0)
    found: dict[str, Explained] = {}
    for key, type_fit in fit.types.items():
        rows = np.flatnonzero(usable & (table.type_key == key))
        if len(rows):
            found[key] = _of_type(table, rows, type_fit, fit, findings, settings)
    return found


@lru_cache(maxsize=64)
def _split(type_fit: TypeFit, fit: Fit) -> Split:
    return hypotheses_of(type_fit, fit.standards)


def _of_type(
    table: ItemTable, rows: Ints, type_fit: TypeFit, fit: Fit, findings: Findings,
    settings: Settings,
) -> Explained:  # fmt: skip
    coins = table.rows(rows)
    in_fit = np.array([i in fit.items for i in coins.item_id], dtype=np.bool_)
    readings = departures(coins, type_fit, in_fit)
    weighed = weigh(coins, readings, type_fit, fit, settings)
    own = findings.shares[rows]
    told = own.sum(axis=1) > 0
    by_column = np.where(told[:, None], own, weighed.shares)
    split = _split(type_fit, fit)
    count = len(split.points.mechanism)
    log_points = log_evidence(readings.readings, type_fit, split.points, count)
    relative = np.exp(log_points - log_points.max(axis=1, keepdims=True))
    shares = _with_unnamed(_within(relative @ split.to_hypothesis, split, by_column), split)
    slip_g = _slip_weights(coins, weighed, by_column)
    return Explained(type_fit.coin_type.key, rows, split.hypotheses, shares, slip_g)


def _slip_weights(coins: ItemTable, weighed: Weighed, by_column: Floats) -> Floats:
    """The weight behind each coin's likeliest slip (n,)."""
    first = COLUMNS.index(SLIP_KEYS[0])
    likeliest = by_column[:, first:].argmax(axis=1)
    found = np.full(len(coins), np.nan)
    for k, slip in enumerate(weighed.slips):
        if slip.key == SLIP_KEYS[likeliest[k]]:
            found[k] = slip.proposed if slip.quantity == "weight" else coins.weight_g[k]
    return found


def _with_unnamed(shares: Floats, split: Split) -> Floats:
    """A little of every coin's shares for what is not named here: no reading excludes it,
    so that a second test that fits nothing else can speak for it."""
    total = shares.sum(axis=1, keepdims=True)
    unnamed = np.array([column == "unnamed" for column in split.column], dtype=np.float64)
    little = unnamed / max(unnamed.sum(), 1.0)
    return np.asarray((1 - _NEVER_EXCLUDED) * shares + _NEVER_EXCLUDED * total * little)


def _within(evidence: Floats, split: Split, by_column: Floats) -> Floats:
    """Each explanation's share divided among its hypotheses by their evidence."""
    shares = np.zeros((len(by_column), len(split.hypotheses)))
    for place, key in enumerate(COLUMNS):
        at = np.flatnonzero([column == key for column in split.column])
        if not len(at):
            continue
        if key in SLIP_KEYS:
            shares[:, at[0]] = by_column[:, place]
            continue
        part = evidence[:, at]
        total = part.sum(axis=1, keepdims=True)
        part = np.where(total > 0, part / np.maximum(total, 1e-300), 1 / len(at))
        shares[:, at] = by_column[:, [place]] * part
    return shares


def shares_by_mechanism(hypotheses: tuple[Hypothesis, ...], shares: Floats) -> dict[str, float]:
    """One coin's shares (h,) summed over metals, largest first."""
    found: dict[str, float] = {}
    for hypothesis, share in zip(hypotheses, shares, strict=True):
        key = hypothesis.mechanism
        found[key] = found.get(key, 0.0) + float(share)
    return dict(sorted(found.items(), key=lambda pair: -pair[1]))


def likeliest_other_type(hypotheses: tuple[Hypothesis, ...], shares: Floats) -> str:
    """Key of the other type on file with most of one coin's shares, '' for none."""
    others = [
        (float(share), h.other_type)
        for h, share in zip(hypotheses, shares, strict=True)
        if h.mechanism == OTHER_TYPE
    ]
    return max(others, default=(0.0, ""))[1]
