"""The weight of a newly struck coin, worn and read: probability of a cell of readings.

A struck weight is normal about the standard with a small heavier-tailed share, no hard
cut at the remedy (454 of the 10 000 sovereigns tried in 1848 lay outside it: Stigler,
Statistics on the Table, 1999, table 21.1). How many are in that share is assumed: few, or
the rarest coins would hardly be alarmed. The balance adds normal error; what is written
is a cell of readings, the balance's step or a published class.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from lotscreen.records import Floats, Ints
from lotscreen.wear.distinct import distinct_rows
from lotscreen.wear.grid import STEP, WEAR

TAIL_SHARE = 0.003
TAIL_TIMES = 2.5
VARIANCE_FACTOR = 1 - TAIL_SHARE + TAIL_SHARE * TAIL_TIMES**2


@dataclass(frozen=True, slots=True)
class Struck:
    """Newly struck weight of a type as this lot's balance reads it.

    ``weight_g`` is the standard, ``shift`` the relative shift of mint and balance
    together and ``shift_sd`` its doubt if each coin's wear were known (it is not: nothing
    is told from this alone), ``sd_g`` the spread of the core of the struck weights.
    """

    weight_g: float
    shift: float
    sd_g: float
    shift_sd: float = 0.0

    def mean_g(self, wear: Floats) -> Floats:
        """Mean reading at each wear (share of the weight lost), in g."""
        return np.asarray(self.weight_g * (1 + self.shift) * (1 - wear))


def reading_cdf(reading_g: Floats, mean_g: Floats, sd_g: Floats | float, u_g: Floats) -> Floats:
    """P(reading before rounding <= ``reading_g``), broadcast over all arguments.

    ``sd_g`` is the spread of the core of the struck weights, ``u_g`` the standard
    uncertainty of the reading.
    """
    core = np.sqrt(np.square(sd_g) + np.square(u_g))
    tail = np.sqrt(np.square(TAIL_TIMES * np.asarray(sd_g)) + np.square(u_g))
    distance = reading_g - mean_g
    return np.asarray((1 - TAIL_SHARE) * ndtr(distance / core) + TAIL_SHARE * ndtr(distance / tail))


@dataclass(frozen=True, slots=True)
class Tails:
    """By cell and wear (cells x wear grid): probability of the ``cell`` of readings, of a
    reading ``up_to_high`` (its upper bound) and of one ``from_low`` (its lower bound)."""

    cell: Floats
    up_to_high: Floats
    from_low: Floats


def tails_given_wear(low_g: Floats, high_g: Floats, u_g: Floats, struck: Struck) -> Tails:
    """Each cell of readings and both its tails at each wear of the grid.

    Sums over the grid of wear are exact to many digits as long as its bins are no wider
    than the spread (trapezoidal rule of a smooth function); at heavier wear, what a bin is
    wider enters as extra spread, so that the coarse grid leaves no ripple. Tails are
    computed from their own side, so that small ones keep their digits.
    """
    mean = struck.mean_g(WEAR)[None, :]
    known = np.square(u_g)[:, None]
    bin_width = np.square(WEAR * STEP * struck.weight_g)[None, :]
    u = np.sqrt(known + np.maximum(bin_width - struck.sd_g**2 - known, 0.0) / 12)
    low, high = low_g[:, None] - mean, high_g[:, None] - mean
    # The cell's two ends from the side of the nearer tail; the other side is their rest.
    above = low > 0
    near = reading_cdf(np.where(above, -low, high), np.array(0.0), struck.sd_g, u)
    far = reading_cdf(np.where(above, -high, low), np.array(0.0), struck.sd_g, u)
    return Tails(near - far, np.where(above, 1 - far, near), np.where(above, near, 1 - far))


@dataclass(frozen=True, slots=True)
class DistinctTails:
    """Tails of the distinct cells of n readings, ``low_g`` to ``high_g``, and which of them
    each reading has (``of``, n)."""

    low_g: Floats
    high_g: Floats
    tails: Tails
    of: Ints


def once_a_cell(cells: Floats, struck: Struck, more_u_g: float) -> DistinctTails:
    """Tails of each cell (n rows: low, high, u), each distinct one computed once;
    ``more_u_g`` adds to the uncertainty of the readings."""
    cells, of, _ = distinct_rows(cells)
    low, high, u = cells.T
    return DistinctTails(low, high, tails_given_wear(low, high, np.hypot(u, more_u_g), struck), of)


def cells_given_wear(low_g: Floats, high_g: Floats, u_g: Floats, struck: Struck) -> Floats:
    """Cells x wear grid: probability of each cell of readings at each wear."""
    return tails_given_wear(low_g, high_g, u_g, struck).cell


def cell_moments(
    low_g: Floats, high_g: Floats, mean_g: Floats, sd_g: Floats
) -> tuple[Floats, Floats]:
    """First and second moment of (reading - ``mean_g``) given that the reading lies in the
    cell, for a normal of that mean and sd; broadcast over all arguments.

    A narrow cell is taken as one in which the normal rises or falls evenly; a wide or open
    one exactly (truncated normal).
    """
    with np.errstate(invalid="ignore"):
        middle, width = 0.5 * (low_g + high_g) - mean_g, high_g - low_g
    nearest = np.where(np.isfinite(low_g), low_g, high_g) - mean_g
    closed = np.isfinite(width)
    slope = np.where(closed, np.square(width / sd_g) / 12, 0.0)
    first = np.where(closed, middle * (1 - slope), nearest)
    second = np.where(
        closed, np.square(middle) * (1 - 2 * slope) + np.square(width) / 12, np.square(nearest)
    )
    if np.any(width > sd_g):
        a, b = (low_g - mean_g) / sd_g, (high_g - mean_g) / sd_g
        mass = ndtr(b) - ndtr(a)
        wide = (b - a > 1.0) & (mass > 1e-9)
        mass = np.where(wide, mass, 1.0)
        at_a, at_b = _height(a), _height(b)
        first = np.where(wide, sd_g * (at_a - at_b) / mass, first)
        spread = 1 + (_times(a, at_a) - _times(b, at_b)) / mass
        second = np.where(wide, np.square(sd_g) * spread, second)
    return np.asarray(first), np.asarray(second)


def _height(z: Floats) -> Floats:
    return np.asarray(np.exp(-0.5 * np.square(z)) / np.sqrt(2 * np.pi))


def _times(z: Floats, height: Floats) -> Floats:
    return np.where(np.isfinite(z), np.where(np.isfinite(z), z, 0.0) * height, 0.0)
