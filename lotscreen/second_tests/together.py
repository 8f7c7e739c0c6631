"""All second tests of a lot taken together with what the screen says of its coins."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import pandas as pd

from lotscreen.records import Findings, ItemTable, Quantity
from lotscreen.second_tests.explained import Explained, explained
from lotscreen.second_tests.placed import placed
from lotscreen.second_tests.results import SecondResult
from lotscreen.second_tests.update import CoinWithTests, tested
from lotscreen.settings import Settings
from lotscreen.wear import Fit


@dataclass(frozen=True, slots=True)
class LotExplained:
    """The coins of a lot by type with their shares, second tests included; the coins
    tested, in the order of the sheet; a sentence for each result that found no coin."""

    coins: Mapping[str, Explained]
    tested: tuple[CoinWithTests, ...]
    not_taken: tuple[str, ...]


def lot_explained(
    items: pd.DataFrame, table: ItemTable, fit: Fit, findings: Findings, settings: Settings,
    results: Sequence[SecondResult] = (), readings: pd.DataFrame | None = None,
) -> LotExplained:  # fmt: skip
    """Shares over hypotheses of every judged coin, after the second tests in ``results``.

    ``items``, ``table`` and ``findings`` have the same rows. No finding is changed.
    """
    coins = explained(table, fit, findings, settings)
    return with_results(coins, items, table, fit, settings, results, readings)


def with_results(
    before: Mapping[str, Explained], items: pd.DataFrame, table: ItemTable, fit: Fit,
    settings: Settings, results: Sequence[SecondResult], readings: pd.DataFrame | None = None,
) -> LotExplained:  # fmt: skip
    """The same from coins explained ``before`` their second tests; ``readings`` are those
    of the sheet, which say on which balance each coin was weighed first."""
    coins = dict(before)
    where = placed(results, items, table, _balances(readings))
    told: list[CoinWithTests] = []
    for row, own in where.by_row.items():
        key = str(table.type_key[row])
        if key not in coins:
            continue
        place = coins[key].place_of(row)
        found = tested(coins[key], place, own, table, fit.types[key], settings)
        told.append(found)
        shares = coins[key].shares.copy()
        shares[place] = found.after
        coins[key] = replace(coins[key], shares=shares)
    return LotExplained(coins, tuple(told), where.not_taken)


def _balances(readings: pd.DataFrame | None) -> dict[str, str]:
    """The balance of each coin's first weighing, by item id; those that name none left out."""
    if readings is None:
        return {}
    weights = readings[(readings["quantity"] == Quantity.WEIGHT) & (readings["instrument"] != "")]
    first = weights.drop_duplicates("item_id")
    return dict(zip(first["item_id"].astype(str), first["instrument"].astype(str), strict=True))
