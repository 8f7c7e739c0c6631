"""CUSUM of standardised residuals: two one-sided running sums (Page, Biometrika 1954).

A running sum is for slow changes (a balance that drifts, another source of coins from
some depth on). One wild coin is the screen's own business, so that a residual counts at
most ``clip_sd``. The run lengths hold for independent residuals that are normal about a
centre fixed before; coins sorted by date or laid by roll are not independent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.records import Floats, SettingsError
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class CusumScheme:
    """``reference_sd`` is half the shift to notice soonest, ``limit_sd`` the height of a
    sum that signals, ``clip_sd`` the most that one residual counts (infinite: no clip);
    all in standard deviations of a residual. SettingsError where the three do not fit."""

    reference_sd: float
    limit_sd: float
    clip_sd: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.reference_sd < self.clip_sd or not self.limit_sd > 0.0:
            raise SettingsError(
                say(
                    "sequential.cusum_wrong",
                    reference=self.reference_sd,
                    limit=self.limit_sd,
                    clip=self.clip_sd,
                )
            )


@dataclass(frozen=True, slots=True)
class CusumPath:
    """The upward and the downward sum after each coin, both >= 0, and the first coin
    (counted from 1) at which either is above the limit, 0 where none is."""

    up: Floats
    down: Floats
    signal_at: int


def cusum_path(residual_sd: Floats, scheme: CusumScheme) -> CusumPath:
    """Run both sums over 1-D residuals in measuring order, in standard deviations about
    the centre. A coin without a residual (NaN) leaves the sums as they are."""
    clipped = np.clip(residual_sd, -scheme.clip_sd, scheme.clip_sd)
    up = _one_sided(clipped - scheme.reference_sd)
    down = _one_sided(-clipped - scheme.reference_sd)
    above = np.maximum(up, down) > scheme.limit_sd
    return CusumPath(up, down, int(np.argmax(above)) + 1 if above.any() else 0)


def _one_sided(increment: Floats) -> Floats:
    """max(0, sum so far + increment) at each step: the total less its lowest value yet."""
    total = np.cumsum(np.nan_to_num(increment, nan=0.0))
    lowest = np.minimum(np.minimum.accumulate(total), 0.0)
    return total - lowest
