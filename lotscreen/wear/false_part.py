"""The part of a lot that is not honest coin of the declared type, while fitting.

Broad strips of relative weight whose shares the fit finds, so that light, cast or heavy
pieces do not widen the honest curve. Near full weight the weight alone cannot tell: the
strip there has a fixed part of what the others find.
"""

from __future__ import annotations

import numpy as np

from lotscreen.records import Floats

EDGES: Floats = np.array(
    [0.02, 0.45, 0.60, 0.68, 0.74, 0.78, 0.82, 0.85, 0.88, 0.91, 0.94, 0.965, 0.985]
)
HEAVY_EDGES: Floats = np.array([1.015, 1.03, 1.06, 1.12, 1.3, 2.5])
NEAR = (0.965, 1.015)
NEAR_SHARE = 0.2
"""Of the departing pieces, those near full weight (assumed: of the kinds that are made, one
or two in ten aim at it)."""
LOW: Floats = np.concatenate([EDGES[:-1], [0.02], HEAVY_EDGES[:-1], NEAR[:1]])
HIGH: Floats = np.concatenate([EDGES[1:], [2.5], HEAVY_EDGES[1:], NEAR[1:]])
PRIOR_SHARE = 0.02
PRIOR_COINS = 25.0


def strip_probabilities(low_g: Floats, high_g: Floats, weight_g: float) -> Floats:
    """Cells x strips: probability of each cell of readings under each uniform strip.

    The strip from 0.02 to 2.5 of the standard weight is the broad one: anything at all.
    """
    a, b = LOW * weight_g, HIGH * weight_g
    overlap = np.minimum(high_g[:, None], b) - np.maximum(low_g[:, None], a)
    return np.asarray(np.maximum(overlap, 0.0) / (b - a) + 1e-12)


def start_strips() -> Floats:
    """Equal shares but for the strip near full weight, which is the last one."""
    return _with_near(np.ones(len(LOW) - 1))


def update(false_counts: Floats, total: float) -> tuple[float, Floats]:
    """New false share and strip shares from expected counts a strip, with the prior's
    few coins (share 2 % of 25 coins)."""
    elsewhere = false_counts[:-1]
    found = float(elsewhere.sum()) / (1 - NEAR_SHARE)
    share = (found + PRIOR_SHARE * PRIOR_COINS) / (total + PRIOR_COINS)
    return min(share, 0.9), _with_near(elsewhere + 0.5 / len(elsewhere))


def _with_near(elsewhere: Floats) -> Floats:
    """The strips' shares, those elsewhere in proportion."""
    return np.append((1 - NEAR_SHARE) * elsewhere / elsewhere.sum(), NEAR_SHARE)
