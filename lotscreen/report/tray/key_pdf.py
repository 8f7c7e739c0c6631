"""The key on paper: how the set was built, then every tray with what lies in its cells."""

from __future__ import annotations

import numpy as np

from lotscreen.report.blocks import Block, Column, Heading, Items, Paragraph, Table
from lotscreen.report.numerals import fixed
from lotscreen.report.tray.grid import key_grid
from lotscreen.tray.built import BuiltSet
from lotscreen.tray.compose import Tray
from lotscreen.tray.pieces import Piece, hard_from
from lotscreen.tray.tables import status
from lotscreen.tray.told import certifying_sentences
from lotscreen.words import phrase, say, table

_MOST_UNUSABLE = 30


def key_blocks(built: BuiltSet) -> list[Block]:
    """All blocks of the key."""
    return [*_made(built), *(block for tray in built.trays for block in _tray(tray))]


def _made(built: BuiltSet) -> list[Block]:
    order, low_high = built.order, built.order.purpose.not_honest
    facts = {
        "name": order.name, "source": built.source, "digest": built.source_digest[:12],
        "seed": order.seed, "set": built.digest(),
    }  # fmt: skip
    sentences = [
        say("tray_building.key.from", **facts),
        say("tray_building.key.purpose", purpose=order.purpose.key, range=_range(*low_high),
            empty=100 * order.empty_share, unscored=order.unscored),
        say("tray_building.key.hard", other=fixed(hard_from(built.pieces, False), 1),
            honest=fixed(hard_from(built.pieces, True), 1)),
        phrase("tray_building.key.difficulty"),
        phrase("tray_building.key.not_tellable"),
        *certifying_sentences(built),
        *built.practised,
    ]  # fmt: skip
    if built.left_out:
        left = ", ".join(built.left_out)
        sentences.append(say("tray_building.key.adjusted", pieces=left))
    return [
        Heading(say("tray_building.key.title", name=order.name), level=1, new_page=True),
        Paragraph(phrase("tray_building.key.lead"), "alert"),
        Items(tuple(sentences)),
        Heading(phrase("tray_building.key.forms")),
        _forms(built),
        Paragraph(phrase("tray_building.key.equal"), "note"),
        *_unusable(built),
    ]


def _range(low: int, high: int) -> str:
    return str(low) if low == high else say("tray_building.key.range", low=low, high=high)


def _forms(built: BuiltSet) -> Table:
    """One row a tray: counts and mean difficulty with its error."""
    heads = table("tray_building")["columns"]["forms"]
    hard = {honest: hard_from(built.pieces, honest) for honest in (True, False)}
    rows = []
    for tray in built.trays:
        row = [tray.name]
        for honest in (False, True):
            scored = [p for p in tray.pieces(honest) if p.tellable]
            hardness = [p.difficulty for p in scored]
            row += [str(len(scored)), str(sum(h >= hard[honest] for h in hardness)),
                    _mean(hardness)]  # fmt: skip
        row.append(str(sum(not c.piece.tellable for c in tray.cells)))
        rows.append(tuple(row))
    columns = (Column(heads[0]), *(Column(head, "right") for head in heads[1:]))
    return Table(columns, tuple(rows), phrase("tray_building.alt.forms"))


def _mean(hardness: list[float]) -> str:
    if not hardness:
        return fixed(None, 1)
    if len(hardness) < 2:
        return fixed(hardness[0], 1)
    error = float(np.std(hardness, ddof=1) / np.sqrt(len(hardness)))
    return f"{fixed(float(np.mean(hardness)), 1)} ± {fixed(error, 1)}"


def _unusable(built: BuiltSet) -> list[Block]:
    """Pieces of the register that stay out of every tray until somebody sees to them."""
    out = [p for p in built.pieces if p.usable]
    if not out:
        return []
    shown = tuple(
        say("tray_building.key.unusable_piece", piece=p.piece, box=p.box, why=p.usable)
        for p in out[:_MOST_UNUSABLE]
    )
    return [
        Heading(say("tray_building.key.unusable", n=len(out))),
        Items(shown, small=True),
    ]


def _tray(tray: Tray) -> list[Block]:
    heads = table("tray_building")["columns"]["key"]
    columns = (
        Column(heads[0], "right"), Column(heads[1]), Column(heads[2]), Column(heads[3], share=1),
        Column(heads[4]), *(Column(head, "right") for head in heads[5:9]), Column(heads[9]),
    )  # fmt: skip
    rows = tuple(_row(cell.number, cell.piece) for cell in tray.cells)
    return [
        Heading(say("tray_building.key.tray", tray=tray.name), level=1, new_page=True),
        key_grid(tray),
        Table(columns, rows, say("tray_building.alt.key_table", tray=tray.name), small=True),
    ]


def _row(number: int, piece: Piece) -> tuple[str, ...]:
    return (
        str(number), piece.piece, f"{piece.type_text} {piece.date_text}".strip(), piece.kind,
        status(piece.honest), fixed(piece.weight_g, 2), fixed(piece.diameter_mm, 2),
        fixed(piece.thickness_mm, 2), fixed(piece.difficulty, 1),
        piece.told_by or phrase("tray_building.told.nothing"),
    )  # fmt: skip
