"""The orchestrator of ``stop``: coins measured so far and a plan -> what the plan says now."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from lotscreen.evidence import judge
from lotscreen.evidence.suspension import with_failed_checks
from lotscreen.instruments import check_readings, instruments_of, scale_belief
from lotscreen.intake import ReadOptions
from lotscreen.intake.corrections import weighed_anew
from lotscreen.lot.what_is_seen import SeenKind, what_is_seen
from lotscreen.one_thread import one_thread
from lotscreen.records import (
    Bools,
    Findings,
    InputError,
    Intake,
    Ints,
    ItemKind,
    ItemTable,
    SettingsError,
)
from lotscreen.screening import Source, read
from lotscreen.sequential.clusters import RollDraw, roll_draw
from lotscreen.sequential.draw import draw_order, drawn_whole_batches, number_of
from lotscreen.sequential.outlook import Expected, expected
from lotscreen.sequential.sampling_plan import SamplingPlan
from lotscreen.sequential.stopping import (
    Decision,
    StopState,
    after_coins,
    as_counted,
    decide,
    start,
)
from lotscreen.settings import ALARMS_PER_LIMIT, Settings
from lotscreen.standards import StandardsTable, load_standards
from lotscreen.summary import summarise
from lotscreen.wear import Fit, fit
from lotscreen.wear.fit import with_types
from lotscreen.words import say

_LAST_NUMBER = re.compile(r"(\d+)\D*$")
_OWN_NUMBER = re.compile(r"(\d+)(?: \(\d+\))?")

_ROUNDING = 1e-9
_LEAST_ROLLS = 2
_LEAST_TO_RISE = 8  # by chance such numbers rise once in 40,000 times
_TOP_GAPS = 1.2
_MOST_OF_LOT = 0.8
_MOST_BOUNDS = 60  # worked out along a long path; between them the last one holds


@dataclass(frozen=True, slots=True)
class Stop:
    """What ``stop`` found. ``moments`` are the states after each batch, the first before any
    coin; ``state`` is the last. ``fetch`` are the numbers to measure next (the rest of
    the batch begun, else the next batch; empty: none is left). ``skipped`` coins of the
    draw are missing from the sheet, ``beside`` coins of the sheet are not in the draw so
    far. ``top`` tells that the coins are the first of the lot instead of a draw, ``rising``
    that coins said to be in the order of a draw are numbered as they lie.
    ``settle_first`` are coins (the sheet's own numbers) whose settling may decide.
    ``rolls`` speaks of rolls measured whole, where there are any. ``fit`` is what the
    coins were judged by, ``frozen`` whether it was fixed before them. ``seen`` are the
    chances to notice, where they were asked for."""

    plan: SamplingPlan
    moments: tuple[StopState, ...]
    fetch: Ints
    skipped: Ints
    beside: int
    top: bool
    rising: bool
    settle_first: tuple[str, ...]
    rolls: RollDraw | None
    expected: Expected | None
    intake: Intake
    table: ItemTable
    fit: Fit
    frozen: bool
    seen: tuple[SeenKind, ...] = ()

    @property
    def state(self) -> StopState:
        """Where the plan stands now."""
        return self.moments[-1]


@dataclass(frozen=True, slots=True)
class _Coins:
    """Coins of the sheet that have a number in the lot, columns of one length."""

    number: Ints
    set_aside: Bools
    unsettled: Bools
    shown: tuple[str, ...]


@one_thread
def stop(
    source: Source,
    plan: SamplingPlan,
    *,
    frozen: Fit | None = None,
    settings: Settings | None = None,
    standards: StandardsTable | None = None,
    read_options: ReadOptions | None = None,
    check: Sequence[tuple[float, float]] = (),
    in_order: bool = False,
    seen: bool = False,
) -> Stop:
    """Read the coins measured so far, judge them, and say what ``plan`` says.

    ``frozen`` is a fit fixed before the first coin of the draw; without it the coins are
    fitted as they are, and their findings may still move. A coin's place in the draw is
    told by its roll and position, or its number; with ``in_order`` the rows are the draw,
    in its order. With ``seen`` the coins tell which kinds of departure are noticed how
    often. InputError where no coin can be placed.
    """
    settings = settings or Settings()
    alarms = ALARMS_PER_LIMIT * settings.limit
    if alarms > plan.alarm_rate + _ROUNDING:
        raise SettingsError(
            say("plan.stop.more_alarms", limit=settings.limit, percent=100 * alarms,
                planned=100 * plan.alarm_rate)
        )  # fmt: skip
    intake, table, fitted = _fitted(
        source,
        frozen,
        settings,
        standards,
        read_options or ReadOptions(),
        check,
    )
    found = judge(table, fitted, settings)
    set_aside, unsettled = as_counted(found.finding)
    rows = np.flatnonzero(table.kind == ItemKind.COIN)
    order = draw_order(plan.lot_coins, plan.seed)[: plan.lines().most_coins]
    number = order[: len(rows)] if in_order else _numbers(intake.items.iloc[rows], plan)
    if len(number) < len(rows):
        rows = rows[: len(number)]
    placed = number > 0
    if not placed.any():
        raise InputError(say("plan.stop.no_place", rows=len(rows)))
    kept = rows[placed]
    coins = _Coins(
        number[placed], set_aside[kept], (unsettled | table.suspended)[kept],
        tuple(str(i) for i in intake.items["coin_id"].iloc[kept]),
    )  # fmt: skip
    stands = _walked(plan, order, coins, len(rows) - len(kept), (intake, table, fitted, frozen))
    return replace(
        stands,
        rising=in_order and _rising(coins.shown),
        seen=_kinds_seen(table, found, fitted, settings) if seen else (),
    )


def _kinds_seen(
    table: ItemTable, found: Findings, fitted: Fit, settings: Settings
) -> tuple[SeenKind, ...]:
    """Of the type with most coins."""
    keys, counts = np.unique(
        table.type_key[table.kind == ItemKind.COIN].astype(str), return_counts=True
    )
    return what_is_seen(table, found, str(keys[np.argmax(counts)]), fitted, settings)


def _rising(shown: Sequence[str]) -> bool:
    """Whether all numbers of the sheet are whole and rise from row to row."""
    if len(shown) < _LEAST_TO_RISE or not all(name.isdecimal() for name in shown):
        return False
    return bool(np.all(np.diff([int(name) for name in shown]) > 0))


def _fitted(
    source: Source, frozen: Fit | None, settings: Settings, standards: StandardsTable | None,
    options: ReadOptions, check: Sequence[tuple[float, float]],
) -> tuple[Intake, ItemTable, Fit]:  # fmt: skip
    intake = read(source, options)
    checks = check_readings(intake.items, intake.readings, settings, check)
    table = summarise(intake.items, intake.readings, instruments_of(intake.readings, settings))
    marks = [str(m) for m in intake.items["mint_mark"]]
    # a frozen fit brings its own standards: those on file are not read then
    known = frozen.standards if frozen is not None else standards or load_standards()
    table = with_types(table, known, marks)
    table = with_failed_checks(table, checks, weighed_anew(intake.readings))
    if frozen is not None:
        return intake, table, frozen
    return intake, table, fit(table, known, settings, 0, None, scale_belief(checks, settings))


def _numbers(items: pd.DataFrame, plan: SamplingPlan) -> Ints:
    """The number in the lot of each coin, by roll and position or by its own number (a
    number that stands twice is the same coin twice); 0 where neither is told."""
    found = []
    columns = (items[name].tolist() for name in ("group", "position", "coin_id"))
    for group, position, coin_id in zip(*columns, strict=True):
        roll = _LAST_NUMBER.search(str(group))
        if plan.roll_coins and roll is not None and not pd.isna(position):
            number = number_of(int(roll[1]), int(position), plan.roll_coins)
        else:
            own = _OWN_NUMBER.fullmatch(str(coin_id))
            number = int(own[1]) if own else 0
        found.append(number if number <= plan.lot_coins else 0)
    return np.array(found, dtype=np.int64)


def _walked(
    plan: SamplingPlan, order: Ints, coins: _Coins, unplaced: int,
    judged: tuple[Intake, ItemTable, Fit, Fit | None],
) -> Stop:  # fmt: skip
    measured = {int(n) for n in coins.number}
    counted, fetch = drawn_whole_batches(measured, order, plan.batch_coins)
    aside, unsettled = _by_number(plan.lot_coins, coins)
    moments = [start(plan)]
    stride = -(-counted // (plan.batch_coins * _MOST_BOUNDS)) or 1
    for begin in range(0, counted, plan.batch_coins):
        end = min(begin + plan.batch_coins, counted)
        batch = order[begin:end]
        bounded = end == counted or begin // plan.batch_coins % stride == 0
        moments.append(after_coins(moments[-1], aside[batch], unsettled[batch], bounded=bounded))
    last = moments[-1]
    drawn = {int(n) for n in order[:counted]}
    going_on = last.decision == Decision.GO_ON
    ahead = expected(plan, plan.lines(), counted, last.high) if going_on else None
    in_draw = drawn | ({int(n) for n in order[counted : counted + plan.batch_coins]} & measured)
    intake, table, fitted, frozen = judged
    return Stop(
        plan=plan,
        moments=tuple(moments),
        fetch=fetch if going_on else fetch[:0],
        skipped=np.array(sorted(drawn - measured), dtype=np.int64),
        beside=len(measured - in_draw) + unplaced,
        top=_from_the_top(measured, plan),
        rising=False,
        settle_first=_settle_first(last, order[:counted], coins) if going_on else (),
        rolls=_whole_rolls(plan, coins),
        expected=ahead,
        intake=intake,
        table=table,
        fit=fitted,
        frozen=frozen is not None,
    )  # fmt: skip


def _from_the_top(measured: set[int], plan: SamplingPlan) -> bool:
    """Whether the coins are the first of the lot, but for a few gaps."""
    enough = plan.batch_coins <= len(measured) < _MOST_OF_LOT * plan.lot_coins
    return enough and max(measured) <= _TOP_GAPS * len(measured)


def _by_number(lot_coins: int, coins: _Coins) -> tuple[Bools, Bools]:
    """Set aside and unsettled by number (place 0 is not used); a coin not in the sheet is
    unsettled, and so is one that stands there twice with two findings."""
    aside, unsettled = np.zeros(lot_coins + 1, np.bool_), np.ones(lot_coins + 1, np.bool_)
    seen = np.zeros(lot_coins + 1, np.bool_)
    for number, is_aside, is_open in zip(
        coins.number, coins.set_aside, coins.unsettled, strict=True
    ):
        differs = seen[number] and (aside[number] != is_aside or unsettled[number] != is_open)
        aside[number] = is_aside
        unsettled[number] = bool(is_open) or bool(differs)
        seen[number] = True
    return aside, unsettled


def _settle_first(state: StopState, drawn: Ints, coins: _Coins) -> tuple[str, ...]:
    """Unsettled coins of the draw, where settling all of them could decide."""
    plan = state.plan
    if state.low == state.high:
        return ()
    settled = [(state.drawn, found, found) for found in (state.low, state.high)]
    if all(decide(plan, *counts) == Decision.GO_ON for counts in settled):
        return ()
    chosen = coins.unsettled & np.isin(coins.number, drawn)
    return tuple(name for name, open_coin in zip(coins.shown, chosen, strict=True) if open_coin)


def _whole_rolls(plan: SamplingPlan, coins: _Coins) -> RollDraw | None:
    """Rolls of which every coin was measured, two at least; None where there are fewer."""
    if not plan.roll_coins:
        return None
    number = np.unique(coins.number)
    roll = (number - 1) // plan.roll_coins
    numbers, counts = np.unique(roll, return_counts=True)
    whole = numbers[counts >= plan.roll_coins]
    if len(whole) < _LEAST_ROLLS:
        return None
    chosen = np.isin(roll, whole)
    lot_rolls = -(-plan.lot_coins // plan.roll_coins)
    found = np.logical_or(*_by_number(plan.lot_coins, coins))[number[chosen]]
    return roll_draw(found, roll[chosen], lot_rolls, plan.goal.risk_accept)
