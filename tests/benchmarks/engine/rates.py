"""How often honest coins are alarmed at a stated rate, as multiples of that rate."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from lotscreen.simulate.specs import Balance, Gauge

from .counts import exact_interval
from .lots import COINAGES, READING_SETS, WORLD_NAMES, Lot, Plan, draw
from .screen import screened
from .table import Line, Row

STATED = (0.01, 0.001)
COINS_A_DATE = (("1-5", 1, 5), ("6-15", 6, 15), ("16 and more", 16, 10**9))
FALSE_SHARES = (0.0, 0.02, 0.1, 0.3)
_TIMES_MOST = 5
_LARGE_ENOUGH = 20
_STEPS_IN_SPREAD = 5.0
_COARSE = ("step over a fifth of the spread", "lots of 20 and more")
_SMALL = ("quarter", "dime", "small gold")
_FINE = Balance(step_g=0.001, sd_g=0.003)
_LOT_LOG_SD = 0.5
"""Rates must hold for lots worn much or little; power is compared on lots more alike."""
_ALL = "all worlds"
_COINAGES = tuple(COINAGES)
_ODD: tuple[tuple[str, float, Mapping[str, object]], ...] = (
    ("scale 0.5 % high, no check weight", 1.5, {"balance": Balance(scale_error=0.005)}),
    ("gauge in 0.1 mm", 1.0, {"gauge": Gauge(step_mm=0.1, sd_mm=0.03)}),
    ("gauge with heavy tails", 1.3, {"gauge_tail_share": 0.05}),
)


@dataclass(frozen=True, slots=True)
class Effort:
    """Lots a world: ``lots`` by size for the honest coins, ``mixed`` lots of
    ``mixed_coins`` for each share of false coins and each odd instrument, :data:`_TIMES_MOST`
    times as many at the largest share, which each world has to keep by itself."""

    lots: tuple[tuple[int, int], ...]
    mixed: int
    mixed_coins: int


QUICK = Effort(((1, 20), (20, 20), (200, 10), (2000, 2)), 1, 1500)
FULL = Effort(((1, 400), (20, 1600), (200, 400), (2000, 70), (20000, 14)), 15, 2000)


@dataclass(slots=True)
class Tally:
    """Honest coins and their alarms at each stated rate, by (what divides, its value)."""

    coins: dict[tuple[str, str], int] = field(default_factory=lambda: defaultdict(int))
    alarms: dict[tuple[str, str, float], int] = field(default_factory=lambda: defaultdict(int))

    def add(self, group: tuple[str, str], p_value: np.ndarray) -> None:
        """Count the honest coins of these p-values."""
        self.coins[group] += len(p_value)
        for stated in STATED:
            self.alarms[(*group, stated)] += int((p_value <= stated).sum())

    def row(
        self, part: str, group: tuple[str, str], stated: float,
        low: float | None, high: float | None,
    ) -> Row:  # fmt: skip
        """The realised rate of a group as a multiple of the stated one."""
        hits, of = self.alarms[(*group, stated)], self.coins[group]
        bounds = exact_interval(hits, of)
        what = f"{': '.join(group)} ({of / 1000:,.1f}k)"
        times = (bounds[0] / stated, bounds[1] / stated)
        return Row(part, what, hits / max(of, 1) / stated, times, low, high, " x", 2)


def rows(effort: Effort, tell: Callable[[str], None]) -> Iterator[Row | Line]:
    """All rows of realised rates."""
    yield from _honest_rows(_honest(effort, tell), [size for size, _ in effort.lots])
    tally, power = _mixed(effort, tell)
    yield from _mixed_rows(tally)
    yield from _kept_power_rows(power)
    yield from _odd_rows(_odd(effort, tell))


def _honest(effort: Effort, tell: Callable[[str], None]) -> Tally:
    tally = Tally()
    seed = 1_000_000
    for size, lots in effort.lots:
        for w, world in enumerate(WORLD_NAMES):
            tell(f"rates: {lots} lots of {size:,}, {world}")
            for k in range(2 * w, 2 * w + lots):
                readings = READING_SETS[(k // len(_COINAGES) + k) % len(READING_SETS)]
                seed += 1
                _add(tally, draw(_plan(k, world, size, 0.0, readings), seed))
    return tally


def _plan(k: int, world: str, coins: int, share: float, readings: str = "all three") -> Plan:
    """The k-th of many lots: the types in turn, the small ones mostly on a fine balance."""
    coinage = _COINAGES[k % len(_COINAGES)]
    fine = coinage in _SMALL and (k // len(_COINAGES)) % 3 < 2
    return Plan(
        coinage, world, coins, share, readings, balance=_FINE if fine else Balance(),
        lot_log_sd=_LOT_LOG_SD,
    )  # fmt: skip


def _add(tally: Tally, lot: Lot) -> None:
    p_value = screened(lot.table).p_value
    plan = lot.plan
    if plan.coins < _LARGE_ENOUGH:
        tally.add(("lot size", f"{plan.coins:,}"), p_value)
        return
    if plan.balance.step_g > float(np.std(lot.table.weight_g)) / _STEPS_IN_SPREAD:
        tally.add(_COARSE, p_value)
        return
    tally.add(("lot size", f"{plan.coins:,}"), p_value)
    tally.add((_ALL, "lots of 20 and more"), p_value)
    tally.add(("world", plan.world), p_value)
    tally.add(("readings", plan.readings), p_value)
    tally.add(("type", plan.coinage), p_value)
    if plan.coins == 200:
        tally.add(("lots of 200", plan.world), p_value)
    _, date, count = np.unique(lot.table.year, return_inverse=True, return_counts=True)
    mates = count[date]
    for name, low, high in COINS_A_DATE:
        tally.add(("coins a date", name), p_value[(mates >= low) & (mates <= high)])


def _honest_rows(tally: Tally, sizes: Sequence[int]) -> Iterator[Row]:
    for stated in STATED:
        part = f"Honest coins alarmed at a stated {stated:.1%}, times (no false coins)"
        for world in WORLD_NAMES:
            yield tally.row(part, ("world", world), stated, 0.4, 2.0)
        yield tally.row(part, (_ALL, "lots of 20 and more"), stated, 0.7, 1.3)
        for name, _, _ in COINS_A_DATE:
            yield tally.row(part, ("coins a date", name), stated, 0.7, 1.3)
        for size in sizes:
            bounds = (0.7, 1.3) if size >= _LARGE_ENOUGH else (None, 2.0)
            yield tally.row(part, ("lot size", f"{size:,}"), stated, *bounds)
        for readings in READING_SETS:
            yield tally.row(part, ("readings", readings), stated, 0.7, 1.3)
        for coinage in _COINAGES:
            yield tally.row(part, ("type", coinage), stated, None, None)
        yield tally.row(part, _COARSE, stated, None, 2.0)
    part = "Honest coins alarmed at a stated 0.1%, times, in lots of 200"
    for world in WORLD_NAMES:
        yield tally.row(part, ("lots of 200", world), 0.001, 0.3, 2.5)
    yield tally.row(part, ("lot size", "200"), 0.001, None, 1.5)


Powers = Mapping[tuple[str, float, float], list[float]]


def _mixed(effort: Effort, tell: Callable[[str], None]) -> tuple[Tally, Powers]:
    """Honest coins beside false ones, and the power of each lot at the stated rates by
    (readings, share of false coins, stated rate)."""
    tally = Tally()
    power: dict[tuple[str, float, float], list[float]] = defaultdict(list)
    seed = 2_000_000
    for w, world in enumerate(WORLD_NAMES):
        for share in FALSE_SHARES:
            lots = effort.mixed * (_TIMES_MOST if share == FALSE_SHARES[-1] else 1)
            tell(f"rates: {lots} lots with {share:.0%} false, {world}")
            for k in range(w, w + lots):
                for readings in READING_SETS[:2]:
                    seed += 1
                    lot = draw(_plan(k, world, effort.mixed_coins, share, readings), seed)
                    p_value = screened(lot.table).p_value
                    for where in (_ALL, world):
                        tally.add((f"{readings}, {share:.0%} false", where), p_value[lot.honest])
                    for stated in STATED if share else ():
                        caught = float((p_value[~lot.honest] <= stated).mean())
                        power[readings, share, stated].append(caught)
    return tally, power


def _mixed_rows(tally: Tally) -> Iterator[Row]:
    for stated in STATED:
        part = f"Honest coins alarmed at a stated {stated:.1%}, times, beside false coins"
        for readings, low in zip(READING_SETS[:2], (0.5, None), strict=True):
            for share in FALSE_SHARES[:-1]:
                group = (f"{readings}, {share:.0%} false", _ALL)
                yield tally.row(part, group, stated, low, 1.3)
            for where in (*WORLD_NAMES, _ALL):
                group = (f"{readings}, {FALSE_SHARES[-1]:.0%} false", where)
                yield tally.row(part, group, stated, low, 1.3)


def _kept_power_rows(power: Powers) -> Iterator[Row]:
    part = "Power at the stated rate, 30 % false over 2 % false"
    for readings, low in zip(READING_SETS[:2], (0.95, None), strict=True):
        for stated in STATED:
            few, many = power[readings, 0.02, stated], power[readings, 0.3, stated]
            what = f"{readings}, stated {stated:.1%}: {np.mean(many):.3f} / {np.mean(few):.3f}"
            ratio = float(np.mean(many) / np.mean(few))
            relative = [np.std(x, ddof=1) / np.sqrt(len(x)) / np.mean(x) for x in (few, many)]
            error = 1.96 * ratio * float(np.hypot(*relative))
            yield Row(part, what, ratio, (ratio - error, ratio + error), low)


def _odd(effort: Effort, tell: Callable[[str], None]) -> Tally:
    """Instruments that are not as the engine assumes."""
    tally = Tally()
    seed = 3_000_000
    for name, _, changes in _ODD:
        for w, world in enumerate(WORLD_NAMES):
            tell(f"rates: {effort.mixed} lots, {name}, {world}")
            for k in range(w, w + effort.mixed):
                seed += 1
                plan = Plan(_COINAGES[k % len(_COINAGES)], world, effort.mixed_coins)
                lot = draw(replace(plan, **changes), seed)  # type: ignore[arg-type]
                tally.add((name, _ALL), screened(lot.table).p_value)
    return tally


def _odd_rows(tally: Tally) -> Iterator[Row]:
    for stated in STATED:
        part = f"Honest coins alarmed at a stated {stated:.1%}, times, odd instruments"
        for name, high, _ in _ODD:
            yield tally.row(part, (name, _ALL), stated, None, high if stated == STATED[0] else None)
