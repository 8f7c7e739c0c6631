"""How the words of the type column were understood, those with something to tell first."""

from __future__ import annotations

import pandas as pd

from lotscreen.records import ItemKind, ItemTable
from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table
from lotscreen.report.numerals import MISSING, whole
from lotscreen.report.printable import shortened
from lotscreen.words import phrase, say, table

MOST_SHOWN = 20
_TEXT, _NOTE = 48, 160


def type_words(items: ItemTable) -> list[Block]:
    """A row for each text, the standard it was taken for, its coins and groups, and the note."""
    counted = _counted(items)
    heads = table("report_columns")["types"]
    columns = (
        Column(heads[0], share=2), Column(heads[1], share=2), Column(heads[2], "right"),
        Column(heads[3], share=3),
    )  # fmt: skip
    rows = tuple(
        (
            shortened(str(told.text), _TEXT) or MISSING,
            str(told.key) or phrase("report.sheet.no_type"),
            whole(int(str(told.n))),
            shortened(str(told.note), _NOTE) or MISSING,
        )
        for told in counted.head(MOST_SHOWN).itertuples(index=False)
    )
    blocks: list[Block] = [
        Heading(phrase("report.sheet.types")),
        Table(columns, rows, phrase("report.sheet.types_summary"), small=True),
    ]
    if len(counted) > MOST_SHOWN:
        more = whole(len(counted) - MOST_SHOWN)
        blocks.append(Paragraph(say("report.sheet.more_types", n=more), "note"))
    return blocks if rows else []


def _counted(items: ItemTable) -> pd.DataFrame:
    """A row for each text, key and note with the number of items: notes first, then the
    commonest."""
    judged = items.rows(items.kind != ItemKind.CHECK)
    texts = pd.DataFrame(
        {"text": judged.type_text, "key": judged.type_key, "note": judged.type_note}, dtype=object
    )
    counts = texts.value_counts().rename("n").reset_index()
    counts["quiet"] = counts["note"] == ""
    return counts.sort_values(
        ["quiet", "n", "text", "key"], ascending=[True, False, True, True], kind="stable"
    )
