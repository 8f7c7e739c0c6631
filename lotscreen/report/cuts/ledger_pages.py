"""What the ledger holds about a lot, as tables: custody, instruments, tests, decisions."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table
from lotscreen.report.cuts.paper import Paper
from lotscreen.report.cuts.shared import in_column
from lotscreen.report.numerals import MISSING
from lotscreen.report.printable import shortened
from lotscreen.words import phrase, say, table

_LONGEST_CELL = 160
_FIELDS = {
    "custody": ("from", "to", "why", "seal", "place"),
    "instrument": ("instrument", "what", "step", "unit", "calibrated", "certificate"),
    "check": ("instrument", "stated", "read", "unit", "temperature"),
    "test": ("coin", "test", "value", "unit", "instrument", "reference", "temperature", "note"),
    "decision": ("coin", "disposition", "reasons", "dissent", "second"),
    "offer": ("bid", "currency", "spot", "spot_at", "until", "note"),
    "correction": ("coin", "quantity", "entry", "field", "old", "new", "why"),
    "issued": ("version", "replaces", "head"),
}
_WIDE = frozenset({"why", "what", "reasons", "dissent", "note", "head"})


def all_records(paper: Paper) -> list[Block]:
    """Every kind of record that there is, in the order of the work; then how to check it."""
    blocks: list[Block] = [
        Heading(phrase("cuts.ledger.heading"), level=1, new_page=True),
        Paragraph(phrase("cuts.ledger.intro"), "intro"),
    ]
    for kind in _FIELDS:
        blocks += records(paper, kind)
    return [*blocks, *again(paper)]


def records(paper: Paper, kind: str) -> list[Block]:
    """The records of one kind as they stand after corrections; a line where there are none."""
    heading = Heading(phrase(f"cuts.ledger.kind.{kind}"))
    said = paper.said(kind)
    if not said:
        return [heading, Paragraph(phrase("cuts.ledger.none"), "note")]
    names = [name for name in _FIELDS[kind] if any(name in body for _, body in said)]
    words = table("cuts")["field"]
    columns = (
        Column(words["number"], "right"), Column(words["at"]), Column(words["by"]),
        *(Column(words[name], share=2.0 if name in _WIDE else 0.7) for name in names),
    )  # fmt: skip
    rows = tuple(
        (str(entry.number), in_column(entry.at), entry.by, *_cells(body, names))
        for entry, body in said
    )
    summary = phrase(f"cuts.ledger.kind.{kind}")
    return [heading, Table(columns, rows, summary, small=True)]


def _cells(body: Mapping[str, Any], names: list[str]) -> list[str]:
    return [_cell(body, name) for name in names]


def _cell(body: Mapping[str, Any], name: str) -> str:
    if name not in body:
        return phrase("cuts.ledger.whole_lot") if name == "coin" else MISSING
    value = body[name]
    form: Callable[[Any], str] = (lambda v: f"{v:g}") if isinstance(value, float) else str
    return shortened(form(value), _LONGEST_CELL)


def again(paper: Paper) -> list[Block]:
    """How to check the ledger against this paper, and how to make the paper again."""
    return [
        Heading(phrase("cuts.ledger.check")),
        Paragraph(say("cuts.ledger.verify", head=paper.history.head)),
        Paragraph(phrase("cuts.ledger.again")),
    ]
