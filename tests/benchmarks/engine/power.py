"""Power at an equal realised rate of alarms: the engine's score beside the likelihood
ratio under the truth and beside other rankings, on the same lots."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from lotscreen.records import Bools, Floats, Texts

from . import learned, oracle, rivals
from .counts import jackknife, power_at_rate
from .lots import COINAGES, SIX_KINDS, WORLD_NAMES, Lot, Plan, draw
from .more_kinds import UNLIKE_KINDS
from .screen import departures_of, screened, without
from .table import Line, Row

RATES = (0.01, 0.002)
_OWN_LIMIT_COINS = 1000
WORN = {"half as worn": 0.5, "worn as usual": 1.0}
"""How deep coins are worn, times what ``lots.py`` says is usual. What is asked was found on
lots of 4,000 coins whose limits at 1 % / 0.2 % were, all three readings and weight only:
quarter 0.971 / 0.946 and 0.752 / 0.700, half 0.982 / 0.968 and 0.789 / 0.746, small gold
0.988 / 0.975 and 0.833 / 0.793 (an earlier trial). Those of coins half as worn come nearest;
with usual wear the limits are lower, and a like loss is a larger share of them."""
_BESIDE = ("limit", "engine", "trees", *rivals.ONE_LOT)
_SEED = 4_000_000
_LEARNED_TOO = ("weight only", WORN["worn as usual"])
_LEARNED_LOTS = 10  # of a world: to learn the dates on a grid takes seconds a lot


@dataclass(frozen=True, slots=True)
class Effort:
    """``lots`` a world of ``coins`` (ten cannot tell 0.985 from 0.993 at 0.2 %, forty nearly
    can), the first ``beside`` of them ranked by the others, too;
    ``small`` lots of 200 a world; ``other`` lots a world for the other sets of readings and
    for coins unlike every mechanism."""

    coinages: tuple[str, ...]
    lots: int
    small: int
    other: int
    beside: int
    coins: int = 4000


QUICK = Effort(("quarter", "small gold"), 1, 10, 0, 1)
FULL = Effort(tuple(COINAGES), 40, 40, 3, 2)


@dataclass(frozen=True, slots=True)
class Scored:
    """One lot: its world, kinds and honest coins, the engine's p-values, and the scores by
    each ranking."""

    world: str
    kind: Texts
    honest: Bools
    p_value: Floats
    scores: dict[str, Floats] = field(default_factory=dict)


def power(lots: Sequence[Scored], ranking: str, rate: float, kind: str = "") -> float:
    """Power against the false coins (of one ``kind``), mean over the worlds of ``lots``.
    Large lots have a limit each; the small ones of a world share one."""
    return float(np.mean([
        _in_world([lot for lot in lots if lot.world == world], ranking, rate, kind)
        for world in {lot.world: None for lot in lots}
    ]))  # fmt: skip


def _in_world(lots: Sequence[Scored], ranking: str, rate: float, kind: str) -> float:
    sides = [_sides(lot, ranking, kind) for lot in lots]
    if len(lots[0].honest) >= _OWN_LIMIT_COINS:
        return float(np.mean([power_at_rate(honest, others, rate) for honest, others in sides]))
    honest, others = (np.concatenate(side) for side in zip(*sides, strict=True))
    return power_at_rate(honest, others, rate)


def _sides(lot: Scored, ranking: str, kind: str) -> tuple[Floats, Floats]:
    score = lot.scores[ranking]
    return score[lot.honest], score[lot.kind == kind if kind else ~lot.honest]


def rows(effort: Effort, tell: Callable[[str], None]) -> Iterator[Row | Line]:
    """All rows of power."""
    for said, worn in WORN.items():
        yield from _large_rows(effort, said, worn, tell)
    yield from _small_rows(effort, tell)
    if effort.other:
        yield from _reading_rows(effort, tell)
        yield from _unlike_rows(effort, tell)
        yield from _removed_rows(effort, tell)


def _large_rows(
    effort: Effort, said: str, worn: float, tell: Callable[[str], None]
) -> Iterator[Row | Line]:
    """Large lots of coins ``said`` to be so ``worn``: the engine over the limit, beside other
    rankings, and by kind."""
    part = f"Power, 10 % false, {effort.coins:,} coins, {said}: engine over the likelihood ratio"
    beside, by_kind = (
        f"Power side by side, mean of the worlds, {said}",
        f"Power by kind at 1 %, {said}: engine / likelihood ratio",
    )
    names = "".join(f"{name:>11}" for name in _BESIDE)
    kinds = "".join(f"{kind.split(',')[0]:>12.11}" for kind in SIX_KINDS)
    side, each = [Line(beside, f"{'':<22.22}{names}")], [Line(by_kind, " " * 24 + kinds)]
    for coinage in effort.coinages:
        for readings in ("all three", "weight only"):
            plan = Plan(coinage, "", effort.coins, 0.1, readings, worn=worn)
            lots = _lots(plan, effort.lots, tell, tuple(rivals.ONE_LOT), effort.beside)
            ranked = [lot for lot in lots if "trees" in lot.scores]
            learned_too = [lot for lot in lots if "learned" in lot.scores]
            for rate in RATES:
                what = f"{coinage}, {readings}, at {rate:.1%}"
                yield from _over_limit(part, what, lots, rate, 0.99)
                if learned_too:
                    yield _over_learned(part, learned_too, rate)
                side.append(Line(beside, _beside(what, ranked, rate)))
            each.append(Line(by_kind, _by_kind(f"{coinage}, {readings}", lots)))
    yield from side
    yield from each


def _lots(
    plan: Plan, each: int, tell: Callable[[str], None], others: Sequence[str] = (),
    beside: int | None = None, limit: bool = True,
) -> list[Scored]:  # fmt: skip
    """``each`` lots of ``plan`` in every world, scored by the engine, the likelihood ratio
    and the rankings named in ``others``; where ``beside`` is given, only the first so many
    by those, and by the boosted trees."""
    found: list[Scored] = []
    for w, world in enumerate(WORLD_NAMES):
        tell(
            f"power: {each} lots, {plan.coinage}, {world}, {plan.readings}, {plan.coins:,} coins, "
            f"worn {plan.worn:g} x as usual"
        )
        seeds = (_SEED + 1000 * w + k for k in range(each))
        lots = [draw(replace(plan, world=world), seed) for seed in seeds]
        ranked = each if beside is None else beside
        scored = [
            _scored(lot, others if k < ranked else (), limit, k < _LEARNED_LOTS)
            for k, lot in enumerate(lots)
        ]
        for one, score in zip(
            scored, rivals.boosted(lots[:ranked]) if beside else (), strict=False
        ):
            one.scores["trees"] = score
        found += scored
    return found


def _scored(lot: Lot, others: Sequence[str], limit: bool, learn: bool = False) -> Scored:
    findings = screened(lot.table)
    one = Scored(lot.plan.world, lot.kind, lot.honest, findings.p_value, {"engine": findings.score})
    if limit:
        one.scores["limit"] = oracle.log_ratio(lot)
        if learn and (lot.plan.readings, lot.plan.worn) == _LEARNED_TOO:
            one.scores["learned"] = learned.log_ratio(lot)
    for name in others:
        one.scores[name] = rivals.ONE_LOT[name](lot)
    return one


def _over_limit(
    part: str, what: str, lots: Sequence[Scored], rate: float, asked: float
) -> Iterator[Row | Line]:
    """The engine's power as a share of the limit's, with the worlds one by one below."""
    ratio = _ratio(lots, "engine", "limit", rate)
    yield _row(part, f"{what}, limit {power(lots, 'limit', rate):.3f}", ratio, len(lots), asked)
    each = []
    for world in WORLD_NAMES:
        here = [lot for lot in lots if lot.world == world]
        each.append(f"{world} {power(here, 'engine', rate) / power(here, 'limit', rate):.3f}")
    yield Line(part, "    " + ", ".join(each))


def _ratio(
    lots: Sequence[Scored], over: str, under: str, rate: float
) -> Callable[[Sequence[int]], float]:
    """One ranking's power as a share of another's, of the lots with given numbers."""

    def ratio(some: Sequence[int]) -> float:
        chosen = [lots[i] for i in some]
        return power(chosen, over, rate) / power(chosen, under, rate)

    return ratio


def _over_learned(part: str, lots: Sequence[Scored], rate: float) -> Line:
    """How near the limit anybody can come who must learn the dates' wear from the lot, and
    how near to that the engine comes."""

    def share(over: str, under: str) -> str:
        value, error = jackknife(_ratio(lots, over, under, rate), len(lots))
        return f"{value:.3f} +- {1.96 * error:.3f}"

    told = f"dates' wear to be learned: limit {share('learned', 'limit')}"
    return Line(part, f"    {told}, engine over that {share('engine', 'learned')}")


def _row(
    part: str, what: str, statistic: Callable[[Sequence[int]], float], lots: int, asked: float
) -> Row:
    value, error = jackknife(statistic, lots)
    interval = (value - 1.96 * error, value + 1.96 * error) if error == error else None
    return Row(part, what, value, interval, asked)


def _beside(what: str, lots: Sequence[Scored], rate: float) -> str:
    """Power of every ranking in ``lots``."""
    figures = "".join(f"{power(lots, name, rate):>11.3f}" for name in _BESIDE)
    short = what.replace("all three,", "all").replace("weight only,", "weight").replace(" at", "")
    return f"{short:<22.22}{figures}"


def _by_kind(what: str, lots: Sequence[Scored]) -> str:
    """Power by kind at the first rate, engine / likelihood ratio."""
    said = []
    for kind in SIX_KINDS:
        engine, limit = (power(lots, r, RATES[0], kind) for r in ("engine", "limit"))
        said.append(f"{engine:.2f}/{limit:.2f}".rjust(12))
    return f"{what:<24}{''.join(said)}"


def _above(part: str, what: str, lots: Sequence[Scored], other: str, rate: float) -> Row:
    """By how much the engine's power is above another ranking's in its worst world."""

    def gain(some: Sequence[Scored]) -> float:
        return power(some, "engine", rate) - power(some, other, rate)

    by_world = {w: [lot for lot in lots if lot.world == w] for w in WORLD_NAMES}
    worst = min(WORLD_NAMES, key=lambda w: gain(by_world[w]))
    here = by_world[worst]
    return _row(part, f"{what} less {other}, worst: {worst.split()[0]}",
                lambda some: gain([here[i] for i in some]), len(here), 0.0)  # fmt: skip


def _small_rows(effort: Effort, tell: Callable[[str], None]) -> Iterator[Row | Line]:
    part = "Power in small lots and small dates, 10 % false: engine over the likelihood ratio"
    for coinage in effort.coinages[:3]:
        for name, plan, each in (
            ("200 coins", Plan(coinage, "", 200, 0.1), effort.small),
            ("5-15 a date", Plan(coinage, "", 500, 0.1, coins_a_date=(5, 15)), effort.small // 2),
        ):
            lots = _lots(plan, each, tell, ("MCD", "mod. z"))
            for rate in RATES:
                what = f"{coinage}, {name}, at {rate:.1%}"
                yield from _over_limit(part, what, lots, rate, 0.97)
                yield _above(part, what, lots, "MCD", rate)
                yield _above(part, what, lots, "mod. z", rate)


def _reading_rows(effort: Effort, tell: Callable[[str], None]) -> Iterator[Row | Line]:
    part = "Power with readings missing: engine over the likelihood ratio of the same readings"
    for coinage in effort.coinages[:3]:
        for readings in ("no diameter", "no thickness", "thickness for 30 %"):
            lots = _lots(Plan(coinage, "", effort.coins, 0.1, readings), effort.other, tell)
            for rate in RATES:
                what = f"{coinage}, {readings}, at {rate:.1%}"
                yield from _over_limit(part, what, lots, rate, 0.97)


def _unlike_rows(effort: Effort, tell: Callable[[str], None]) -> Iterator[Row]:
    part = "Coins unlike every mechanism, 10 %: engine's power above MCD's; alarms"
    for coinage in effort.coinages[:3]:
        plan = Plan(coinage, "", effort.coins, 0.1, kinds=UNLIKE_KINDS)
        lots = _lots(plan, effort.other, tell, ("MCD",), limit=False)
        for rate in RATES:
            what = f"{coinage}, at {rate:.1%}: {power(lots, 'engine', rate):.3f}"
            yield _above(part, what, lots, "MCD", rate)

        def alarms(some: Sequence[int], lots: Sequence[Scored] = lots) -> float:
            rates = [float((lots[i].p_value[lots[i].honest] <= 0.01).mean()) for i in some]
            return float(np.mean(rates)) / 0.01

        value, error = jackknife(alarms, len(lots))
        interval = (value - 1.96 * error, value + 1.96 * error)
        yield Row(
            part, f"{coinage}, honest coins at stated 1 %", value, interval, 0.5, 1.3, " x", 2
        )


def _removed_rows(effort: Effort, tell: Callable[[str], None]) -> Iterator[Row]:
    """The engine's power with one group of its departures removed, over the whole one's."""
    part = "Engine without one group of departures: power over the whole engine's, quarter, 1 %"
    plans = [Plan("quarter", world, effort.coins, 0.1) for world in WORLD_NAMES]
    lots = [draw(plan, _SEED + k) for plan in plans for k in range(effort.other)]
    whole = [_scored(lot, (), limit=False) for lot in lots]
    for group in departures_of(lots[0]):
        tell(f"power: without {group}")
        with without(group):
            for one, lot in zip(whole, lots, strict=True):
                one.scores[group] = screened(lot.table).score

        def ratio(some: Sequence[int], group: str = group) -> float:
            chosen = [whole[i] for i in some]
            return power(chosen, group, RATES[0]) / power(chosen, "engine", RATES[0])

        asked = 0.93 if group == "lighter_alloy" else 0.99
        yield _row(part, f"without {group}", ratio, len(lots), asked)
