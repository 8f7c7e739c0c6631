"""What a screen notices, as numbers by kind and size of departure, and how often it alarms.

There is no single sensitivity: a coin far lighter is always noticed, one a little lighter
never. Coins of the lot that were found consistent are altered on paper, kind by kind and
step by step, and sent through the same judgement as every coin (a frozen ``Fit``). A
departure is noticed where its finding is *set aside* or *not consistent*.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import betaincinv

from lotscreen.evidence import judge
from lotscreen.records import FindingKind, Findings, Floats, ItemKind, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import Fit
from lotscreen.words import say

MOST_HOSTS = 24
_NOTICED = (FindingKind.SET_ASIDE.value, FindingKind.NOT_CONSISTENT.value)
_SURE = 0.95
_HALF = 0.5
NOTICES = (0.95, 0.8, 0.5)
"""Chances to notice for which the kinds are named."""


@dataclass(frozen=True, slots=True)
class Rate:
    """``alarms`` among ``coins`` honest coins, and the exact 95 % interval of their rate
    (Clopper and Pearson, Biometrika 26, 1934)."""

    alarms: int
    coins: int
    low: float
    high: float


def rate_of(findings: Findings) -> Rate:
    """The rate of alarms among coins that are all honest; coins not judged are left out."""
    judged = ~np.isin(findings.finding, ["", FindingKind.NOT_JUDGED.value])
    return rate_of_counts(int(np.isin(findings.finding, _NOTICED).sum()), int(judged.sum()))


def rate_of_counts(alarms: int, coins: int) -> Rate:
    """The rate and its interval from ``alarms`` among ``coins``."""
    tail = _HALF * (1.0 - _SURE)
    low = float(betaincinv(alarms, coins - alarms + 1, tail)) if alarms else 0.0
    high = float(betaincinv(alarms + 1, coins - alarms, 1.0 - tail)) if alarms < coins else 1.0
    return Rate(alarms, coins, low, high)


@dataclass(frozen=True, slots=True)
class Kind:
    """A way to depart: ``key`` of its words, sizes in the unit of the words, which lengths
    it needs, and how ``make`` alters coins by a size."""

    key: str
    sizes: tuple[float, ...]
    needs_diameter: bool
    needs_thickness: bool
    make: Callable[[ItemTable, float], ItemTable]


def _lighter(coins: ItemTable, share: Floats | float) -> ItemTable:
    """Weights reduced by a share, put back on the balance's step."""
    step = coins.weight_step_g
    weight = np.round(coins.weight_g * (1.0 - share) / step) * step
    half = 0.5 * (coins.weight_high_g - coins.weight_low_g)
    return replace(coins, weight_g=weight, weight_low_g=weight - half, weight_high_g=weight + half)


def _same_size(coins: ItemTable, percent: float) -> ItemTable:
    return _lighter(coins, percent / 100.0)


def _same_weight(coins: ItemTable, thicker_mm: float) -> ItemTable:
    return replace(coins, thickness_mm=coins.thickness_mm + thicker_mm)


def _across(coins: ItemTable, times: Floats | float) -> ItemTable:
    return replace(
        coins,
        diameter_mm=coins.diameter_mm * times,
        diameter_min_mm=coins.diameter_min_mm * times,
        diameter_max_mm=coins.diameter_max_mm * times,
    )


def _cast(coins: ItemTable, percent: float) -> ItemTable:
    """Shrunk alike in all directions, in the right alloy."""
    left = 1.0 - percent / 100.0
    return replace(
        _across(_lighter(coins, 1.0 - left**3), left), thickness_mm=coins.thickness_mm * left
    )


def _filed(coins: ItemTable, radius_mm: float) -> ItemTable:
    """The edge filed all round."""
    left = 1.0 - 2.0 * radius_mm / coins.diameter_mm
    return _across(_lighter(coins, 1.0 - np.square(left)), left)


def _compromise(coins: ItemTable, percent: float) -> ItemTable:
    """Cheaper metal, half made up: ``percent`` light, and thicker by 0.02 mm for each."""
    return _same_weight(_same_size(coins, percent), 0.02 * percent)


KINDS: list[Kind] = [
    Kind("same_size", (3, 5, 8, 10, 12.5, 15, 17.5, 20), False, False, _same_size),
    Kind("same_weight", (0.1, 0.15, 0.2, 0.25, 0.3, 0.4), False, True, _same_weight),
    Kind("compromise", (2, 3, 4, 5, 7, 9), False, True, _compromise),
    Kind("cast", (0.5, 0.75, 1.0, 1.5, 2.0), True, True, _cast),
    Kind("filed", (0.05, 0.1, 0.15, 0.2), True, False, _filed),
]


@dataclass(frozen=True, slots=True)
class SeenKind:
    """Chance to notice a kind of departure at each of ``sizes`` (paired, rising), from
    ``coins`` coins altered; ``lengths`` tells whether diameter and thickness spoke."""

    key: str
    lengths: bool
    sizes: Floats
    chance: Floats
    coins: int

    def smallest(self, notice: float) -> float | None:
        """The smallest size from which on the kind is noticed at least ``notice`` of the
        time; None where no size was."""
        seen = self.chance >= notice
        if not seen[-1]:
            return None
        missed = np.flatnonzero(~seen)
        return float(self.sizes[missed[-1] + 1 if len(missed) else 0])


def what_is_seen(
    table: ItemTable, findings: Findings, type_key: str, fit: Fit, settings: Settings
) -> tuple[SeenKind, ...]:
    """Chances to notice for coins of one type like those of ``table`` (``findings`` of the
    same rows): by weight alone, and with lengths where coins have them. Empty where no
    coin of the type was found consistent."""
    mine = (table.kind == ItemKind.COIN) & (table.type_key == type_key)
    hosts = mine & (findings.finding == FindingKind.CONSISTENT) & ~table.suspended
    seen = []
    for lengths in (False, True):
        has = hosts & np.isfinite(table.diameter_mm) & np.isfinite(table.thickness_mm)
        chosen = _spread(table, np.flatnonzero(has if lengths else hosts))
        if not len(chosen):
            continue
        coins = table.rows(chosen) if lengths else _weight_only(table.rows(chosen))
        kinds = [k for k in KINDS if lengths or not (k.needs_diameter or k.needs_thickness)]
        seen += _seen(coins, kinds, lengths, fit, settings)
    return tuple(seen)


def _spread(table: ItemTable, rows: np.ndarray) -> np.ndarray:
    """At most ``MOST_HOSTS`` of the rows, evenly over the ranks of their weight."""
    rising = rows[np.argsort(table.weight_g[rows], kind="stable")]
    if len(rising) <= MOST_HOSTS:
        return rising
    places = (np.arange(MOST_HOSTS) + _HALF) * len(rising) / MOST_HOSTS
    return np.asarray(rising[places.astype(np.int64)])


def _weight_only(coins: ItemTable) -> ItemTable:
    nothing, none = np.full(len(coins), np.nan), np.zeros(len(coins), np.int64)
    return replace(
        coins, diameter_mm=nothing, diameter_min_mm=nothing, diameter_max_mm=nothing,
        diameter_n=none, thickness_mm=nothing, thickness_n=none,
    )  # fmt: skip


def _seen(
    coins: ItemTable, kinds: Sequence[Kind], lengths: bool, fit: Fit, settings: Settings
) -> list[SeenKind]:
    """All kinds and sizes judged in one go; a coin altered is none of the coins fitted."""
    made = [kind.make(coins, size) for kind in kinds for size in kind.sizes]
    columns = {
        name: np.concatenate([getattr(one, name) for one in made]) for name in coins.__slots__
    }
    altered = replace(coins, **columns)
    fresh = np.array([f"{name} altered {n}" for n, name in enumerate(altered.item_id)], object)
    finding = judge(replace(altered, item_id=fresh), fit, settings).finding
    noticed = np.isin(finding, _NOTICED).reshape(-1, len(coins)).mean(axis=1)
    seen, at = [], 0
    for kind in kinds:
        chance = noticed[at : at + len(kind.sizes)]
        at += len(kind.sizes)
        seen.append(SeenKind(kind.key, lengths, np.array(kind.sizes), chance, len(coins)))
    return seen


def seen_sentence(seen: Sequence[SeenKind], notice: float, lengths: bool) -> str:
    """The kinds noticed at least ``notice`` of the time, in words: by weight alone, or with
    ``lengths``."""
    parts = []
    for kind in seen:
        if kind.lengths != lengths:
            continue
        size = kind.smallest(notice)
        if size is not None:
            parts.append(say(f"plan.seen.{kind.key}", size=size))
    facts = {"notice": f"{100 * notice:g}", "kinds": "; ".join(parts)}
    readings = "all" if lengths else "weight"
    return say(f"plan.seen.{'noticed' if parts else 'nothing'}_{readings}", **facts)
