"""The records: with what the finding of a coin moves, and what was tried of each type."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from lotscreen.records import FindingKind

TRIED = (
    FindingKind.CONSISTENT.value,
    FindingKind.SET_ASIDE.value,
    FindingKind.NOT_CONSISTENT.value,
)
"""Findings that are judged again. One that asks for a new measurement, or says why nothing
was judged, waits for the reading; another fit does not bring it."""


class Way(StrEnum):
    """What was different when a coin was judged again: its own coin, its group, a fifth of
    the groups or of the coins (its own among them) was left out of the fit, or the wear
    allowance was half or twice that of the settings."""

    OWN_COIN = "own_coin"
    OWN_GROUP = "own_group"
    FIFTH_OF_GROUPS = "fifth_of_groups"
    FIFTH = "fifth"
    HALF_WEAR = "half_wear"
    TWICE_WEAR = "twice_wear"


OF_ALLOWANCE: Mapping[Way, float] = {Way.HALF_WEAR: 0.5, Way.TWICE_WEAR: 2.0}
"""Wear allowances tried, in times that of the settings: about one standard deviation of the
width declared by type (``wear_log_sd`` is 0.7 for all types on file; exp 0.7 = 2.01)."""


@dataclass(frozen=True, slots=True)
class Move:
    """A coin is found otherwise: ``way`` says with what, ``finding`` how."""

    way: Way
    finding: str


@dataclass(frozen=True, slots=True)
class TypeTried:
    """How the coins of one type were left out: ``ways`` of folds; none where the type has
    more coins than the settings give time for."""

    type_key: str
    ways: tuple[Way, ...]


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """``moves`` by item id, only of coins whose finding moves; ``types`` in the order of
    their keys; the ``allowances`` tried; ``most_coins`` of a type judged without their
    fold."""

    moves: Mapping[str, tuple[Move, ...]] = field(default_factory=dict)
    types: tuple[TypeTried, ...] = ()
    allowances: tuple[Way, ...] = ()
    most_coins: int = 0
