"""Other ways to rank the coins of a lot, for comparison on the same lots.

The three that need a mean of the date are given the true one (the standard less the
date's true wear), which a user would not have; the boosted trees see the labels, too.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from sklearn.covariance import MinCovDet
from sklearn.ensemble import HistGradientBoostingClassifier, IsolationForest

from lotscreen.records import Floats

from . import makers
from .lots import Lot

_CONSISTENT_MAD = 0.6745
"""Iglewicz and Hoaglin, How to Detect and Handle Outliers, 1993."""


def _expected_g(lot: Lot) -> Floats:
    levels = lot.levels
    coin = levels.coin_type
    result = np.empty(len(lot.table))
    for depth in np.unique(levels.depth_mm):
        rows = levels.depth_mm == depth
        date = makers.Date(
            coin.weight_g, coin.diameter_mm or np.nan, coin.density_g_cm3, float(depth), 0.0
        )
        result[rows] = makers.honest(date, makers.Small(), np.ones(1)).weight_g[0]
    return result


def _readings(lot: Lot) -> list[Floats]:
    """The readings that the whole lot has: weight over its expectation, diameter,
    thickness above the design's rim."""
    table = lot.table
    columns = [np.log(table.weight_g / _expected_g(lot))]
    if table.diameter_n.all():
        columns.append(table.diameter_mm)
    if table.thickness_n.all():
        columns.append(table.thickness_mm - lot.levels.stand_mm)
    return columns


def covariance(lot: Lot) -> Floats:
    """Distance from the minimum covariance determinant (Rousseeuw, 1984)."""
    columns = np.column_stack(_readings(lot))
    return np.asarray(MinCovDet(random_state=0).fit(columns).mahalanobis(columns))


def forest(lot: Lot) -> Floats:
    """Isolation forest (Liu, Ting and Zhou, 2008)."""
    columns = np.column_stack(_readings(lot))
    found = IsolationForest(n_estimators=200, random_state=0).fit(columns)
    return -np.asarray(found.score_samples(columns))


def modified_z(lot: Lot) -> Floats:
    """The largest modified z of any reading among the coins of the same date. Where the
    median deviation is less than the step of the readings, the step takes its place."""
    table = lot.table
    _, date = np.unique(table.year, return_inverse=True)
    steps = (lot.plan.balance.step_g, lot.plan.gauge.step_mm, lot.plan.gauge.step_mm)
    largest = np.zeros(len(table))
    readings = (table.weight_g, table.diameter_mm, table.thickness_mm)
    for values, step in zip(readings, steps, strict=True):
        for rows in (np.flatnonzero(date == d) for d in range(int(date.max()) + 1)):
            off = np.abs(values[rows] - np.nanmedian(values[rows])) if _any(values[rows]) else 0.0
            spread = np.nanmedian(off) if _any(off) else step
            z = _CONSISTENT_MAD * off / max(spread, step)
            largest[rows] = np.fmax(largest[rows], z)
    return largest


def _any(values: Floats | float) -> bool:
    return bool(np.isfinite(values).any())


def legal_band(lot: Lot) -> Floats:
    """How many remedies the weight is off the standard, either way."""
    coin = lot.levels.coin_type
    remedy = np.array([coin.remedy_g(year) or np.nan for year in lot.table.year])
    return np.asarray(np.abs(lot.table.weight_g - coin.weight_g) / remedy)


def boosted(lots: Sequence[Lot]) -> list[Floats]:
    """Boosted trees shown the labels and each date's true wear, fitted on one half of the
    lots (or of the coins of a single lot) and used on the other."""
    columns = [np.column_stack([*_readings(lot), lot.levels.depth_mm]) for lot in lots]
    where = np.repeat(np.arange(len(lots)), [len(c) for c in columns])
    fold = where % 2 if len(lots) > 1 else np.arange(len(where)) % 2
    together, false = np.concatenate(columns), np.concatenate([~lot.honest for lot in lots])
    score = np.empty(len(where))
    for part in (0, 1):
        trees = HistGradientBoostingClassifier(max_iter=150, random_state=0)
        trees.fit(together[fold != part], false[fold != part])
        score[fold == part] = trees.decision_function(together[fold == part])
    return [score[where == k] for k in range(len(lots))]


ONE_LOT: Mapping[str, Callable[[Lot], Floats]] = {
    "MCD": covariance,
    "forest": forest,
    "mod. z": modified_z,
    "legal band": legal_band,
}
