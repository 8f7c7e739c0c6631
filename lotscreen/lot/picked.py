"""Whether the coins measured for thickness were picked because their weights looked odd."""

from __future__ import annotations

import numpy as np
from scipy.stats import mannwhitneyu

from lotscreen.records import Bools, Floats

FEW = 0.3
"""Below this share of coins measured the reference rests on whoever was chosen (common
practice, no source)."""
PICKED_P = 0.01
_LEAST_COINS = 5


def picked_by_weight(z_weight: Floats, measured: Bools) -> float | None:
    """How rare it is that coins drawn blindly lie so far from their expected weight, or so
    light, as the ``measured`` ones do: two one-sided rank tests (Mann and Whitney, Annals of
    Mathematical Statistics 18, 1947), the smaller rate doubled.

    ``z_weight`` and ``measured`` are of one length, NaN where no weight spoke. None where
    :data:`FEW` or more were measured, or fewer than five on either side.
    """
    speaks = np.isfinite(z_weight)
    inside, outside = z_weight[measured & speaks], z_weight[~measured & speaks]
    if np.mean(measured) >= FEW or min(len(inside), len(outside)) < _LEAST_COINS:
        return None
    further = mannwhitneyu(np.abs(inside), np.abs(outside), alternative="greater").pvalue
    lighter = mannwhitneyu(inside, outside, alternative="less").pvalue
    return float(min(1.0, 2 * min(further, lighter)))
