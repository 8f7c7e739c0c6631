"""Weighing the rival explanations of single coins against each other."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from lotscreen.evidence.mechanisms import MECHANISMS, OTHER_TYPE_SHARE
from lotscreen.evidence.points import log_evidence
from lotscreen.evidence.readings import Departures, log_gauge_given
from lotscreen.evidence.rivals import Explanations, explanations_of, log_rival_shares
from lotscreen.evidence.slips import SLIP_KEYS, SlipEvidence, slip_coins, slip_evidence
from lotscreen.records import Floats, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import Fit, TypeFit

COLUMNS = (*(m.key for m in MECHANISMS), "other_type", *SLIP_KEYS)
_OTHER = len(MECHANISMS)
_NOTHING = -690.0


@dataclass(frozen=True, slots=True)
class Weighed:
    """Explanations of n coins: ``shares`` (n x COLUMNS) of the evidence at the declared
    reference weights, the likeliest slip and the likeliest other type of each."""

    shares: Floats
    slips: list[SlipEvidence]
    other: list[str]


@lru_cache(maxsize=256)
def _explanations(type_fit: TypeFit, fit: Fit) -> Explanations:
    return explanations_of(type_fit, fit.standards)


def weigh(
    coins: ItemTable, found: Departures, type_fit: TypeFit, fit: Fit, settings: Settings
) -> Weighed:
    """Weigh all explanations of ``coins`` (one type, rows of ``found``)."""
    known = _explanations(type_fit, fit)
    log_points = log_evidence(found.readings, type_fit, known.points, known.count)
    log_points[:, 0] = np.log(np.maximum(found.predicted.cell, 1e-299)) + log_gauge_given(
        found, type_fit
    )
    columns = np.full((len(coins), len(COLUMNS)), _NOTHING)
    columns[:, :_OTHER] = log_points[:, :_OTHER] + known.log_shares
    other = [""] * len(coins)
    if known.rivals:
        others = log_points[:, _OTHER:] + np.log(OTHER_TYPE_SHARE)
        others = others + log_rival_shares(known, coins.year)
        columns[:, _OTHER] = np.logaddexp.reduce(others, axis=1)
        other = [known.rivals[int(best)] for best in others.argmax(axis=1)]
    read = found.readings
    at = [found.placed.standing(k) for k in range(len(coins))]
    single = slip_coins(coins, read.diameter_mm, read.excess_mm, at)
    slips = slip_evidence(single, type_fit, settings.slip_rate)
    for k, slip in enumerate(slips):
        if slip.key:
            columns[k, COLUMNS.index(slip.key)] = slip.log_evidence
    shares = np.exp(columns - columns.max(axis=1, keepdims=True))
    return Weighed(shares / shares.sum(axis=1, keepdims=True), slips, other)
