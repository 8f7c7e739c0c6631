"""The report for one trainee: words first, the trays as answered, what would have told."""

from __future__ import annotations

import math

import numpy as np

from lotscreen.report.blocks import (
    Block,
    Column,
    Heading,
    Items,
    Paragraph,
    Table,
    Together,
)
from lotscreen.report.numerals import fixed
from lotscreen.report.tray.house_words import House, fairness
from lotscreen.report.tray.marked_trays import marked_trays
from lotscreen.report.tray.skill_map import skill_map
from lotscreen.tray.marking.marked import Marked
from lotscreen.tray.marking.people import PersonMarks
from lotscreen.tray.marking.rule_words import verdict_words
from lotscreen.tray.marking.stage_words import own_change_words
from lotscreen.tray.marking.summary import one_tray_words
from lotscreen.tray.marking.wording import (
    count,
    in_words,
    next_words,
    number,
    per_cent,
    sentences,
    stand_out_words,
    usual_next,
)
from lotscreen.words import phrase, say, table

_MOST_TRAYS = 10
_MOST_WRONG = 60
_ANSWERS = ("A", "S", "R")


def trainee_blocks(marked: Marked, code: str, house: House) -> list[Block]:
    """All blocks of one trainee's report; nothing in it is another's."""
    person = marked.of(code)
    return [
        Heading(say("tray_marking.trainee.title", code=code), level=1),
        Paragraph(in_words(person), "lead"),
        *_next(marked, person),
        *(Paragraph(text, "alert") for text in one_tray_words(marked)),
        *_trays(marked, code),
        Heading(phrase("tray_marking.trainee.figures")),
        Items(tuple(sentences(person)[1:])),
        Paragraph(phrase("tray_marking.trainee.interval"), "note"),
        *_changes(marked, code),
        *_verdict(marked, person),
        *_levels(person),
        *_kinds(person),
        skill_map(marked, code),
        *_wrong(marked, code),
        *fairness(house, rights=True),
    ]


def _next(marked: Marked, person: PersonMarks) -> list[Block]:
    named = marked.named(person.code)
    head = Heading(phrase("tray_marking.trainee.next"))
    if not named:
        text = usual_next(person)
        return [head, Items((text[0].upper() + text[1:] + ".",))]
    texts = [f"{next_words(marked, one)}. {stand_out_words(marked, one)}" for one in named]
    return [head, Items(tuple(text[0].upper() + text[1:] for text in texts))]


def _trays(marked: Marked, code: str) -> list[Block]:
    """All trays, or where there are many those with most wrong answers."""
    grid = marked.grid
    person = grid.people.index(code)
    mine = grid.person == person
    met = [tray for n, tray in enumerate(grid.trays) if (mine & (grid.tray == n)).any()]
    shown = met
    if len(met) > _MOST_TRAYS:
        wrong = np.bincount(grid.tray[mine & grid.wrong], minlength=len(grid.trays))
        worst = sorted(met, key=lambda tray: -wrong[grid.trays.index(tray)])[:_MOST_TRAYS]
        shown = [tray for tray in met if tray in worst]
    blocks: list[Block] = [marked_trays(marked, code, shown)]
    if len(shown) < len(met):
        text = say("tray_marking.trainee.some_trays", shown=len(shown), of=len(met))
        blocks.insert(0, Paragraph(text, "intro"))
    return [Together((Heading(phrase("tray_marking.trainee.trays")), *blocks))]


def _verdict(marked: Marked, person: PersonMarks) -> list[Block]:
    if marked.rule is None:
        return []
    waits = [Paragraph(phrase("tray_marking.trainee.waits"), "alert")]
    return [
        Heading(phrase("tray_marking.trainee.rule")),
        Items(tuple(verdict_words(marked.rule, person))),
        *(waits if marked.pieces.suspect else []),
    ]


def _changes(marked: Marked, code: str) -> list[Block]:
    """The trainee's own change between stages, beside what luck alone would bring."""
    texts = own_change_words(marked, code)
    if not texts:
        return []
    return [Heading(phrase("tray_marking.trainee.changes")), Items(tuple(texts))]


def _levels(person: PersonMarks) -> list[Block]:
    given = [level for level in person.sure.levels if level.given]
    if not given:
        return []
    heads = table("tray_marking")["columns"]["levels"]
    rows = tuple(
        (str(level.level), str(level.right), str(level.given),
         per_cent(level.right / level.given),
         say("tray_marking.page.span", low=per_cent(level.low), high=per_cent(level.high)))
        for level in given
    )  # fmt: skip
    columns = (Column(heads[0]), *(Column(head, "right") for head in heads[1:]))
    return [
        Together((
            Heading(phrase("tray_marking.trainee.levels")),
            Table(columns, rows, phrase("tray_marking.alt.levels")),
        ))
    ]  # fmt: skip


def _kinds(person: PersonMarks) -> list[Block]:
    """How often each kind was answered wrongly, with what was to be expected."""
    heads = table("tray_marking")["columns"]["kinds"]
    rows = tuple(
        (kind.kind, phrase(f"tray_marking.status.{'not_honest' if kind.false else 'honest'}"),
         count(kind.wrong), str(kind.met), number(kind.expected, 1))
        for kind in person.kinds
    )  # fmt: skip
    columns = (Column(heads[0], share=1), Column(heads[1]),
               *(Column(head, "right") for head in heads[2:]))  # fmt: skip
    return [
        Together((
            Heading(phrase("tray_marking.trainee.kinds")),
            Table(columns, rows, phrase("tray_marking.alt.kinds")),
            Paragraph(phrase("tray_marking.trainee.expected"), "note"),
        ))
    ]  # fmt: skip


def _wrong(marked: Marked, code: str) -> list[Block]:
    """Coin by coin what was answered otherwise than the key, and what the numbers show. The
    piece itself is not named, so that it is not recognised when it comes again."""
    grid = marked.grid
    own = np.flatnonzero((grid.person == grid.people.index(code)) & grid.wrong)
    if not len(own):
        return []
    heads = table("tray_marking")["columns"]["wrong"]
    rows = tuple(_wrong_row(marked, int(at)) for at in own[:_MOST_WRONG])
    columns = (Column(heads[0]), Column(heads[1], "right"), Column(heads[2], "center"),
               Column(heads[3], "right"), Column(heads[4], share=1),
               *(Column(head, "right") for head in heads[5:8]), Column(heads[8]))  # fmt: skip
    blocks: list[Block] = [
        Heading(phrase("tray_marking.trainee.wrong")),
        Table(columns, rows, phrase("tray_marking.alt.wrong"), small=True),
    ]
    if len(own) > _MOST_WRONG:
        more = len(own) - _MOST_WRONG
        blocks.append(Paragraph(say("tray_marking.trainee.more_wrong", n=more), "note"))
    if set(grid.piece[own].tolist()) & set(marked.pieces.suspect):
        blocks.append(Paragraph(phrase("tray_marking.trainee.key_checked"), "note"))
    return blocks


def _wrong_row(marked: Marked, at: int) -> tuple[str, ...]:
    grid = marked.grid
    piece = grid.pieces.iloc[int(grid.piece[at])]
    sure = grid.conf[at]
    kind = str(piece["kind"])
    if int(grid.piece[at]) in marked.pieces.suspect:
        kind = say("tray_marking.trainee.doubted", kind=kind)
    return (
        grid.trays[int(grid.tray[at])],
        str(int(grid.cell[at])),
        _ANSWERS[int(grid.answer[at])],
        "–" if math.isnan(sure) else str(int(sure)),
        kind,
        fixed(float(piece["weight_g"]), 2),
        fixed(float(piece["diameter_mm"]), 2),
        fixed(float(piece["thickness_mm"]), 2),
        str(piece["told_by"]) or "–",
    )
