"""Published weighings as items and readings, for the same doors that a screen uses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from lotscreen.evidence import judge
from lotscreen.instruments import instruments_of
from lotscreen.records import ITEM_COLUMNS, READING_COLUMNS, Findings, ItemTable
from lotscreen.settings import Settings
from lotscreen.standards import load_standards
from lotscreen.summary import summarise
from lotscreen.wear import Fit, fit
from lotscreen.wear.fit import with_types


@dataclass(frozen=True)
class Weighing:
    """One coin: type text, year (None: no date), reading in g and its step, or a class."""

    type_text: str
    year: int | None
    weight_g: float
    step_g: float
    low_g: float = float("nan")
    high_g: float = float("nan")


def frames(coins: Sequence[Weighing]) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Items and readings of ``coins``, one reading each."""
    items, readings = [], []
    for n, coin in enumerate(coins):
        items.append(
            (f"c{n}", "coin", 1, str(n), "", coin.type_text, str(coin.year), coin.year, "", "",
             None, n, "published", "", "", n + 2, {}, "")
        )  # fmt: skip
        readings.append(
            (f"c{n}", "weight", coin.weight_g, "g", str(coin.weight_g), "weight", coin.step_g, "",
             "", n, "", np.nan, 1, coin.low_g, coin.high_g, np.nan, "used", "")
        )  # fmt: skip
    return (
        pd.DataFrame(items, columns=list(ITEM_COLUMNS)),
        pd.DataFrame(readings, columns=list(READING_COLUMNS)),
    )


def screened(
    coins: Sequence[Weighing], settings: Settings | None = None
) -> tuple[ItemTable, Fit, Findings]:
    """The first three doors in order."""
    settings = settings or Settings()
    items, readings = frames(coins)
    standards = load_standards()
    table = summarise(items, readings, instruments_of(readings, settings))
    table = with_types(table, standards)
    fitted = fit(table, standards, settings, seed=0)
    return table, fitted, judge(table, fitted, settings)
