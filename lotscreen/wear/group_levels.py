"""The record of how rolls and other groups depart from the wear of their dates."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.records import Floats, Ints
from lotscreen.wear.grid import LEVELS, STEP

STEPS: Ints = np.arange(-25, 16)
"""Departures of a group's level from its dates', in steps of the logarithmic grid: from a
fifth to two and a half times the wear. What lies beyond is no roll's wear."""
FACTORS: Floats = np.exp(STEP * STEPS)
UNSEEN = -2
"""Index of a group of which the fit knows no level (too small, or not in the fit)."""
_TELLS = float(np.log(3.0))


@dataclass(frozen=True, slots=True, eq=False)
class GroupLevels:
    """Groups of five coins or more of a type. ``names`` in rising order, ``coins`` of each,
    ``posterior`` (groups x :data:`STEPS`) of its departure from its dates; ``unseen`` is the
    same of a group of which nothing is known. ``log_evidence`` (natural log) that groups
    have levels of their own, against that they have none."""

    names: tuple[str, ...]
    coins: Floats
    posterior: Floats
    unseen: Floats
    log_evidence: float

    @property
    def matter(self) -> bool:
        """False where the lot tells, by three to one or more, that groups have no levels of
        their own: every coin then has its date's. In between both are averaged."""
        return self.log_evidence > -_TELLS

    @property
    def told(self) -> bool:
        """Whether the lot tells, by three to one or more, that groups have own levels."""
        return self.log_evidence > _TELLS

    def of(self, group: int) -> Floats:
        """Chance of each of :data:`STEPS`."""
        return self.unseen if group == UNSEEN else np.asarray(self.posterior[group])

    def used_steps(self) -> Ints:
        """The departure of each group that its dates' levels are freed of, whole steps."""
        return np.rint(self.posterior @ STEPS).astype(np.int64)

    def factors(self) -> Floats:
        """Wear of each group as a multiple of that of its dates."""
        return np.asarray(self.posterior @ FACTORS)


def group_name(lot: object, group: object) -> str:
    """One name for a group of a lot: rolls of two lots may have the same number."""
    return f"{lot}\t{group}" if group else ""


def at_steps(table: Floats, steps: Ints) -> Floats:
    """Each row of ``table`` (rows x levels) as read so many steps higher."""
    index = np.clip(np.arange(LEVELS)[None, :] + steps[:, None], 0, LEVELS - 1)
    return np.take_along_axis(table, index, axis=1)


def departed(level: Floats, chance: Floats) -> Floats:
    """The level of a group's coins: a date's ``level`` (levels,) moved by each of
    :data:`STEPS` with its ``chance``."""
    both = np.convolve(level, chance)
    start = -int(STEPS[0])
    moved = both[start : start + LEVELS].copy()
    moved[0] += both[:start].sum()
    moved[-1] += both[start + LEVELS :].sum()
    return np.asarray(moved / moved.sum())
