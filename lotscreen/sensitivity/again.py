"""Judging again by other fits: the same doors, with fewer coins or another allowance.

The findings themselves stay; what comes of this is a mark. A finding that hangs on the coin's
own roll, or on how much wear was thought likely before the lot was seen, is one that a second
measurement or a second test should support first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields

import numpy as np

from lotscreen.evidence import judge
from lotscreen.one_thread import one_thread
from lotscreen.records import Bools, Findings, Ints, ItemKind, ItemTable
from lotscreen.sensitivity.folds import ONE_BY_ONE_BELOW, Fold, folds_of, one_by_one
from lotscreen.sensitivity.moves import (
    OF_ALLOWANCE,
    TRIED,
    Move,
    Sensitivity,
    TypeTried,
    Way,
)
from lotscreen.sensitivity.near import could_move
from lotscreen.settings import Settings
from lotscreen.wear import Fit, fit
from lotscreen.wear.fit import usable_coins


@dataclass(frozen=True, slots=True)
class Judged:
    """What was judged: all items, the fit of them, their findings coin by coin (before
    neighbouring rows were weighed together), and the findings that were given."""

    table: ItemTable
    fit: Fit
    alone: Findings
    given: Findings

    def tried(self) -> Bools:
        """The coins whose finding is judged again."""
        stands = self.given.finding == self.alone.finding
        return np.asarray(stands & np.isin(self.given.finding, TRIED), dtype=np.bool_)

    def could_move(self, settings: Settings) -> Bools:
        """Those of them that a fit which differs a little could find otherwise."""
        return self.tried() & could_move(self.table, self.alone, settings)

    def coins(self) -> int:
        """How many coins were judged."""
        return int((self.table.kind == ItemKind.COIN).sum())


class _Moved:
    """The moves by item id while they are gathered, of the coins that are ``tried``."""

    def __init__(self, judged: Judged, tried: Bools) -> None:
        self.moves: defaultdict[str, list[Move]] = defaultdict(list)
        self._judged, self._tried = judged, tried

    def note(self, rows: Ints, ways: Sequence[Way], again: Findings) -> None:
        """Note the coins at ``rows`` whose finding is another in ``again`` (same order)."""
        given = self._judged.given
        moved = self._tried[rows] & (given.finding[rows] != again.finding)
        for k in np.flatnonzero(moved).tolist():
            item = str(self._judged.table.item_id[rows[k]])
            self.moves[item].append(Move(ways[k], str(again.finding[k])))


@one_thread
def judged_again(judged: Judged, settings: Settings) -> Sensitivity:
    """With what the findings of ``judged`` move.

    Of types with at most ``settings.folds_up_to`` coins each fold is judged by a fit without
    it (:mod:`folds`); below ``ONE_BY_ONE_BELOW`` coins each coin that could move (:mod:`near`)
    by a fit without that coin. Of all types the coins that could move are judged with the
    other wear allowances. No step draws at random, and no finding changes.
    """
    tried, near = judged.tried(), judged.could_move(settings)
    moved = _Moved(judged, tried)
    types = []
    for key, rows in _types(judged.table):
        folds = _folds(judged.table, rows, near, tried, settings)
        for fold in folds:
            moved.note(fold.rows, fold.ways, _without(judged, rows, fold, settings))
        types.append(TypeTried(key, _ways(rows, folds, settings)))
    allowances = _allowances(settings)
    rows = np.flatnonzero(near)
    for way, otherwise in allowances if len(rows) else ():
        moved.note(rows, [way] * len(rows), _refitted(judged, rows, otherwise))
    return Sensitivity(
        {item: tuple(found) for item, found in moved.moves.items()}, tuple(types),
        tuple(way for way, _ in allowances), settings.folds_up_to,
    )  # fmt: skip


def _types(table: ItemTable) -> Iterator[tuple[str, Ints]]:
    """The types that were fitted, by key, with the rows of their coins."""
    usable = usable_coins(table)
    for key in sorted(set(table.type_key[usable])):
        yield str(key), np.flatnonzero(usable & (table.type_key == key))


def _folds(
    table: ItemTable, rows: Ints, near: Bools, tried: Bools, settings: Settings
) -> list[Fold]:
    """The folds of the coins at ``rows`` that hold any worth judging: of whole groups one
    that is ``tried``, else one ``near`` enough to its line to move."""
    if len(rows) > settings.folds_up_to:
        return []
    if len(rows) < ONE_BY_ONE_BELOW:
        return one_by_one(rows[near[rows]])
    return [
        fold
        for fold in folds_of(table, rows)
        if (near if set(fold.ways) == {Way.FIFTH} else tried)[fold.rows].any()
    ]


def _ways(rows: Ints, folds: Sequence[Fold], settings: Settings) -> tuple[Way, ...]:
    if len(rows) > settings.folds_up_to:
        return ()
    if len(rows) < ONE_BY_ONE_BELOW:
        return (Way.OWN_COIN,)
    return tuple(dict.fromkeys(way for fold in folds for way in fold.ways)) or (Way.FIFTH,)


def _without(judged: Judged, rows: Ints, fold: Fold, settings: Settings) -> Findings:
    """The coins of ``fold`` judged by a fit of the other coins at ``rows`` (one type)."""
    table = judged.table
    pieces = np.flatnonzero(
        (table.kind == ItemKind.REFERENCE) & (table.type_key == table.type_key[rows[0]])
    )
    others = table.rows(np.concatenate([np.setdiff1d(rows, fold.rows), pieces]))
    made = judged.fit
    without = fit(others, made.standards, settings, made.seed, None, made.belief)
    return judge(table.rows(fold.rows), without, settings, judged.coins())


def _refitted(judged: Judged, rows: Ints, settings: Settings) -> Findings:
    """The coins at ``rows`` judged by a fit of their types with other ``settings``."""
    made, table = judged.fit, judged.table
    types = table.rows(np.isin(table.type_key, sorted(set(table.type_key[rows]))))
    otherwise = fit(types, made.standards, settings, made.seed, None, made.belief)
    return judge(table.rows(rows), otherwise, settings, judged.coins())


def _allowances(settings: Settings) -> list[tuple[Way, Settings]]:
    """Settings with the other wear allowances, as far as they lie in the setting's range."""
    (declared,) = (f.metadata for f in fields(Settings) if f.name == "wear_factor")
    factors = {way: times * settings.wear_factor for way, times in OF_ALLOWANCE.items()}
    return [
        (way, settings.with_values({"wear_factor": factor}))
        for way, factor in factors.items()
        if declared["low"] <= factor <= declared["high"]
    ]
