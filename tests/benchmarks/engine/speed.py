"""Processor time of fitting and judging on one core, after imports."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace

import numpy as np

from lotscreen.records import ItemTable
from lotscreen.wear import fit

from .lots import COINAGES, SETTINGS, STANDARDS, Plan, draw
from .screen import judged, screened
from .table import Line, Row


@dataclass(frozen=True, slots=True)
class Effort:
    """``repeats`` of each timing (the fastest counts); whether twice the coins, too."""

    repeats: int
    twice: bool


QUICK = Effort(1, False)
FULL = Effort(3, True)
_COINS = 20_000
_SINGLES = 100


def rows(effort: Effort, tell: Callable[[str], None]) -> Iterator[Row | Line]:
    """All rows on time."""
    part = "Time on one core (processor time, after imports)"
    tell("time: 20,000 coins")
    screened(_mixed(500))
    table = _mixed(_COINS)
    seconds = min(_timed(lambda: screened(table)) for _ in range(effort.repeats))
    cells = len(np.unique(np.stack([table.year, table.weight_g]), axis=1).T)
    what = f"fit and judge 20,000 coins of 5 types x 60 dates ({cells:,} cells)"
    yield Row(part, what, seconds, None, None, 1.5, " s", 2)
    if effort.twice:
        tell("time: 40,000 coins")
        twice = _mixed(2 * _COINS)
        longer = min(_timed(lambda: screened(twice)) for _ in range(effort.repeats))
        yield Row(part, "the same with twice the coins, times longer", longer / seconds, None,
                  None, 2.2, " x", 2)  # fmt: skip
    frozen = fit(table, STANDARDS, SETTINGS, 0)
    drawn = draw(Plan("half", "gamma", _SINGLES, 0.1), 6_000_001).table
    # Ids of their own: a coin whose id the fit knows is judged as if left out of it.
    new = replace(drawn, item_id=np.array([f"new {i}" for i in range(_SINGLES)], dtype=object))
    one_by_one = [new.rows([i]) for i in range(_SINGLES)]
    judged(one_by_one[0], frozen)
    each = np.median([_timed(lambda c=coin: judged(c, frozen)) for coin in one_by_one])
    yield Row(part, "judge one coin with a frozen fit", 1000.0 * float(each), None, None, 1.0,
              " ms", 2)  # fmt: skip


def _timed(work: Callable[[], object]) -> float:
    begin = time.process_time()
    work()
    return time.process_time() - begin


def _mixed(coins: int) -> ItemTable:
    """Equal parts of every type in one table."""
    tables = [
        draw(Plan(name, "gamma", coins // len(COINAGES), 0.1), 6_000_000).table for name in COINAGES
    ]
    columns = {
        f.name: np.concatenate([getattr(t, f.name) for t in tables]) for f in fields(ItemTable)
    }
    columns["item_id"] = np.array([f"c{i}" for i in range(len(columns["kind"]))], dtype=object)
    return ItemTable(**columns)
