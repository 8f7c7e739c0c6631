"""Nine check pieces of our own, each among 20 honest mates and weighed twice.

Common practice, no source: what a piece of that kind weighs and measures follows from the
standard of its type, a density and plane geometry (``lotscreen.simulate``); what it must
be found to be is what a careful person at the table would say. All invented.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from lotscreen.records import Floats, Texts
from lotscreen.simulate import Balance, Gauge
from lotscreen.simulate.bodies import Bodies, strike, wear_down
from lotscreen.simulate.kinds import KINDS, clip, shrunk
from lotscreen.simulate.worlds import WORLDS
from lotscreen.simulate.writing import gauge_length, gauge_thickness, weigh
from lotscreen.standards import CoinType, StandardsTable

Alteration = Callable[[Bodies], Bodies]
PIECE = "piece"
MATES = 20
_PLACE = 10


@dataclass(frozen=True, slots=True)
class CheckPiece:
    """A piece, its mates, and what must be said of it.

    ``years`` are the mates' dates and hold the piece's (``year``). ``mean_loss_percent`` is
    the mates' mean wear, ``wear_of_mean`` the piece's in means of its mates. ``kind`` is the
    simulator's kind of a piece made in another metal before it wore, ``altered`` what was
    done after. ``findings`` are those allowed, ``reason`` what its first reason holds.
    """

    name: str
    type_text: str
    years: tuple[int, int]
    year: int
    mean_loss_percent: float
    wear_of_mean: float
    findings: tuple[str, ...]
    reason: str
    seed: int
    kind: str = ""
    altered: Alteration | None = None
    balance: Balance = field(default_factory=Balance)
    two_diameters: bool = False


def _cast(bodies: Bodies) -> Bodies:
    """1.5 % smaller in every direction, 3.5 % pores: 7.8 % lighter."""
    size, pores = np.array([0.985]), np.array([0.035])
    return shrunk(bodies, size, size, pores)


def _clipped(bodies: Bodies) -> Bodies:
    """A segment 1.65 mm high is gone: 5 % of a sixpence, and across it 17.7 mm are left,
    which no one digit mistaken makes of a whole one's 19.4."""
    return clip(bodies, np.array([1.65]))


_NOT_CONSISTENT = ("not consistent",)
_CONSISTENT = ("consistent",)
PIECES = (
    CheckPiece(
        "worn shilling", "UK shilling", (1895, 1912), 1897, 3.0, 2.5,
        _CONSISTENT, "not rare among coins of this type, date and wear", seed=11,
    ),
    CheckPiece(
        "sharp shilling", "UK shilling", (1895, 1912), 1904, 3.0, 0.1,
        _CONSISTENT, "not rare among coins of this type, date and wear", seed=12,
    ),
    CheckPiece(
        "base-metal five francs at full diameter", "5 francs silver", (1867, 1876), 1870, 1.0, 0.5,
        _NOT_CONSISTENT, "lighter than any honest wear at this size", seed=13,
        kind="brass, right size",
    ),
    CheckPiece(
        "florin at weight in nickel silver", "UK florin", (1893, 1912), 1901, 2.2, 0.5,
        _NOT_CONSISTENT, "thicker than lot-mates at this weight", seed=20,
        kind="nickel silver, right weight",
    ),
    CheckPiece(
        "cast half crown", "UK half crown", (1893, 1912), 1900, 1.2, 1.0,
        _NOT_CONSISTENT, "smaller across, light in proportion", seed=15, altered=_cast,
    ),
    CheckPiece(
        "lead-alloy crown", "UK crown", (1889, 1902), 1895, 0.6, 0.5,
        _NOT_CONSISTENT, "heavier than the standard", seed=16, kind="lead alloy, right size",
    ),
    CheckPiece(
        "clipped sixpence with one short diameter", "UK sixpence", (1895, 1912), 1905, 4.0, 1.0,
        ("set aside", "not consistent"), "one diameter is short", seed=17,
        altered=_clipped, two_diameters=True,
    ),
    CheckPiece(
        "ten francs on a 0.1 g balance", "10 francs gold", (1899, 1912), 1907, 0.5, 1.0,
        _CONSISTENT, "0.1 g", seed=18, balance=Balance(step_g=0.1, sd_g=0.05),
    ),
    CheckPiece(
        "tungsten-alloy sovereign", "UK sovereign", (1890, 1912), 1900, 0.4, 0.5,
        _CONSISTENT, "not rare among coins of this type, date and wear", seed=19,
        kind="tungsten alloy",
    ),
)  # fmt: skip


def sheet_of(piece: CheckPiece, standards: StandardsTable) -> pd.DataFrame:
    """21 rows of text cells, the piece (``coin_id`` 'piece') in the middle."""
    rng = np.random.default_rng(np.random.SeedSequence(piece.seed))
    coin_type = standards.get(standards.resolve(piece.type_text, piece.year).key)
    year = rng.integers(piece.years[0], piece.years[1] + 1, MATES + 1)
    year[_PLACE] = piece.year
    bodies = _bodies(piece, coin_type, year, rng)
    names: Texts = np.array([f"mate-{n:02d}" for n in range(MATES + 1)], dtype=object)
    names[_PLACE] = PIECE
    gauge = Gauge()
    columns: dict[str, Texts | list[str]] = {
        "coin_id": names,
        "type": [piece.type_text] * (MATES + 1),
        "date": year.astype(str).astype(object),
        "weight_g_1": weigh(bodies.weight_g, piece.balance, rng),
        "weight_g_2": weigh(bodies.weight_g, piece.balance, rng),
    }
    if piece.two_diameters:
        columns["diameter_min_mm"] = gauge_length(bodies.short_mm, gauge, rng)
        columns["diameter_max_mm"] = gauge_length(bodies.diameter_mm, gauge, rng)
    else:
        columns["diameter_mm"] = gauge_length(bodies.diameter_mm, gauge, rng)
    columns["thickness_mm"] = gauge_thickness(bodies.rim_mm, gauge, rng)
    return pd.DataFrame(columns)


def _bodies(
    piece: CheckPiece, coin_type: CoinType, year: np.ndarray, rng: np.random.Generator
) -> Bodies:
    new = strike(coin_type, year, (), 0.0, rng)
    here = np.array([_PLACE])
    if piece.kind:
        new.put(here, KINDS[piece.kind].make(new.rows(here), rng))
    mean_depth = _depth_for(piece.mean_loss_percent / 100.0, new)
    depth = mean_depth * WORLDS["gamma"](rng, MATES + 1)
    depth[_PLACE] = mean_depth[_PLACE] * piece.wear_of_mean
    worn = wear_down(new, depth, rng)
    if piece.altered is not None:
        worn.put(here, piece.altered(worn.rows(here)))
    return worn


def _depth_for(loss_share: float, bodies: Bodies) -> Floats:
    """Depth over the whole surface that costs ``loss_share``: two faces and the edge."""
    return np.asarray(loss_share / (2.0 / bodies.effective_mm + 4.0 / bodies.diameter_mm))
