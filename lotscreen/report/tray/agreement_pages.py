"""The supervisor's annex on agreement: among trainees, and of each with the instrument."""

from __future__ import annotations

import numpy as np

from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table
from lotscreen.tray.marking.agreement import Agreement
from lotscreen.tray.marking.crossed import Estimate
from lotscreen.tray.marking.marked import Marked
from lotscreen.tray.marking.wording import count, number, place_of
from lotscreen.words import phrase, say, table

_MOST = 30
_SILENT = ("", "not judged")


def agreement_blocks(marked: Marked) -> list[Block]:
    """Raw agreement, kappa and AC1 together, then where the instrument and the key differ."""
    rows = []
    if marked.whole.alike is not None:
        rows.append(_row(phrase("tray_marking.page.among"), marked.whole.alike))
    for person, found in zip(marked.people, marked.whole.with_bench, strict=True):
        if found is not None:
            rows.append(_row(say("tray_marking.page.with_bench", code=person.code), found))
    if not rows:
        return []
    heads = table("tray_marking")["columns"]["agreement"]
    columns = (Column(heads[0], share=1), *(Column(head, "right") for head in heads[1:]))
    return [
        Heading(phrase("tray_marking.page.agreement"), level=1, new_page=True),
        Paragraph(phrase("tray_marking.page.agreement_lead")),
        Table(columns, tuple(rows), phrase("tray_marking.alt.agreement"), small=True),
        *_against_key(marked),
    ]


def _row(name: str, found: Agreement) -> tuple[str, ...]:
    spans = [_span(estimate) for estimate in (found.raw, found.kappa, found.ac1)]
    return (name, str(found.pieces), *spans)


def _span(found: Estimate) -> str:
    return say("tray_marking.page.value_span", value=number(found.value), low=number(found.low),
               high=number(found.high))  # fmt: skip


def _against_key(marked: Marked) -> list[Block]:
    """Pieces of which the instrument says otherwise than the key, with the trainees."""
    pieces = marked.grid.pieces
    finding = pieces["finding"].astype(str).str.casefold()
    flagged = finding != "consistent"
    differs = ~finding.isin(_SILENT) & (flagged != pieces["false"])
    if not differs.any():
        return []
    heads = table("tray_marking")["columns"]["bench"]
    rows = []
    for piece in np.flatnonzero(differs.to_numpy())[:_MOST]:
        tray, cell = place_of(marked, int(piece))
        row = pieces.iloc[int(piece)]
        status = phrase(f"tray_marking.status.{'not_honest' if row['false'] else 'honest'}")
        fooled = f"{count(marked.pieces.fooled[piece])}/{count(marked.pieces.met[piece])}"
        rows.append((str(row["piece"]), f"{tray} {cell}", str(row["kind"]), status,
                     str(row["finding"]), fooled))  # fmt: skip
    columns = (Column(heads[0]), Column(heads[1]), Column(heads[2], share=1), Column(heads[3]),
               Column(heads[4]), Column(heads[5], "right"))  # fmt: skip
    lead = say("tray_marking.page.bench_lead", n=int(differs.sum()), shown=len(rows))
    return [
        Heading(phrase("tray_marking.page.bench")),
        Paragraph(lead, "intro"),
        Table(columns, tuple(rows), phrase("tray_marking.alt.bench"), small=True),
    ]
