"""Few false pieces against many, before against after."""

from __future__ import annotations

from lotscreen.report.blocks import Block, Column, Heading, Items, Paragraph, Table
from lotscreen.tray.marking.crossed import Estimate
from lotscreen.tray.marking.marked import Marked
from lotscreen.tray.marking.stage_words import change_words, stage_name
from lotscreen.tray.marking.wording import number, per_cent
from lotscreen.words import phrase, say, table


def stage_blocks(marked: Marked) -> list[Block]:
    """The stages and their changes; nothing where there is one stage."""
    if len(marked.stages) < 2:
        return []
    return [
        Heading(phrase("tray_marking.stage.title"), level=1, new_page=True),
        Items(tuple(text for n in range(len(marked.changes)) for text in change_words(marked, n))),
        _stages(marked),
        Paragraph(phrase("tray_marking.stage.note"), "note"),
        *_people(marked),
    ]


def _stages(marked: Marked) -> Table:
    heads = table("tray_marking")["columns"]["stages"]
    rows = tuple(
        (stage_name(marked, n), str(stage.trays), str(stage.empty_trays),
         str(stage.false_pieces), _percent(stage.hit), _percent(stage.alarm),
         _span(stage.skill), _span(stage.line))
        for n, stage in enumerate(marked.stages)
    )  # fmt: skip
    columns = (Column(heads[0], share=1), *(Column(head, "right") for head in heads[1:]))
    return Table(columns, rows, phrase("tray_marking.alt.stages"), small=True)


def _span(found: Estimate) -> str:
    return say("tray_marking.page.value_span", value=number(found.value), low=number(found.low),
               high=number(found.high))  # fmt: skip


def _percent(found: Estimate) -> str:
    return say("tray_marking.page.value_span", value=per_cent(found.value),
               low=number(100 * found.low, 0), high=number(100 * found.high, 0))  # fmt: skip


def _people(marked: Marked) -> list[Block]:
    """Each trainee's change beside what luck alone would bring."""
    blocks: list[Block] = []
    heads = table("tray_marking")["columns"]["changes"]
    columns = (Column(heads[0]), *(Column(head, "right") for head in heads[1:]))
    for change in marked.changes:
        rows = tuple(
            (marked.grid.people[one.person], _span(one.skill), number(one.by_luck))
            for one in change.people
        )
        if rows:
            names = {"earlier": stage_name(marked, change.earlier),
                     "later": stage_name(marked, change.later)}  # fmt: skip
            blocks += [
                Heading(say("tray_marking.stage.people", **names)),
                Table(columns, rows, phrase("tray_marking.alt.changes"), small=True),
            ]
    return blocks
