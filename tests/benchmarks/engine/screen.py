"""The engine under test, through its doors: an item table in, findings out."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from unittest.mock import patch

import numpy as np

from lotscreen.evidence import judge
from lotscreen.instruments import ScaleBelief
from lotscreen.lot.state import LotRows, lot_statement
from lotscreen.lot.statement import LotStatement
from lotscreen.records import FindingKind, Findings, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import Fit, components, fit

from .lots import SETTINGS, STANDARDS, Lot

DEPARTING = (FindingKind.SET_ASIDE.value, FindingKind.NOT_CONSISTENT.value)


def screened(table: ItemTable) -> Findings:
    """The findings of the coins of ``table``, fitted on the same coins."""
    return judged(table, fit(table, STANDARDS, SETTINGS, 0))


def judged(table: ItemTable, frozen: Fit) -> Findings:
    """The findings of the coins of ``table`` by a fit made before."""
    return judge(table, frozen, SETTINGS)


def statement_of(
    table: ItemTable, settings: Settings = SETTINGS, belief: ScaleBelief | None = None
) -> tuple[Findings, LotStatement]:
    """Findings and the statement on the lot; ``belief`` is what is known of the balance."""
    frozen = fit(table, STANDARDS, settings, 0, belief=belief)
    findings = judge(table, frozen, settings)
    rows = LotRows(
        "", table, findings, table.item_id, np.ones(len(table), dtype=np.bool_), len(table),
        0, 0, (), None,
    )  # fmt: skip
    return findings, lot_statement(rows, frozen, settings)


def departures_of(lot: Lot) -> tuple[str, ...]:
    """Groups of departures that the engine weighs for the lot's type, each once."""
    found = components.components(lot.levels.coin_type)
    return tuple({c.group: None for c in found})


@contextmanager
def without(group: str) -> Iterator[None]:
    """The engine with one group of departures taken out."""
    every = components.components
    with patch.object(
        components, "components", lambda *of: tuple(c for c in every(*of) if c.group != group)
    ):
        yield
