"""The logarithmic grid on which wear, its level by date, and its shape live.

Wear is the share of the weight lost. A coin's wear is its date's level times a factor u
of mean about one, so that on a logarithmic grid wear index = level index + offset of u,
and the honest distribution at every level is one product with a banded matrix.
"""

from __future__ import annotations

import numpy as np

from lotscreen.records import Floats, Ints

STEP = 0.06
WEAR: Floats = 3e-5 * np.exp(STEP * np.arange(166))
LOG_WEAR: Floats = np.log(WEAR)
LEVELS = 156
LEVEL: Floats = WEAR[:LEVELS]
OFFSETS: Ints = np.arange(-80, 41)
FACTOR: Floats = np.exp(STEP * OFFSETS)
TRACE = 1e-290
"""What is less likely than this counts as impossible."""
_TRACE_OF_FACTOR = 1e-150
_WEAR_INDEX: Ints = np.clip(
    np.arange(LEVELS)[None, :] + OFFSETS[:, None], 0, len(WEAR) - 1
)  # factors x levels


def level_index(level: Floats | float) -> Ints:
    """The nearest index on the level grid, clipped to it."""
    raw = np.rint((np.log(level) - LOG_WEAR[0]) / STEP)
    return np.asarray(np.clip(raw, 0, LEVELS - 1), dtype=np.int64)


def shape_matrix(shape: Floats) -> Floats:
    """Wear x level: probability of each wear at each level, from the ``shape`` of u.

    Wear below the grid counts as its lowest value (0.003 %), above as its highest.
    """
    flat = (_WEAR_INDEX * LEVELS + np.arange(LEVELS)[None, :]).ravel()
    values = np.repeat(shape, LEVELS)
    sums: Floats = np.bincount(flat, values, len(WEAR) * LEVELS).astype(np.float64)
    return sums.reshape(len(WEAR), LEVELS)


def fold_to_shape(wear_by_level: Floats, shape: Floats) -> Floats:
    """Expected counts of each factor of u, from a wear x level table of responsibilities
    before the shape: ``shape[k] * sum_l table[l + k, l]``."""
    columns = np.arange(LEVELS)
    sums = wear_by_level[_WEAR_INDEX, columns[None, :]].sum(axis=1)
    return np.asarray(shape * sums)


def without_traces(share: Floats) -> Floats:
    """``share`` with whatever is below :data:`TRACE` as nothing: numbers near the least that
    a computer holds take it many times as long."""
    return np.where(share < TRACE, 0.0, share)


def as_factor(share: Floats) -> Floats:
    """The same for one of two factors of a sum over products that is compared with its
    greatest: no sum feels what is below 1e-150, and products of two such are as slow."""
    return np.where(share < _TRACE_OF_FACTOR, 0.0, share)


def gaussian_rows(sd: float, points: int = LEVELS) -> Floats:
    """Each row a normal in log wear about its own index on a grid of ``points``, sd ``sd``:
    level x level unless said otherwise."""
    distance = STEP * (np.arange(points)[None, :] - np.arange(points)[:, None])
    rows = np.exp(-0.5 * (distance / sd) ** 2)
    return as_factor(rows / rows.sum(axis=1, keepdims=True))


def spread(wear: Floats, sd: float) -> Floats:
    """Distributions over the wear grid (n x grid), each spread by a normal in log wear of
    ``sd``; nothing leaves the grid, at its ends it is spread inwards."""
    return np.asarray(wear @ gaussian_rows(sd, len(WEAR)))
