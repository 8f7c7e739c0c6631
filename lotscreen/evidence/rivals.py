"""Other types on file as rival explanations of a coin declared as one type."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.evidence.mechanisms import MECHANISMS
from lotscreen.evidence.points import Point, PointTable, point_table
from lotscreen.records import Floats
from lotscreen.standards import CoinType, StandardsTable
from lotscreen.wear import TypeFit

_MOST_RIVALS = 30
_LOOSE_THICKNESS_MM = 0.15
_YEARS_OFF = 5.0
_MOST_YEARS_OFF = 4.0
_LEAST_TOTAL = 0.2


@dataclass(frozen=True, slots=True)
class Explanations:
    """All explanations of a fitted type's coins: the register, then the other types.

    ``rivals`` are the keys of the other types, in the order of the table's last columns;
    ``rival_shares`` their shares of the reference weight of all other types,
    ``rival_first`` and ``rival_last`` the years they were struck (inf: to this day),
    ``log_shares`` the natural logs of the register's reference weights.
    """

    points: PointTable
    count: int
    rivals: tuple[str, ...]
    rival_shares: Floats
    rival_first: Floats
    rival_last: Floats
    log_shares: Floats


def _alike(a: CoinType, b: CoinType) -> bool:
    if a.diameter_mm is None or b.diameter_mm is None:
        return a.state == b.state and a.unit == b.unit
    return abs(a.diameter_mm / b.diameter_mm - 1) < 0.07


def _distinct(a: CoinType, b: CoinType) -> bool:
    """Whether weight or diameter could tell the two apart."""
    weight = abs(a.weight_g / b.weight_g - 1) > 0.008
    both = a.diameter_mm is not None and b.diameter_mm is not None
    return weight or (both and abs((a.diameter_mm or 1) / (b.diameter_mm or 1) - 1) > 0.02)


def rivals_of(declared: CoinType, standards: StandardsTable) -> list[CoinType]:
    """Types on file that could lie in the same tray and that readings could tell apart:
    near in diameter, or another standard of the same unit; the same state's first, and
    those whose weights another rival already stands for left out."""
    near = [
        other
        for other in standards.types
        if other.key != declared.key and _alike(declared, other) and _distinct(declared, other)
    ]
    near.sort(key=lambda t: (t.state != declared.state, abs(t.weight_g / declared.weight_g - 1)))
    kept: list[CoinType] = []
    for candidate in near:
        if all(_distinct(candidate, other) for other in kept):
            kept.append(candidate)
    return kept[:_MOST_RIVALS]


def _point(declared: CoinType, other: CoinType) -> Point:
    diameter = (other.diameter_mm or 1) / (declared.diameter_mm or other.diameter_mm or 1)
    known = declared.thickness_mm is not None and other.thickness_mm is not None
    thickness = (other.thickness_mm or 1) / (declared.thickness_mm or 1) if known else 1.0
    return Point(
        weight=other.weight_g / declared.weight_g, weight_sd=0.006, diameter=diameter,
        diameter_sd_mm=0.08, thickness=thickness,
        thickness_sd_mm=_LOOSE_THICKNESS_MM,
    )  # fmt: skip


def explanations_of(fit: TypeFit, standards: StandardsTable) -> Explanations:
    """The register's points and the rivals' for a fitted type."""
    declared = fit.coin_type
    rivals = rivals_of(declared, standards)
    groups = [m.points(fit) for m in MECHANISMS] + [[_point(declared, r)] for r in rivals]
    raw = np.array([_nearness(declared, r) for r in rivals])
    first = np.array([r.first_year for r in rivals], dtype=np.float64)
    last = np.array([np.inf if r.last_year is None else r.last_year for r in rivals])
    keys = tuple(r.key for r in rivals)
    log_shares = np.log([m.share for m in MECHANISMS])
    return Explanations(
        point_table(groups), len(groups), keys, raw / raw.sum(), first, last, log_shares
    )


def _nearness(declared: CoinType, other: CoinType) -> float:
    if other.state != declared.state:
        return 1.0 if other.fine_metal == declared.fine_metal else 0.1
    return 20.0 if other.unit == declared.unit else 3.0


def log_rival_shares(known: Explanations, year: Floats) -> Floats:
    """Natural log, coins x rivals, of each other type's share of their reference weight.

    A type whose years do not hold the year typed is less likely; a year a little off may
    be misread or copied down. Where all are far off, their shares do not add up to one.
    """
    typed = year[:, None]
    before, after = known.rival_first[None, :] - typed, typed - known.rival_last[None, :]
    away = np.maximum(np.maximum(before, after), 0.0)
    weight = known.rival_shares * np.exp(
        -np.minimum(np.where(np.isnan(away), 0.0, away) / _YEARS_OFF, _MOST_YEARS_OFF)
    )
    total = weight.sum(axis=1, keepdims=True)
    return np.asarray(np.log(weight / np.maximum(total, _LEAST_TOTAL)))
