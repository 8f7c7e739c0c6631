"""Which coin of the lot each result is of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from lotscreen.records import ItemKind, ItemTable
from lotscreen.second_tests.results import WATER, SecondResult
from lotscreen.second_tests.runs import density_shown
from lotscreen.words import say

_NO_HANGING_COIN = 0.5
_LIGHTEST = 1.0  # g/cm3: what is lighter floats


@dataclass(frozen=True, slots=True)
class Placed:
    """Results by row of the item table, and a sentence for each that found no coin."""

    by_row: Mapping[int, tuple[SecondResult, ...]]
    not_taken: tuple[str, ...]


def placed(
    results: Sequence[SecondResult], items: pd.DataFrame, table: ItemTable,
    balances: Mapping[str, str],
) -> Placed:  # fmt: skip
    """Find each result's coin by its number, its id, or roll and position.

    ``items`` and ``table`` have the same rows. A weight in water below half of the coin's
    weight is what a beaker gained: no coin is half as dense as water. A number that two
    coins have is no answer. ``balances`` is where coins were weighed first, by item id: a
    result of another balance does not share its error.
    """
    coins = np.flatnonzero((table.kind == ItemKind.COIN) & (table.weight_n > 0))
    by_name: dict[tuple[str, str], list[int]] = {}
    columns = [items[name].tolist() for name in ("item_id", "coin_id", "group", "position")]
    for row in coins.tolist():
        for name in _names(*(column[row] for column in columns)):
            by_name.setdefault(name, []).append(row)
    found: dict[int, list[SecondResult]] = {}
    not_taken: list[str] = []
    for result in results:
        rows = _rows_of(result, by_name, items)
        weight = float(table.weight_g[rows[0]]) if len(rows) == 1 else float("nan")
        own = _in_a_beaker(result, weight)
        if len(rows) == 1 and not _possible(own, weight):
            not_taken.append(say("second_tests.error.floats", file=result.file, row=result.row,
                                 sheet=result.sheet, coin=named(result), value=result.raw,
                                 weight=weight))  # fmt: skip
        elif len(rows) == 1:
            first = balances.get(str(table.item_id[rows[0]]), "")
            apart = bool(first and own.instrument) and first != own.instrument
            found.setdefault(rows[0], []).append(
                replace(own, same_balance=own.same_balance and not apart)
            )
        else:
            key = "twice" if rows else "unknown"
            not_taken.append(
                say(
                    f"second_tests.error.coin_{key}",
                    file=result.file,
                    sheet=result.sheet,
                    row=result.row,
                    coin=named(result),
                )
            )
    return Placed({row: tuple(own) for row, own in sorted(found.items())}, tuple(not_taken))


def _possible(result: SecondResult, weight_g: float) -> bool:
    """Whether a weight in water may be this coin's: it sinks, and displaces something."""
    if result.test != WATER:
        return True
    density = density_shown(result, weight_g)
    return bool(np.isfinite(density) and density > _LIGHTEST)


def named(result: SecondResult) -> str:
    """The coin as the sheet of tests names it."""
    if result.coin and not result.group:
        return result.coin
    place = result.position if result.position >= 0 else result.coin
    return say("second_tests.place", group=result.group, position=place)


def _names(item: str, coin: str, group: str, position: float) -> set[tuple[str, str]]:
    """Ways to name a coin: ('', number or id), (roll, position)."""
    names = {("", str(item).casefold())}
    if str(coin):
        names.add(("", str(coin).casefold()))
    if str(group) and position == position:
        names.add((str(group).casefold(), str(int(position))))
    return names


def _rows_of(
    result: SecondResult, by_name: Mapping[tuple[str, str], list[int]], items: pd.DataFrame
) -> list[int]:
    where = str(result.position) if result.position >= 0 else result.coin.casefold()
    place = (result.group.casefold(), where) if result.group else ("", result.coin.casefold())
    rows = by_name.get(place, [])
    if result.lot:
        lots = [str(items["lot"].iloc[row]) for row in rows]
        rows = [r for r, lot in zip(rows, lots, strict=True) if lot in ("", result.lot)]
    return rows


def _in_a_beaker(result: SecondResult, weight_g: float) -> SecondResult:
    if np.isfinite(result.immersed_g) and result.immersed_g < _NO_HANGING_COIN * weight_g:
        return replace(result, displaced_g=result.immersed_g, immersed_g=float("nan"))
    return result
