"""The register of faults that strike a block of rows: what was typed, and what was read.

Adding one is one line in ``FAULTS``. Which faults occur is common practice, no source; they
are taken as equally frequent, for want of any count.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lotscreen.evidence.slips import COLUMNS_SWAPPED
from lotscreen.quantities import DWT_G, GRAIN_G, INCH_MM, TROY_OUNCE_G
from lotscreen.records import Floats

_LEAST_HOLDER_G, _MOST_HOLDER_G = 0.2, 30.0
"""A paper flip weighs about half a gram, a hard capsule 5 to 15 g (common practice)."""


@dataclass(frozen=True, slots=True)
class BlockFault:
    """One fault: ``key`` of the slip it is a block of, the ``column`` that shows it best (0
    weight, 1 diameter, 2 thickness), and ``read``: from n rows (weight, diameter, thickness)
    as typed to what the instruments showed, n x 3."""

    key: str
    column: int
    read: Callable[[Floats], Floats]


def _exchanged(*order: int) -> Callable[[Floats], Floats]:
    return lambda typed: typed[:, order]


def _times(weight: float = 1.0, diameter: float = 1.0, thickness: float = 1.0) -> Callable[
    [Floats], Floats
]:  # fmt: skip
    factors = np.array([weight, diameter, thickness])
    return lambda typed: typed * factors


FAULTS: list[BlockFault] = [
    BlockFault(COLUMNS_SWAPPED, 0, _exchanged(1, 0, 2)),
    BlockFault(COLUMNS_SWAPPED, 0, _exchanged(2, 1, 0)),
    BlockFault(COLUMNS_SWAPPED, 1, _exchanged(0, 2, 1)),
    BlockFault(COLUMNS_SWAPPED, 0, _exchanged(1, 2, 0)),
    BlockFault(COLUMNS_SWAPPED, 0, _exchanged(2, 0, 1)),
    BlockFault("wrong_unit", 0, _times(weight=GRAIN_G)),
    BlockFault("wrong_unit", 0, _times(weight=DWT_G)),
    BlockFault("wrong_unit", 0, _times(weight=TROY_OUNCE_G)),
    BlockFault("wrong_unit", 0, _times(weight=1 / GRAIN_G)),
    BlockFault("wrong_unit", 1, _times(diameter=INCH_MM)),
    BlockFault("wrong_unit", 2, _times(thickness=INCH_MM)),
    BlockFault("wrong_unit", 1, _times(diameter=INCH_MM, thickness=INCH_MM)),
    BlockFault("decimal_slip", 0, _times(weight=10.0)),
    BlockFault("decimal_slip", 0, _times(weight=0.1)),
    BlockFault("decimal_slip", 0, _times(weight=0.01)),
    BlockFault("decimal_slip", 1, _times(diameter=0.1)),
    BlockFault("decimal_slip", 1, _times(diameter=0.01)),
    BlockFault("decimal_slip", 2, _times(thickness=0.1)),
    BlockFault("decimal_slip", 2, _times(thickness=0.01)),
]


def log_offset_rate(offset_g: Floats) -> Floats:
    """Natural log of how often, per gram, a holder of that weight is left on the pan: even in
    the logarithm from a paper flip to a capsule, none outside."""
    inside = (offset_g >= _LEAST_HOLDER_G) & (offset_g <= _MOST_HOLDER_G)
    scale = np.log(_MOST_HOLDER_G / _LEAST_HOLDER_G)
    return np.where(inside, -np.log(np.maximum(offset_g, _LEAST_HOLDER_G) * scale), -np.inf)
