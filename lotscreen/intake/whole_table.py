"""A table with its cells understood, as the checks that look across its rows see it."""

from __future__ import annotations

from dataclasses import dataclass

from lotscreen.intake.layout import Layout
from lotscreen.intake.named import Named
from lotscreen.intake.readings import MeasureRead
from lotscreen.intake.table import Table
from lotscreen.records import Bools, ItemKind, Texts


@dataclass(frozen=True, slots=True)
class WholeTable:
    """``kind`` and ``reason`` have one entry a row of the table: what it is ('' left
    out), and the key of the words that say why it is left out ('' for an item)."""

    table: Table
    layout: Layout
    kind: Texts
    reason: Texts
    named: Named
    reads: tuple[MeasureRead, ...]

    @property
    def coins(self) -> Bools:
        """Mask of the rows that are single coins."""
        found: Bools = self.kind == ItemKind.COIN.value
        return found

    def sheet_row(self, row: int) -> int:
        """The number that a spreadsheet program gives to row ``row`` of the table."""
        return self.table.first_row + row
