"""The lengths of coins as the fit and the judgement take them."""

from __future__ import annotations

import numpy as np

from lotscreen.records import Bools, Floats, ItemTable
from lotscreen.wear.type_fit import TypeFit


def judged_diameter(coins: ItemTable) -> tuple[Floats, Floats]:
    """The diameter to judge, mm (the smallest where taken, else the mean), and by how
    much the largest exceeds it (NaN where not both were taken)."""
    least, most = coins.diameter_min_mm, coins.diameter_max_mm
    both = np.isfinite(least) & np.isfinite(most)
    return np.where(np.isfinite(least), least, coins.diameter_mm), np.where(
        both, most - least, np.nan
    )


def with_length(coins: ItemTable, fit: TypeFit) -> Bools:
    """Which coins have a length that can be judged (n,). Chances by weight alone say nothing
    new of the weights: they would only cut the honest curve narrower."""
    across = fit.diameter.speaks & np.isfinite(judged_diameter(coins)[0])
    return np.asarray(across | (fit.thickness.speaks & np.isfinite(coins.thickness_mm)))
