"""Nine check pieces of our own, each among 20 honest mates and weighed twice.

Common practice, no source: what a piece of that kind weighs and measures follows from the
standard of its type, a density and plane geometry (``lotscreen.simulate``); what it must
be found to be is what a careful person at the table would say. All invented.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from lotscreen.records import Floats, Texts
from lotscreen.simulate import Balance, Gauge
from lotscreen.simulate.bodies import Bodies, strike, wear_down
from lotscreen.simulate.kinds import KINDS
from lotscreen.simulate.worlds import WORLDS
from lotscreen.simulate.writing import gauge_length, gauge_thickness, weigh
from lotscreen.standards import CoinType, StandardsTable

PIECE = "piece"
MATES = 20
_PLACE = 10


@dataclass(frozen=True, slots=True)
class CheckPiece:
    """A piece, its mates, and what must be said of it.

    ``years`` are the mates' dates and hold the piece's (``year``). ``mean_loss_percent`` is
    the mates' mean wear, ``wear_of_mean`` the piece's in means of its mates. ``kind`` is '' for
    an honest piece. ``findings`` are those allowed, ``says`` what its first reason holds.
    """

    name: str
    type_text: str
    years: tuple[int, int]
    year: int
    mean_loss_percent: float
    wear_of_mean: float
    kind: str
    findings: tuple[str, ...]
    says: str
    seed: int
    balance: Balance = field(default_factory=Balance)
    two_diameters: bool = False


PIECES = (
    CheckPiece(
        "worn shilling", "UK shilling", (1895, 1912), 1897, 3.0, 2.5, "",
        ("consistent",), "", 11,
    ),
    CheckPiece(
        "sharp shilling", "UK shilling", (1895, 1912), 1904, 3.0, 0.1, "",
        ("consistent",), "", 12,
    ),
    CheckPiece(
        "base-metal five francs at full diameter", "5 francs silver", (1867, 1876), 1870, 1.0, 0.5,
        "brass, right size", ("not consistent",), "lighter than any honest wear at this size", 13,
    ),
    CheckPiece(
        "florin at weight in nickel silver", "UK florin", (1893, 1912), 1901, 2.2, 0.5,
        "nickel silver, right weight", ("not consistent",),
        "thicker than lot-mates at this weight", 14,
    ),
    CheckPiece(
        "cast half crown", "UK half crown", (1893, 1912), 1900, 1.9, 1.0,
        "cast", ("not consistent",), "smaller across, light in proportion", 15,
    ),
    CheckPiece(
        "lead-alloy crown", "UK crown", (1889, 1902), 1895, 0.6, 0.5,
        "lead alloy, right size", ("not consistent",), "heavier than the standard", 16,
    ),
    CheckPiece(
        "clipped sixpence with one short diameter", "UK sixpence", (1895, 1912), 1905, 4.0, 1.0,
        "clipped", ("set aside", "not consistent"), "", 17, two_diameters=True,
    ),
    CheckPiece(
        "ten francs on a 0.1 g balance", "10 francs gold", (1899, 1912), 1907, 0.5, 1.0, "",
        ("consistent",), "0.1 g", 18, balance=Balance(step_g=0.1, sd_g=0.05),
    ),
    CheckPiece(
        "tungsten-alloy sovereign", "UK sovereign", (1890, 1912), 1900, 0.4, 0.5,
        "tungsten alloy", ("consistent",), "", 19,
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
        "weight 1 (g)": weigh(bodies.weight_g, piece.balance, rng),
        "weight 2 (g)": weigh(bodies.weight_g, piece.balance, rng),
    }
    if piece.two_diameters:
        columns["diameter min (mm)"] = gauge_length(bodies.short_mm, gauge, rng)
        columns["diameter max (mm)"] = gauge_length(bodies.diameter_mm, gauge, rng)
    else:
        columns["diameter (mm)"] = gauge_length(bodies.diameter_mm, gauge, rng)
    columns["thickness (mm)"] = gauge_thickness(bodies.rim_mm, gauge, rng)
    return pd.DataFrame(columns)


def _bodies(
    piece: CheckPiece, coin_type: CoinType, year: np.ndarray, rng: np.random.Generator
) -> Bodies:
    new = strike(coin_type, year, (), 0.0, rng)
    here = np.array([_PLACE])
    kind = KINDS.get(piece.kind)
    if kind is not None and not kind.made_after_wear:
        new.put(here, kind.make(new.rows(here), rng))
    mean_depth = _depth_for(piece.mean_loss_percent / 100.0, new)
    depth = mean_depth * WORLDS["gamma"](rng, MATES + 1)
    depth[_PLACE] = mean_depth[_PLACE] * piece.wear_of_mean
    worn = wear_down(new, depth, rng)
    if kind is not None and kind.made_after_wear:
        worn.put(here, kind.make(worn.rows(here), rng))
    return worn


def _depth_for(loss_share: float, bodies: Bodies) -> Floats:
    """Depth over the whole surface that costs ``loss_share``: two faces and the edge."""
    return np.asarray(loss_share / (2.0 / bodies.effective_mm + 4.0 / bodies.diameter_mm))
