"""Invented training pieces: what hands, eyes and ears could notice of each, and what
balance and calipers read.

A departure is told in just noticeable steps of an ordinary teller, sense by sense; the
widths are assumed. Nothing here is read by the marking.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from lotscreen.records import Floats

SENSES = ("heft", "thickness", "diameter", "sight", "ring")

WEIGHT_G, DIAMETER_MM, THICKNESS_MM = 12.50, 30.61, 2.15
_WEAR_SHARE = 0.02
_WEIGHT_SD_SHARE, _DIAMETER_SD_MM, _THICKNESS_SD_MM = 0.009, 0.03, 0.025


@dataclass(frozen=True, slots=True)
class PieceKind:
    """A kind of training piece: how far each sense can tell it (in ``SENSES`` order), the
    shift of its readings (weight as a share, lengths in mm), whether it is as the standard
    and which reading tells one that is not ('' none)."""

    felt: tuple[float, float, float, float, float]
    weight_share: float = 0.0
    diameter_mm: float = 0.0
    thickness_mm: float = 0.0
    as_standard: bool = False
    told_by: str = ""


KINDS: Mapping[str, PieceKind] = {
    "honest": PieceKind((0.0, 0.0, 0.0, 0.0, 0.0), as_standard=True),
    "honest, worn slick": PieceKind((0.9, 0.0, 0.0, 0.7, 0.0), -0.045, as_standard=True),
    "honest, dirty": PieceKind((0.0, 0.4, 0.0, 1.1, 0.4), 0.002, as_standard=True),
    "honest, bent": PieceKind((0.0, 1.0, 0.0, 0.3, 0.5), 0.0, 0.0, 0.12, as_standard=True),
    "lead alloy, right size": PieceKind((5.0, 0.0, 0.0, 2.0, 4.0), -0.29, told_by="weight"),
    "right weight, too thick": PieceKind(
        (0.0, 3.3, 0.0, 0.2, 0.0), 0.0, 0.0, 0.36, told_by="thickness"
    ),
    "light and thick": PieceKind(
        (1.7, 2.1, 0.0, 0.9, 1.3), -0.07, 0.0, 0.15, told_by="weight + thickness"
    ),
    "cast, right alloy": PieceKind((0.5, 0.0, 1.9, 2.8, 0.8), -0.02, -0.34, told_by="diameter"),
    "brass, right size": PieceKind((2.8, 0.0, 0.0, 2.2, 1.5), -0.17, told_by="weight"),
    "debased, inside wear": PieceKind((0.0,) * 5, -0.016),
}
"""All widths assumed."""

HARD_HONEST = ("honest, worn slick", "honest, dirty", "honest, bent")


@dataclass(frozen=True, slots=True)
class Pieces:
    """Pieces of a drawer, one row each: the key's columns and ``felt`` (pieces x senses)."""

    table: pd.DataFrame
    felt: Floats


def draw_pieces(kinds: list[str], rng: np.random.Generator, prefix: str) -> Pieces:
    """Pieces of these kinds, each its own: felt departures vary by a quarter of themselves
    and a third of a step besides; the bench reads them with its spread."""
    specs = [KINDS[kind] for kind in kinds]
    n = len(specs)
    mean = np.array([spec.felt for spec in specs])
    felt = mean * rng.lognormal(0.0, 0.22, (n, 1)) + rng.normal(0.0, 0.18, mean.shape)
    weight = WEIGHT_G * (1 - _WEAR_SHARE + np.array([s.weight_share for s in specs]))
    weight = weight + rng.normal(0.0, _WEIGHT_SD_SHARE * WEIGHT_G, n)
    across = DIAMETER_MM + np.array([s.diameter_mm for s in specs])
    across = across + rng.normal(0.0, _DIAMETER_SD_MM, n)
    thick = THICKNESS_MM + np.array([s.thickness_mm for s in specs])
    thick = thick + rng.normal(0.0, _THICKNESS_SD_MM, n)
    far = _how_far(weight, across, thick)
    table = pd.DataFrame(
        {
            "piece": [f"{prefix}-{number:03d}" for number in range(1, n + 1)],
            "type": "US half dollar",
            "kind": kinds,
            "status": [status_word(kind) for kind in kinds],
            "weight_g": [f"{value:.2f}" for value in weight],
            "diameter_mm": [f"{value:.2f}" for value in across],
            "thickness_mm": [f"{value:.2f}" for value in thick],
            "difficulty": [f"{value:.1f}" for value in _difficulty(far, specs)],
            "finding": np.where(far > 3.5, "set aside", "consistent"),
            "told_by": ["all readings agree" if s.as_standard else s.told_by for s in specs],
            "tellable": ["yes" if s.as_standard or s.told_by else "no" for s in specs],
        }
    )
    return Pieces(table, felt)


def status_word(kind: str) -> str:
    """What a key says of a kind."""
    return "honest" if KINDS[kind].as_standard else "not honest"


def _how_far(weight_g: Floats, diameter_mm: Floats, thickness_mm: Floats) -> Floats:
    """Greatest departure of the three readings, in spreads of honest pieces (assumed)."""
    apart = [
        (weight_g - WEIGHT_G * (1 - _WEAR_SHARE)) / (0.013 * WEIGHT_G),
        (diameter_mm - DIAMETER_MM) / 0.05,
        (thickness_mm - THICKNESS_MM) / 0.045,
    ]
    return np.asarray(np.abs(np.array(apart)).max(axis=0))


def _difficulty(far: Floats, specs: list[PieceKind]) -> Floats:
    """From 0 (any bench tells it) to 10: near for a piece that departs, far for one that
    does not."""
    honest = np.array([spec.as_standard for spec in specs])
    return np.asarray(np.clip(np.where(honest, 2.0 * far, 10.0 - far), 0.0, 10.0))
