"""What the fit of a type predicts of each coin: the record."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.records import Floats, Ints
from lotscreen.wear import grid
from lotscreen.wear.date_wear import DateWear

_QUANTILES = np.array([0.05, 0.25, 0.5, 0.75, 0.95])


@dataclass(frozen=True, slots=True)
class Predicted:
    """Per coin, arrays of one length (``wear_points`` coins x 5).

    ``p_low`` and ``p_high``: rate of honest coins reading this or lower / higher, the
    coin's own cell counted in both (conservative under rounding). ``cell``: probability of
    the cell. ``wear`` and ``wear_sd``: share of weight lost by an honest coin of this
    reading, mean and sd; ``date_wear``, ``date_wear_sd`` and ``date_wear_skew`` (skewness)
    before it is seen, of coins of its date, together :attr:`date`. ``wear_points``: five
    quantiles of wear at this date before the reading is seen.
    """

    p_low: Floats
    p_high: Floats
    cell: Floats
    wear: Floats
    wear_sd: Floats
    date_wear: Floats
    date_wear_sd: Floats
    date_wear_skew: Floats
    wear_points: Floats

    @property
    def date(self) -> DateWear:
        """Wear of coins of each date before the reading is seen."""
        return DateWear(self.date_wear, self.date_wear_sd, self.date_wear_skew)

    def rows(self, index: Ints) -> Predicted:
        """The coins at ``index``."""
        return Predicted(*(np.asarray(getattr(self, name)[index]) for name in self.__slots__))


def quantiles_of_wear(wear: Floats) -> Floats:
    """The five quantiles of ``wear_points`` of each row (n x wear grid) of probabilities."""
    rising = np.cumsum(wear, axis=1)
    # One quantile at a time: several times as fast as all at once on a third axis.
    index = np.stack([np.count_nonzero(rising < q, axis=1) for q in _QUANTILES], axis=1)
    return np.asarray(grid.WEAR[np.minimum(index, len(grid.WEAR) - 1)])
