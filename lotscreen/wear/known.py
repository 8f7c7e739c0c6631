"""Coins worn so far that neither type nor date is read are in no lot by type and date.

How many of them are there all the same is learned beside the shape of wear: the shape leads
to expect how many coins of each date should be slick, the lot shows how many are. Where no
date is worn so far nothing is learned and nothing depends on it. Counts of what a cut leaves
unseen: Dempster, Laird and Rubin, Journal of the Royal Statistical Society B 39, 1977,
section 4.2 (the section from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from lotscreen.records import Floats
from lotscreen.standards.coin_type import CoinType
from lotscreen.wear import grid
from lotscreen.wear.allowance import still_legible

SLICK_KNOWN, SLICK_KNOWN_COINS = 0.2, 5.0
"""Share of slick coins whose type and date are known all the same, before the lot is seen,
and how many slick coins that is worth (assumed)."""


@dataclass(frozen=True, slots=True)
class Known:
    """Which coins are in lots by type and date: of each wear of the grid the part that is
    ``legible`` (wear grid), of the others a share ``slick``."""

    legible: Floats
    slick: float = SLICK_KNOWN

    @property
    def of_wear(self) -> Floats:
        """Share of the coins of each wear that is in lots (wear grid)."""
        return self.slick + (1 - self.slick) * self.legible

    def matrix(self, shape: Floats) -> tuple[Floats, Floats]:
        """Wear x level: probability of each wear at each level among the coins in lots, from
        the ``shape`` of u of all; and the share of all that is in lots at each level."""
        every = grid.shape_matrix(shape)
        seen = self.of_wear @ every
        return every * self.of_wear[:, None] / seen[None, :], seen

    def shape_counts(
        self, shape: Floats, seen: Floats, wear_by_level: Floats, at_level: Floats
    ) -> Floats:
        """Expected counts by factor of the shape, of coins that are in no lot, too; in all as
        many as there are. ``wear_by_level`` are responsibilities before the matrix,
        ``at_level`` the expected coins at each level, ``seen`` as :meth:`matrix` has it."""
        there = wear_by_level * self.of_wear[:, None]
        elsewhere = (1 - self.of_wear)[:, None] * at_level[None, :]
        counts = grid.fold_to_shape((there + elsewhere) / seen[None, :], shape)
        return np.asarray(counts * (at_level.sum() / max(float(counts.sum()), 1e-290)))

    def missing(self, matrix: Floats, at_level: Floats) -> float:
        """Expected number of coins in no lot beside those ``at_level``."""
        return float(((1 - self.of_wear) / self.of_wear) @ (matrix @ at_level))

    def learned(self, by_wear: Floats, missing: float) -> Known:
        """The share of slick coins learned again, from expected coins of the lot ``by_wear``
        (wear grid) and those ``missing``."""
        there = float(by_wear @ (self.slick * (1 - self.legible) / self.of_wear))
        before = SLICK_KNOWN_COINS * SLICK_KNOWN
        return replace(self, slick=(there + before) / (there + missing + SLICK_KNOWN_COINS))


def known_of(coin_type: CoinType, slick: float = SLICK_KNOWN) -> Known:
    """Which coins of ``coin_type`` are in lots."""
    return Known(still_legible(coin_type), slick)
