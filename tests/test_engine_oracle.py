"""The benchmark's likelihood ratio by a second route: the simulator's own draws counted.

Every kind's density, summed over cells of readings, must give the counts that the
simulator draws (chi-squared on some sixty to a hundred bins of weight, diameter, thickness).
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from benchmarks.engine import nodes, oracle
from benchmarks.engine.lots import SIX_KINDS, WORLD_NAMES, Lot, Plan, draw
from scipy.stats import chi2

from lotscreen.simulate import bodies
from lotscreen.simulate.specs import Balance, Gauge

COINS = 60_000
STEP = 0.02


def _one_date(kind: str, world: str, coinage: str = "quarter", longer: int = 0) -> Lot:
    plan = Plan(
        coinage,
        world,
        COINS,
        0.0 if kind == "honest" else 1.0,
        coins_a_date=(COINS, COINS),
        kinds=("cast",) if kind == "honest" else (kind,),
        balance=Balance(step_g=STEP),
        gauge=Gauge(step_mm=STEP),
        in_use_longer=longer,
    )
    return draw(plan, 11)


def _cut(values: np.ndarray, parts: int) -> np.ndarray:
    """Bounds half-way between cells that part the drawn values about equally."""
    inner = np.quantile(values, np.arange(1, parts) / parts)
    return np.unique(np.round(inner / STEP) * STEP + STEP / 2)


def _cells(values: np.ndarray) -> np.ndarray:
    """Every cell from a little below the least drawn value to a little above the most."""
    low, high = np.round(values.min() / STEP) - 3, np.round(values.max() / STEP) + 3
    return np.arange(low, high + 1) * STEP


def _expected(lot: Lot, kind: str, grid: np.ndarray) -> np.ndarray:
    """Probability of each cell of the grid (cells x 3)."""
    truth, _ = oracle.known_of(lot)
    half, depth = STEP / 2, float(truth.dates.depth_mm[0, 0])
    coins = oracle.Coins(grid[:, 0] - half, grid[:, 0] + half, grid[:, 1], grid[:, 2])
    if kind == "honest":
        found = oracle.honest_density(coins, nodes.honest_nodes(truth).at(0, depth), 0, truth)
    else:
        kinds = nodes.kind_nodes(kind, truth)
        found = sum(oracle.density(coins, some.at(0, depth), truth.noise) for some in kinds)
    return found * STEP**2


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "world", "longer"),
    [
        *itertools.product(["honest"], WORLD_NAMES, [0]),
        *zip(SIX_KINDS, itertools.cycle(WORLD_NAMES), itertools.repeat(0), strict=False),
        *itertools.product(["honest", "cast", "clipped by weight"], ["lognormal"], [120]),
    ],
)
def test_the_density_of_each_kind_gives_the_counts_that_the_simulator_draws(
    kind: str, world: str, longer: int, monkeypatch: pytest.MonkeyPatch
):
    """Also where many coins would be worn slick and others stand in their place."""
    # One date has one error of its issue; the ratio spreads it over the coins.
    monkeypatch.setattr(bodies, "_ISSUE_SD_SHARE", 0.0)
    monkeypatch.setattr(nodes, "ISSUE_SD_SHARE", 0.0)
    lot = _one_date(kind, world, longer=longer)
    drawn = [lot.table.weight_g, lot.table.diameter_mm, lot.table.thickness_mm]
    cells = [_cells(values) for values in drawn]
    cuts = [_cut(values, parts) for values, parts in zip(drawn, (6, 4, 4), strict=True)]
    shape = tuple(len(c) + 1 for c in cuts)

    def bins(points: list[np.ndarray]) -> np.ndarray:
        at = [np.searchsorted(c, p) for c, p in zip(cuts, points, strict=True)]
        return np.ravel_multi_index(at, shape)

    seen = np.bincount(bins(drawn), minlength=np.prod(shape))
    grid = np.stack(np.meshgrid(*cells, indexing="ij"), axis=-1).reshape(-1, 3)
    chance = np.concatenate(
        [_expected(lot, kind, part) for part in np.array_split(grid, 1 + len(grid) // 4000)]
    )
    assert chance.sum() == pytest.approx(1.0, abs=0.004)
    expected = COINS * np.bincount(bins(list(grid.T)), chance, minlength=np.prod(shape))
    often = expected > 8
    distance = float(np.sum((seen - expected)[often] ** 2 / expected[often]))
    assert often.sum() > 40
    assert chi2.sf(distance, often.sum() - 1) > 1e-3
