"""Other types on file as rival explanations of a coin declared as one type."""

from __future__ import annotations

from dataclasses import dataclass

from lotscreen.evidence.mechanisms import MECHANISMS
from lotscreen.evidence.points import Point, PointTable, point_table
from lotscreen.standards import CoinType, StandardsTable
from lotscreen.wear import TypeFit

_MOST_RIVALS = 30
_LOOSE_THICKNESS_MM = 0.15


@dataclass(frozen=True, slots=True)
class Explanations:
    """All explanations of a fitted type's coins: the register, then the other types.

    ``rivals`` are the keys of the other types, in the order of the table's last columns;
    ``rival_shares`` their shares of the reference weight of all other types.
    """

    points: PointTable
    count: int
    rivals: tuple[str, ...]
    rival_shares: tuple[float, ...]


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
    raw = [4.0 if r.state == declared.state else 1.0 for r in rivals]
    shares = tuple(w / sum(raw) for w in raw)
    return Explanations(point_table(groups), len(groups), tuple(r.key for r in rivals), shares)
