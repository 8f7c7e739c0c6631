"""Doubts of form while a table is read, before items have their ids."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from lotscreen.intake.table import Table
from lotscreen.records import Doubt, LeftOut
from lotscreen.words import say, table


@dataclass(frozen=True, slots=True)
class Noted:
    """A doubt about a cell: ``row`` counts from 0 in the table; ``of_item`` says whether
    it is about the row's item (else about a block of rows or a column)."""

    row: int
    column: str
    raw: str
    kind: str
    proposal: str
    why: str
    of_item: bool = True


def cell_doubt(key: str, row: int, column: str, raw: str, proposal: str = "") -> Noted:
    """The doubt ``key`` of the words about one cell."""
    words = table("intake")["doubt"][key]
    return Noted(row, column, raw, words["kind"], proposal, words["why"])


def block_doubt(
    key: str, row: int, column: str, raw: str, proposal: str = "", **facts: object
) -> Noted:
    """The doubt ``key`` about a block of rows or a whole column, named by its first row."""
    kind = say(f"intake.doubt.{key}.kind")
    why = say(f"intake.doubt.{key}.why", **facts)
    return Noted(row, column, raw, kind, proposal, why, of_item=False)


def in_order(noted: Iterable[Noted], source: Table) -> list[Noted]:
    """By row, in a row by column from left to right."""
    place = {column.header: i for i, column in enumerate(source.columns)}
    return sorted(noted, key=lambda note: (note.row, place.get(note.column, -1)))


def doubt_of(noted: Noted, source: Table, item_id: str) -> Doubt:
    """The doubt as the record that others see; ``item_id`` is that of the row."""
    return Doubt(
        source_file=source.file,
        sheet=source.sheet,
        row=source.first_row + noted.row,
        column=noted.column,
        raw=noted.raw,
        kind=noted.kind,
        proposal=noted.proposal,
        why=noted.why,
        item_id=item_id if noted.of_item else "",
    )


def left_out_row(source: Table, row: int, reason: str, raw: str) -> LeftOut:
    """Row ``row`` (from 0 in the table) left out."""
    return LeftOut(source.file, source.sheet, source.first_row + row, reason, raw)
