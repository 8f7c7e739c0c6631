"""Repeats by several people, instruments or days: repeatability and offsets.

A reading is its coin's value, plus the offset of who or what read it, plus an error. That is
the one-way layout of ISO 5725-2 (laboratories there, people or balances here) with the
coins' own values taken out first, so that not everybody need have read every coin: least
squares with coins eliminated (Searle, Linear Models, 1971, ch. 7). The repeatability is the
residual standard deviation; the spread between people is estimated as in ISO 5725-2, 7.4,
from the mean square of their offsets. Offsets are told, never taken off a reading.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import stats

from lotscreen.instruments import ReadingSpread, reading_sd
from lotscreen.records import Bools, Floats, Ints, ItemKind, Quantity, ReadingStatus
from lotscreen.settings import Settings

FACTORS = ("person", "instrument", "day")
_QUANTITIES = (Quantity.WEIGHT, Quantity.DIAMETER, Quantity.THICKNESS)
_ROUNDS = 20
_ROBUST_SDS = 6.0  # a repeat further off than this is a slip, not a spread
_PRIOR_DOF = 4.0  # the assumed sd of a reading counts like so many degrees of freedom
_LEVEL_OF_INTERVAL = 0.95


@dataclass(frozen=True, slots=True)
class Offset:
    """How much more one level (a person, a balance, a day) reads than the mean of all that
    share coins with it, in g or mm, with a 95 % interval."""

    level: str
    readings: int
    offset: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Repeats:
    """What repeats of one quantity say of one factor ('' none: repeatability alone).

    Standard deviations are in g or mm: ``repeatability_sd`` of a single reading (rounding
    included), ``between_sd`` of levels. ``ms_between`` and ``ms_within`` are the mean squares
    of the layout, with ``dof_between`` and ``dof_within`` degrees of freedom; ``p_value`` is
    of their ratio. ``slips`` are items whose repeats disagree too much to be counted.
    """

    quantity: str
    factor: str
    coins: int
    readings: int
    repeatability_sd: float
    between_sd: float
    ms_between: float
    ms_within: float
    dof_between: int
    dof_within: int
    p_value: float
    offsets: tuple[Offset, ...]
    slips: tuple[str, ...]

    @property
    def f_ratio(self) -> float:
        """Mean square between levels over that within, NaN without levels."""
        return self.ms_between / self.ms_within if self.dof_between else float("nan")

    @property
    def reproducibility_sd(self) -> float:
        """One standard deviation of a single reading by anybody."""
        return float(np.hypot(self.repeatability_sd, self.between_sd))


def study_repeats(items: pd.DataFrame, readings: pd.DataFrame) -> tuple[Repeats, ...]:
    """One study a quantity and factor for which single coins were read twice or more.

    ``items`` and ``readings`` have the columns of the records of those names. A quantity
    with repeats but no factor of two levels gets one study with factor ''.
    """
    coins = items.loc[items["kind"] == ItemKind.COIN, "item_id"]
    used = readings[
        (readings["status"] == ReadingStatus.USED) & readings["item_id"].isin(set(coins))
    ]
    found: list[Repeats] = []
    for quantity in _QUANTITIES:
        rows = used[used["quantity"] == quantity]
        rows = rows[rows.duplicated("item_id", keep=False)]
        if len(rows):
            found += _of_quantity(rows, quantity.value)
    return tuple(found)


def _of_quantity(rows: pd.DataFrame, quantity: str) -> Iterator[Repeats]:
    rows = rows.assign(day=rows["time"].str.extract(r"(\d{4}-\d\d-\d\d)", expand=False))
    levels = {factor: rows[factor].fillna("").to_numpy(dtype=object) for factor in FACTORS}
    several = [f for f, of in levels.items() if len(set(of)) > 1 and "" not in set(of)]
    for factor in several or [""]:
        labels = levels[factor] if factor else np.full(len(rows), "", dtype=object)
        study = _study(rows, labels, quantity, factor)
        if study is not None:
            yield study


@dataclass(frozen=True, slots=True)
class _Layout:
    """Readings of coins read twice or more: ``coin`` and ``level`` number them from 0."""

    value: Floats
    coin: Ints
    level: Ints
    names: tuple[str, ...]

    def rows(self, keep: Bools) -> tuple[_Layout, Ints]:
        """The layout of the rows of ``keep`` whose coin still has two readings, and the
        numbers that its coins have here."""
        often = np.bincount(self.coin[keep], minlength=int(self.coin.max(initial=-1)) + 1) > 1
        keep = keep & often[self.coin]
        coins, coin = np.unique(self.coin[keep], return_inverse=True)
        return _Layout(self.value[keep], coin, self.level[keep], self.names), coins


@dataclass(frozen=True, slots=True)
class _Fitted:
    offsets: Floats
    covariance: Floats  # of the offsets, for a residual variance of 1
    residuals: Floats
    ss_between: float
    dof_between: int
    dof_within: int


def _study(rows: pd.DataFrame, labels: np.ndarray, quantity: str, factor: str) -> Repeats | None:
    names, level = np.unique(labels.astype(str), return_inverse=True)
    ids, coin = np.unique(rows["item_id"].to_numpy(dtype=str), return_inverse=True)
    layout = _Layout(rows["value"].to_numpy(np.float64), coin, level, tuple(map(str, names)))
    floor = float(rows["step"].median()) / 2
    apart = _far_apart(layout, floor)
    kept, _ = layout.rows(~np.isin(layout.coin, apart))
    if len(kept.value) == 0:
        return None
    fitted = _fit(kept)
    if fitted.dof_within < 1:
        return None
    # Rounded readings agree better than they are: never less than the variance of rounding.
    rounding = (2 * floor) ** 2 / 12
    within = max(float(np.sum(fitted.residuals**2)) / fitted.dof_within, rounding)
    between = fitted.ss_between / fitted.dof_between if fitted.dof_between else float("nan")
    tail = stats.f.sf(between / within, fitted.dof_between, fitted.dof_within)
    return Repeats(
        quantity=quantity,
        factor=factor,
        coins=int(kept.coin.max()) + 1,
        readings=len(kept.value),
        repeatability_sd=float(np.sqrt(within)),
        between_sd=_between_sd(fitted, within),
        ms_between=between,
        ms_within=within,
        dof_between=fitted.dof_between,
        dof_within=fitted.dof_within,
        p_value=float(tail) if fitted.dof_between else float("nan"),
        offsets=tuple(_offsets(kept, fitted, within)),
        slips=tuple(str(ids[place]) for place in apart),
    )


def _far_apart(layout: _Layout, floor: float) -> list[int]:
    """Coins with a residual beyond six robust standard deviations (of the median absolute
    residual, never less than the rounding's)."""
    out = np.zeros(int(layout.coin.max(initial=-1)) + 1, dtype=np.bool_)
    for _ in range(_ROUNDS):
        kept, coins = layout.rows(~out[layout.coin])
        if len(kept.value) == 0:
            break
        fitted = _fit(kept)
        share = np.sqrt(len(kept.value) / max(fitted.dof_within, 1))
        off = np.abs(fitted.residuals)
        scale = max(1.4826 * float(np.median(off)) * share, floor)
        limit = max(_ROBUST_SDS * scale, float(off.max()) / 2)  # the worst pull others along
        beyond = np.unique(coins[kept.coin[off > limit]])
        if float(off.max()) <= _ROBUST_SDS * scale:
            break
        out[beyond] = True
    return np.flatnonzero(out).tolist()


def _fit(layout: _Layout) -> _Fitted:
    """Least squares of coin and level; offsets add to zero among levels that share coins."""
    coins, levels = int(layout.coin.max()) + 1, len(layout.names)
    count = np.zeros((coins, levels))
    np.add.at(count, (layout.coin, layout.level), 1.0)
    per_coin = count.sum(axis=1)
    centred = layout.value - layout.value.mean()
    mean = np.bincount(layout.coin, centred, coins) / per_coin
    within: Floats = centred - mean[layout.coin]
    information = np.diag(count.sum(axis=0)) - count.T @ (count / per_coin[:, None])
    right: Floats = np.bincount(layout.level, within, levels).astype(np.float64)
    covariance = np.linalg.pinv(information, hermitian=True, rcond=1e-9)
    offsets: Floats = np.asarray(covariance @ right, dtype=np.float64)
    fitted = offsets[layout.level]
    fitted = fitted - (np.bincount(layout.coin, fitted, coins) / per_coin)[layout.coin]
    rank = int(np.linalg.matrix_rank(information, hermitian=True, tol=1e-9 * len(layout.value)))
    return _Fitted(
        offsets, covariance, within - fitted, float(right @ offsets), rank,
        len(layout.value) - coins - rank,
    )  # fmt: skip


def _between_sd(fitted: _Fitted, within: float) -> float:
    """The spread of levels: the mean square of the offsets less what the repeats add to it."""
    if fitted.dof_between == 0:
        return 0.0
    seen = float(np.sum(fitted.offsets**2)) / fitted.dof_between
    added = within * float(np.trace(fitted.covariance)) / fitted.dof_between
    return float(np.sqrt(max(0.0, seen - added)))


def _offsets(layout: _Layout, fitted: _Fitted, within: float) -> Iterator[Offset]:
    if fitted.dof_between == 0:
        return
    reach = float(stats.t.ppf(0.5 + _LEVEL_OF_INTERVAL / 2, fitted.dof_within))
    counts = np.bincount(layout.level, minlength=len(layout.names))
    for place, name in enumerate(layout.names):
        offset = float(fitted.offsets[place])
        half = reach * float(np.sqrt(within * max(fitted.covariance[place, place], 0.0)))
        yield Offset(name, int(counts[place]), offset, offset - half, offset + half)


def spreads(
    studies: Sequence[Repeats], readings: pd.DataFrame, settings: Settings
) -> tuple[ReadingSpread, ...]:
    """One a quantity that was studied, unless the user states the sd in the settings.

    The variance of the repeats, less that of rounding (step^2 / 12, which is accounted for
    apart), is averaged with the assumed one, which counts for four degrees of freedom. Of
    several factors the one with the widest spread counts.
    """
    found = []
    for quantity in _QUANTITIES:
        of_it = [study for study in studies if study.quantity == quantity]
        is_weight = quantity == Quantity.WEIGHT
        stated = settings.weight_sd_g if is_weight else settings.length_sd_mm
        if not of_it or stated is not None:
            continue
        step = float(readings.loc[readings["quantity"] == quantity, "step"].median())
        assumed = reading_sd(quantity, step, settings)
        best = min(of_it, key=lambda study: study.ms_within)
        own = max(best.ms_within - step**2 / 12, 0.0)
        weight = best.dof_within / (best.dof_within + _PRIOR_DOF)
        factor = float(np.sqrt(weight * own + (1 - weight) * assumed**2) / assumed)
        found.append(ReadingSpread(quantity, factor, max(s.between_sd for s in of_it)))
    return tuple(found)
