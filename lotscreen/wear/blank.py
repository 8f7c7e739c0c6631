"""How much thicker over the rim a piece struck on a thicker blank is."""

from __future__ import annotations

RELIEF_FREE = 0.8
"""Share of the thickness over the rim that grows when the same relief is struck on a
thicker blank: a right-weight brass half is 1.21 times as thick in metal, 1.16 by caliper
over the rim (geometry, common practice)."""


def thicker(density_ratio: float, weight: float = 1.0) -> float:
    """Relative growth of the thickness over the rim of a piece of the type's diameter and
    ``weight`` (of the type's) in a metal of ``density_ratio`` times the type's density."""
    return RELIEF_FREE * (weight / density_ratio - 1)


def density_ratio_of(thickness: float) -> float:
    """The ratio of densities at which a piece of the right weight and diameter is so many
    times as thick over the rim: the inverse of :func:`thicker`."""
    return 1 / (1 + (thickness - 1) / RELIEF_FREE)
