"""How much coins of a noted grade have lost: a level of wear for each grade.

A grade says more of a coin's wear than its date does, so a graded coin stands with the
coins of its grade and not with its date. The levels of the grades are not shrunk to the
line of the dates but to the depth that each grade means, with a wide spread, because
graders differ: the lot moves it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import softmax

from lotscreen.quantities import GRADES
from lotscreen.records import Floats, Ints
from lotscreen.standards.coin_type import CoinType
from lotscreen.wear import grid
from lotscreen.wear.allowance import loss_at_depth

DEPTH_UM = (1.9, 6.1, 12.4, 20.5, 30.2, 42.4, 59.7)
"""Depth lost from both faces and the edge by grade, in the order of
:data:`lotscreen.quantities.GRADES`.

Working percentages for silver dollars, halves, quarters and dimes (common practice, no
source: VF 0.7 to 1.5, 1 to 2.2, 1.5 to 3, 2 to 4 %) are one such depth within a tenth."""
GOLD_SHARE = 0.25
"""Gold of a grade has lost a quarter of that depth (the same working percentages)."""
LEVEL_SD = 0.5
"""Doubt of the logarithm of a grade's level before the lot is seen (assumed)."""
SHAPE_SD = 0.5
"""Spread of the logarithm of the wear of coins of one grade before the lot is seen
(assumed: a grade spans a factor of two, and graders err by half a grade)."""
SHARP = GRADES[:3]
"""Grades of coins that still show most of their design."""


@dataclass(frozen=True, slots=True, eq=False)
class GradeLevels:
    """What the lot says of its grades, rows in the order of :data:`GRADES`: ``coins`` that
    count, ``posterior`` (grades x levels) of the level of each. ``shape`` is the
    distribution of a coin's wear about its grade's level; ``typical_wear`` (classes x wear
    grid) are classes of graded coins that are expected to be worn alike, in rising order.
    """

    coins: Floats
    posterior: Floats
    shape: Floats
    typical_wear: Floats


def grade_loss(coin_type: CoinType) -> Floats:
    """Share of the weight that coins of each grade have lost, before the lot is seen."""
    metal = GOLD_SHARE if "gold" in (coin_type.fine_metal, coin_type.metal) else 1.0
    return metal * np.array([loss_at_depth(coin_type, um / 1000) for um in DEPTH_UM])


def grade_prior(coin_type: CoinType, log_sd: float = LEVEL_SD) -> Floats:
    """Grades x levels: the level of each grade before the lot is seen."""
    middle = np.log(grade_loss(coin_type))[:, None]
    return softmax(-0.5 * np.square((np.log(grid.LEVEL)[None, :] - middle) / log_sd), axis=1)


def grade_shape() -> Floats:
    """Lognormal of mean one on the grid of u: coins of one grade before the lot is seen."""
    z = (np.log(grid.FACTOR) + 0.5 * SHAPE_SD**2) / SHAPE_SD
    return np.asarray(softmax(-0.5 * np.square(z)))


def grade_index(grade: np.ndarray) -> Ints:
    """Place of each text in :data:`GRADES`, -1 for none."""
    place = {name: i for i, name in enumerate(GRADES)}
    return np.array([place.get(str(text), -1) for text in grade], dtype=np.int64)


def grade_posterior(log_likelihood: Floats, prior: Floats) -> Floats:
    """Level of each grade from the lot's own likelihood (both grades x levels)."""
    log = log_likelihood + np.log(np.maximum(prior, 1e-300))
    return np.asarray(softmax(log, axis=1))
