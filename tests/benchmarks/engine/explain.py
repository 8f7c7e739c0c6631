"""Explanations: whether the truth is among those that hold nine tenths of the evidence,
whether the first one's share is right, what is taken for what.

Kinds are drawn at the engine's own reference weights. Those take either side to be as
likely as the other, so coins are weighted to that balance in the figures of calibration.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from lotscreen.evidence.mechanisms import MECHANISMS
from lotscreen.records import Bools, Floats, Texts
from lotscreen.wear import fit

from .counts import exact_interval, jackknife
from .lots import SETTINGS, STANDARDS, WORLD_NAMES, Lot, Plan, draw
from .more_kinds import UNLIKE_KINDS
from .screen import DEPARTING, judged
from .table import Line, Row

DRAWN_AS: Mapping[str, tuple[str, ...]] = {
    "more_wear": ("worn more",),
    "dirt": ("soiled",),
    "damage": ("bent",),
    "same_size": ("brass, right size", "copper, right size", "lead alloy, right size"),
    "same_weight": ("copper, right weight", "brass, right weight", "nickel silver, right weight"),
    "light_and_thick": ("brass, half made up",),
    "cast": ("cast",),
    "cast_other_metal": ("brass, cast",),
    "clipped": ("clipped by weight",),
    "filed": ("filed",),
    "holed": ("holed", "plugged"),
    "lighter_alloy": ("light alloy",),
    "mount_removed": ("mount removed",),
    "unnamed": UNLIKE_KINDS,
}
"""The kinds that stand for a mechanism; a mechanism not named here is not drawn."""
_FALSE_SHARE = 0.1
_HOLDS = 0.9
_APART = 3.0
_LEAST_IN_DECILE = 60


@dataclass(frozen=True, slots=True)
class Effort:
    """``lots`` a world and type, of ``coins``."""

    coinages: tuple[str, ...]
    lots: int
    coins: int = 4000


QUICK = Effort(("quarter",), 1)
FULL = Effort(("quarter", "half", "small gold"), 16)


@dataclass(frozen=True, slots=True)
class Explained:
    """Coins set aside, of many lots: kind, true mechanism, shares (coins x mechanisms),
    weight in the balance of the two sides, whether the truth is a departure, lot number."""

    kind: Texts
    truth: Texts
    keys: tuple[str, ...]
    shares: Floats
    weight: Floats
    departs: Bools
    lot: np.ndarray

    @property
    def first(self) -> np.ndarray:
        """Position of the explanation with the largest share."""
        return np.asarray(self.shares.argmax(axis=1))

    @property
    def named(self) -> Texts:
        """Key of that explanation."""
        return np.array(self.keys, dtype=object)[self.first]

    def rows(self, index: np.ndarray) -> Explained:
        """Some of the coins."""
        return Explained(
            self.kind[index], self.truth[index], self.keys, self.shares[index], self.weight[index],
            self.departs[index], self.lot[index],
        )  # fmt: skip


def rows(effort: Effort, tell: Callable[[str], None]) -> Iterator[Row | Line]:
    """All rows on explanations."""
    part = "Explanations of the coins set aside, kinds drawn at the reference weights"
    explained, apart = _explained(effort, tell)
    yield from _coverage(part, explained)
    yield from _calibration(part, explained)
    yield from _first(part, explained, apart)
    yield from _confusion("First explanation by kind: share of the coins set aside", explained)


def _drawn_kinds() -> tuple[tuple[str, ...], tuple[float, ...], dict[str, tuple[str, bool]]]:
    """Kinds to draw, their weights and each kind's (mechanism, departs): departures a
    tenth of the coins, the honest side's other explanations at their share of the rest."""
    kinds: list[str] = []
    weights: list[float] = []
    truth: dict[str, tuple[str, bool]] = {"honest": ("wear", False)}
    for mechanism in MECHANISMS:
        names = DRAWN_AS.get(mechanism.key, ())
        departs = mechanism.side != "honest"
        side = _FALSE_SHARE if departs else 1.0 - _FALSE_SHARE
        for name in names:
            kinds.append(name)
            weights.append(side * mechanism.share / len(names))
            truth[name] = (mechanism.key, departs)
    return tuple(kinds), tuple(weights), truth


def _explained(effort: Effort, tell: Callable[[str], None]) -> tuple[Explained, frozenset[str]]:
    kinds, weights, truth = _drawn_kinds()
    drawn = float(sum(weights))
    each = tuple(w / drawn for w in weights)
    parts: list[Explained] = []
    samples: list[tuple[Floats, Texts]] = []
    for w, world in enumerate(WORLD_NAMES):
        for c, coinage in enumerate(effort.coinages):
            tell(f"explain: {coinage}, {world}")
            for k in range(effort.lots):
                plan = Plan(coinage, world, effort.coins, drawn, kinds=kinds, kind_weights=each)
                lot = draw(plan, 5_000_000 + 1000 * w + 100 * c + k)
                parts.append(_set_aside(lot, truth, len(parts)))
                if c == k == 0:
                    samples.append((_standardised(lot), lot.kind))
    mechanism = {kind: key for kind, (key, _) in truth.items()}
    return _joined(parts), _apart(samples, mechanism)


def _set_aside(lot: Lot, truth: Mapping[str, tuple[str, bool]], number: int) -> Explained:
    findings = judged(lot.table, fit(lot.table, STANDARDS, SETTINGS, 0))
    key = np.array([truth[k][0] for k in lot.kind], dtype=object)
    departs = np.array([truth[k][1] for k in lot.kind])
    weight = np.where(departs, 0.5 / departs.sum(), 0.5 / (~departs).sum()) * len(key)
    every = Explained(
        lot.kind,
        key,
        findings.mechanisms,
        findings.shares,
        weight,
        departs,
        np.full(len(key), number),
    )
    return every.rows(np.flatnonzero(np.isin(findings.finding, DEPARTING)))


def _joined(parts: list[Explained]) -> Explained:
    return Explained(
        np.concatenate([p.kind for p in parts]),
        np.concatenate([p.truth for p in parts]),
        parts[0].keys,
        np.concatenate([p.shares for p in parts]),
        np.concatenate([p.weight for p in parts]),
        np.concatenate([p.departs for p in parts]),
        np.concatenate([p.lot for p in parts]),
    )


def _standardised(lot: Lot) -> Floats:
    table = lot.table
    return np.column_stack(
        [np.log(table.weight_g), table.diameter_mm, table.thickness_mm - lot.levels.stand_mm]
    )


def _apart(samples: list[tuple[Floats, Texts]], mechanism: Mapping[str, str]) -> frozenset[str]:
    """Kinds at least three standard deviations from every kind of another mechanism: the
    mean of each in the spread of the other, whichever is nearer. Kinds that only stand for
    what has no name are not compared."""
    columns = np.concatenate([c for c, _ in samples])
    kind = np.concatenate([k for _, k in samples])
    names = [
        n for n in sorted(set(kind))
        if mechanism[n] != "unnamed" and (kind == n).sum() > columns.shape[1]
    ]  # fmt: skip
    means = {n: columns[kind == n].mean(axis=0) for n in names}
    spread = {n: np.cov(columns[kind == n].T) for n in names}

    def distance(a: str, b: str) -> float:
        off = means[a] - means[b]
        return min(float(off @ np.linalg.solve(spread[n], off)) ** 0.5 for n in (a, b))

    return frozenset(
        a for a in names
        if min(distance(a, b) for b in names if mechanism[b] != mechanism[a]) >= _APART
    )  # fmt: skip


def _smallest_set(e: Explained) -> tuple[Bools, Floats]:
    """Whether the truth is in the smallest set of explanations that holds nine tenths of
    the evidence, and the size of that set, a coin each."""
    order = np.argsort(-e.shares, axis=1, kind="stable")
    held = np.cumsum(np.take_along_axis(e.shares, order, axis=1), axis=1)
    size = 1 + (held < _HOLDS).sum(axis=1)
    place = {key: i for i, key in enumerate(e.keys)}
    true_column = np.array([place.get(t, -1) for t in e.truth])
    rank = (order == true_column[:, None]).argmax(axis=1)
    return np.asarray((rank < size) & (true_column >= 0)), size.astype(np.float64)


def _weighted(values: Floats | Bools, e: Explained) -> tuple[float, tuple[float, float]]:
    """Weighted mean over the coins and its interval by leaving out a lot in turn."""
    lots = sorted(set(e.lot.tolist()))
    top = np.array([np.sum((values * e.weight)[e.lot == k]) for k in lots])
    bottom = np.array([np.sum(e.weight[e.lot == k]) for k in lots])
    value, error = jackknife(lambda some: float(top[some].sum() / bottom[some].sum()), len(lots))
    return value, (value - 1.96 * error, value + 1.96 * error)


def _coverage(part: str, e: Explained) -> Iterator[Row | Line]:
    covered, size = _smallest_set(e)
    yield Row(part, f"truth in the smallest set with 90 % ({len(size):,} coins)",
              *_weighted(covered, e), 0.85)  # fmt: skip
    for name, chosen in (("departures", e.departs), ("honest coins", ~e.departs)):
        some = np.flatnonzero(chosen)
        if len(some):
            share, interval = _weighted(covered[some], e.rows(some))
            yield Row(part, f"    of the {name} alone ({len(some):,})", share, interval)
    yield Row(part, "mean size of that set", *_weighted(size, e), digits=2)


def _calibration(part: str, e: Explained) -> Iterator[Row | Line]:
    top, right = e.shares.max(axis=1), e.named == e.truth
    decile = np.minimum((top * 10).astype(int), 9)
    gaps, said = [], []
    for d in range(10):
        some = np.flatnonzero(decile == d)
        if len(some) < _LEAST_IN_DECILE:
            continue
        gap, (low, high) = _weighted((right - top)[some], e.rows(some))
        gaps.append((abs(gap), (high - low) / 2))
        claimed = float(np.average(top[some], weights=e.weight[some]))
        said.append(f"{claimed:.2f}: {claimed + gap:.2f}")
    largest, error = max(gaps)
    yield Row(part, "first share said against right, largest gap of a decile",
              largest, (max(largest - error, 0.0), largest + error), None, 0.1)  # fmt: skip
    yield Line(part, "    share said: share right  " + ", ".join(said))


def _first(part: str, e: Explained, apart: frozenset[str]) -> Iterator[Row | Line]:
    """First named right, among departing kinds that lie apart from all of another sort."""
    some = np.flatnonzero(np.isin(e.kind, sorted(apart)) & e.departs)
    hits = int((e.named[some] == e.truth[some]).sum())
    yield Row(part, f"first named right, kinds 3 sigma apart ({len(some):,} coins)",
              hits / max(len(some), 1), exact_interval(hits, len(some)), 0.85)  # fmt: skip
    yield Line(part, "    these are " + "; ".join(sorted(set(e.kind[some]))))


def _confusion(part: str, e: Explained) -> Iterator[Line]:
    for kind in sorted(set(e.kind)):
        some = e.kind == kind
        names, counts = np.unique(e.named[some].astype(str), return_counts=True)
        order = np.argsort(-counts, kind="stable")[:4]
        told = ", ".join(f"{names[i]} {counts[i] / some.sum():.2f}" for i in order)
        yield Line(part, f"{kind:<27}{some.sum():>6}  {told}")
