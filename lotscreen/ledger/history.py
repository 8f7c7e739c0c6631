"""The chain of a lot as papers need it: what is in force, and what was when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from lotscreen.ledger.chain import START, Entry
from lotscreen.ledger.mended import CORRECTION, bodies_as_corrected
from lotscreen.ledger.screened import FINDING, READING, RUN

ISSUED = "issued"


@dataclass(frozen=True, slots=True)
class History:
    """All entries of one lot up to a head."""

    lot: str
    entries: tuple[Entry, ...]

    @property
    def head(self) -> str:
        """The digest of the last entry."""
        return self.entries[-1].digest if self.entries else START

    def of_kind(self, kind: str) -> tuple[Entry, ...]:
        """The entries of one kind, first written first."""
        return tuple(entry for entry in self.entries if entry.kind == kind)

    def up_to(self, number: int) -> History:
        """The history as it was when entry ``number`` was the last."""
        return History(self.lot, self.entries[:number])

    def issued(self) -> tuple[Entry, ...]:
        """The versions issued, first first; entry i is version i + 1."""
        return self.of_kind(ISSUED)

    def findings(self) -> dict[str, Mapping[str, Any]]:
        """The finding in force by item."""
        return {(said := entry.said())["item"]: said for entry in self.of_kind(FINDING)}

    def run(self) -> Mapping[str, Any]:
        """What the last run said of itself; empty where there was none."""
        runs = self.of_kind(RUN)
        return runs[-1].said() if runs else {}

    def corrections_of_readings(self) -> tuple[tuple[Entry, Mapping[str, Any]], ...]:
        """Corrections of a coin's reading as corrected since, first written first."""
        return tuple(
            (entry, said)
            for entry, said in self.as_corrected(CORRECTION)
            if "coin" in said and "quantity" in said
        )

    def as_corrected(self, kind: str) -> list[tuple[Entry, dict[str, Any]]]:
        """The entries of one kind, each with its body as corrected since."""
        bodies = bodies_as_corrected(self.entries, kind)
        return [(entry, bodies[entry.number]) for entry in self.of_kind(kind)]

    def dispositions(self) -> dict[str, Mapping[str, Any]]:
        """The last decision of each coin; '' is the lot as a whole."""
        return {str(said.get("coin", "")): said for _, said in self.as_corrected("decision")}

    def since(self, number: int) -> tuple[Entry, ...]:
        """Entries written by persons after entry ``number``: no readings, findings, runs."""
        return tuple(
            entry
            for entry in self.entries[number:]
            if entry.kind not in (READING, FINDING, RUN, ISSUED)
        )


def history_of(lot: str, entries: Sequence[Entry]) -> History:
    """The history of ``lot``."""
    return History(lot, tuple(entries))
