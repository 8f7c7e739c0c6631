"""Five hundred builds: parallel trays are equally hard, and empty ones as frequent as said."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binomtest
from tray_sets import order, pieces

from lotscreen.tray.compose import Tray, compose

pytestmark = pytest.mark.calibration
BUILDS = 500


def _scored(tray: Tray, honest: bool) -> list[float]:
    return [p.difficulty for p in tray.pieces(honest) if p.tellable]


@pytest.mark.parametrize("purpose", ["learning", "certifying"])
@pytest.mark.parametrize("honest", [False, True])
def test_parallel_trays_are_equal_in_difficulty_within_their_error(purpose: str, honest: bool):
    """The mean difference is nil, and each difference is smaller than the error that the
    means of two trays drawn piece by piece would have."""
    difference, error = [], []
    for seed in range(BUILDS):
        one, other = (_scored(t, honest) for t in compose(pieces(), order(purpose, 2, seed)))
        difference.append(np.mean(one) - np.mean(other))
        error.append(np.sqrt(sum(np.var(own, ddof=1) / len(own) for own in (one, other))))
    mean, spread = np.mean(difference), np.std(difference, ddof=1)
    within = np.mean(np.abs(difference) < np.array(error))
    print(f"{purpose}, honest {honest}: mean difference {mean:+.4f}, spread {spread:.3f}, "
          f"error {np.mean(error):.3f}, within it {within:.3f}")  # fmt: skip
    assert abs(mean) < 3 * spread / np.sqrt(BUILDS)
    assert within >= 0.95
    assert spread < 0.5 * np.mean(error)


def test_empty_trays_are_as_frequent_as_stated():
    trays = [t for seed in range(BUILDS) for t in compose(pieces(), order("vigilance", 2, seed))]
    empty = sum(not tray.pieces(False) for tray in trays)
    found = binomtest(empty, len(trays), order("vigilance").empty_share)
    print(f"{empty} of {len(trays)} trays empty, {order('vigilance').empty_share} stated")
    assert found.pvalue > 0.001
