"""What a coin may be: each explanation of its readings split by the metal it would be of.

An explanation of the finding says how a coin departs (another metal at the right size, cast,
clipped). What a second test sees and what the coin is worth depend on the metal besides, and
the readings say something of it: at the right size each metal has a weight of its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from lotscreen.evidence.mechanisms import MECHANISMS
from lotscreen.evidence.points import PointTable
from lotscreen.evidence.rivals import Explanations, explanations_of
from lotscreen.evidence.slips import SLIP_KEYS
from lotscreen.records import Floats
from lotscreen.second_tests.metals import Metal, debased, load_metals, metal_of, unnamed_metal
from lotscreen.standards import CoinType, StandardsTable
from lotscreen.standards.alloys import load_alloys
from lotscreen.wear import TypeFit
from lotscreen.wear.blank import density_ratio_of

OTHER_TYPE = "other_type"
OTHER_METAL = frozenset({"same_size", "same_weight", "light_and_thick", "cast_other_metal"})
_LIGHTER, _UNNAMED = "lighter_alloy", "unnamed"
_SAME_RATIO = 1e-6
_CAST_OTHER_WEIGHT = 0.97
_WITH_SOLDER = 0.98


@dataclass(frozen=True, slots=True)
class Body:
    """What an explanation does besides the metal: share of the metal's density that water
    finds, with one sd, and the chance of no clear tone. All assumed."""

    density: float = 1.0
    density_sd: float = 0.004
    no_tone: float = 0.02


_BODIES: Mapping[str, Body] = {
    "dirt": Body(0.997, 0.004, 0.05),
    "damage": Body(1.0, 0.004, 0.5),
    "same_size": Body(1.0, 0.006, 0.2),
    "same_weight": Body(1.0, 0.006, 0.2),
    "light_and_thick": Body(1.0, 0.006, 0.2),
    "cast": Body(0.975, 0.018, 0.5),
    "cast_other_metal": Body(0.975, 0.018, 0.6),
    "clipped": Body(1.0, 0.004, 0.1),
    "holed": Body(0.995, 0.01, 0.6),
    "mount_removed": Body(0.99, 0.008, 0.5),
    "unnamed": Body(1.0, 0.05, 0.2),
}


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One explanation with its metal. ``pitch`` is the tone against a sound coin of the type,
    from stiffness, density and shape; ``keeps`` the share of the metal's value that is left
    (solder). ``plated``: a skin of the declared metal may hide the metal."""

    mechanism: str
    metal: Metal
    body: Body
    pitch: float
    keeps: float = 1.0
    plated: bool = False
    other_type: str = ""


@dataclass(frozen=True, slots=True)
class Split:
    """The hypotheses of one type and how its points lead to them: ``points`` with each point
    on its own, ``to_hypothesis`` (points x hypotheses) a point's share in each, ``column``
    the place of each hypothesis's explanation in the shares of a finding."""

    hypotheses: tuple[Hypothesis, ...]
    points: PointTable
    to_hypothesis: Floats
    column: tuple[str, ...]


def hypotheses_of(fit: TypeFit, standards: StandardsTable) -> Split:
    """All hypotheses of a fitted type: the register's, other types on file, slips."""
    known = explanations_of(fit, standards)
    found: dict[tuple[str, str], int] = {}
    made: list[Hypothesis] = []
    entries: list[tuple[int, int, float]] = []
    for place, mechanism in enumerate(known.points.mechanism):
        for hypothesis, share in _of_point(known, place, int(mechanism), fit, standards):
            key = (hypothesis.mechanism + hypothesis.other_type, hypothesis.metal.key)
            if key not in found:
                found[key] = len(made)
                made.append(hypothesis)
            entries.append((place, found[key], share))
    matrix = np.zeros((len(known.points.mechanism), len(made) + len(SLIP_KEYS)))
    for place, at, share in entries:
        matrix[place, at] += share
    own = metal_of(fit.coin_type)
    made += [Hypothesis(key, own, Body(), 1.0) for key in SLIP_KEYS]
    return Split(tuple(made), _each_alone(known.points), matrix, tuple(h.mechanism for h in made))


def _each_alone(points: PointTable) -> PointTable:
    """The points, each as a mechanism of its own; log_prior stays its share."""
    count = len(points.mechanism)
    own = np.arange(count, dtype=np.int64)
    return replace(points, mechanism=own, starts=own, sizes=np.ones(count, dtype=np.int64))


def _of_point(
    known: Explanations, place: int, mechanism: int, fit: TypeFit, standards: StandardsTable
) -> list[tuple[Hypothesis, float]]:
    """The hypotheses that a point stands for, with its shares in them."""
    coin_type, points = fit.coin_type, known.points
    if mechanism >= len(MECHANISMS):
        other = standards.get(known.rivals[mechanism - len(MECHANISMS)])
        hypothesis = Hypothesis(OTHER_TYPE, metal_of(other), Body(), 1.0, other_type=other.key)
        return [(_pitched(hypothesis, points, place, coin_type), 1.0)]
    key = MECHANISMS[mechanism].key
    metals = _metals(key, points, place, coin_type)
    made = [
        Hypothesis(
            key, metal, _BODIES.get(key, Body()), 1.0,
            keeps=_WITH_SOLDER if key == "mount_removed" else 1.0, plated=key in OTHER_METAL,
        )
        for metal in metals
    ]  # fmt: skip
    return [(_pitched(h, points, place, coin_type), 1 / len(made)) for h in made]


def _metals(key: str, points: PointTable, place: int, coin_type: CoinType) -> list[Metal]:
    weight = float(points.weight[place])
    if key == _UNNAMED:
        return [unnamed_metal()]
    if key == _LIGHTER:
        return [debased(coin_type, weight)]
    if key not in OTHER_METAL:
        return [metal_of(coin_type)]
    ratio = _density_ratio(key, weight, float(points.thickness[place]))
    family = coin_type.fine_metal or coin_type.metal
    apart = {
        metal.key: abs(metal.density_g_cm3 / coin_type.density_g_cm3 - ratio)
        for metal in load_metals().values()
        if family in _rival_of(metal)
    }
    if not apart:
        return [unnamed_metal()]
    nearest = min(apart.values())
    return [load_metals()[name] for name, off in apart.items() if off <= nearest + _SAME_RATIO]


def _rival_of(metal: Metal) -> tuple[str, ...]:
    return load_alloys()[metal.key].fits_metals


def _density_ratio(key: str, weight: float, thickness: float) -> float:
    """Density against the standard's that a point of another metal stands for."""
    if key == "same_size":
        return weight
    if key == "cast_other_metal":
        return weight / _CAST_OTHER_WEIGHT
    if key == "light_and_thick":
        return 2 * weight - 1
    return density_ratio_of(thickness)


def _pitched(
    hypothesis: Hypothesis, points: PointTable, place: int, coin_type: CoinType
) -> Hypothesis:
    """With the tone of a free disc: thickness over diameter squared times the root of
    stiffness over density (theory of thin plates; thickness as metal, from the mass)."""
    own, metal = metal_of(coin_type), hypothesis.metal
    relative = metal.density_g_cm3 / own.density_g_cm3
    across = float(points.diameter[place])
    thick = float(points.weight[place]) / (relative * across**2)
    speed = np.sqrt(metal.stiffness_gpa / own.stiffness_gpa / relative)
    return replace(hypothesis, pitch=float(thick / across**2 * speed))
