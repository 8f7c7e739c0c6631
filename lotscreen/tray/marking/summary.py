"""The marks as text for a screen: who practises what next comes first."""

from __future__ import annotations

import math
from collections.abc import Sequence

from lotscreen.tray.marking.crossed import Estimate
from lotscreen.tray.marking.marked import Marked
from lotscreen.tray.marking.rates import at_least
from lotscreen.tray.marking.rule_words import rule_words
from lotscreen.tray.marking.stage_words import change_words
from lotscreen.tray.marking.wording import (
    apart_words,
    count,
    fooling_words,
    in_words,
    next_words,
    number,
    per_cent,
    stand_out_words,
    suspect_words,
    usual_next,
)
from lotscreen.words import phrase, say

Sections = list[tuple[str, list[str]]]


def summary_sections(marked: Marked) -> Sections:
    """Headings with their sentences, in the order in which a supervisor needs them."""
    return [
        (phrase("tray_marking.supervisor.next_title"), first_sentences(marked)),
        (phrase("tray_marking.supervisor.head_person"), [person_line(marked, p.code)
                                                         for p in marked.people]),
    ]  # fmt: skip


def first_sentences(marked: Marked) -> list[str]:
    """Who practises what next; before it, a key to be looked at and too few trays."""
    grid = marked.grid
    found = [
        say("tray_marking.supervisor.next_lead", people=len(grid.people), trays=len(grid.trays),
            answers=len(grid.person))
    ]  # fmt: skip
    found += one_tray_words(marked)
    suspects = marked.pieces.suspect
    if suspects:
        names = ", ".join(str(grid.pieces["piece"].iloc[piece]) for piece in suspects)
        found.append(say("tray_marking.supervisor.first_key", pieces=names))
    found += next_rows(marked)
    found += [suspect_words(marked, piece) for piece in suspects]
    found += [fooling_words(marked, piece) for piece in marked.pieces.fooling]
    found.append(rank_words(marked))
    found += class_words(marked)
    if marked.rule is not None:
        found += rule_words(marked.rule)
    for number_of in range(len(marked.changes)):
        found += change_words(marked, number_of)
    return [*found, counts_words(marked)]


def rank_words(marked: Marked) -> str:
    """No order where intervals overlap; who lies apart beyond them."""
    compared = sum(math.isfinite(person.skill.low) for person in marked.people)
    key = "apart_none" if compared > 1 else "apart_few"
    apart = " ".join(apart_words(marked)) or phrase(f"tray_marking.supervisor.{key}")
    return say("tray_marking.supervisor.no_rank", apart=apart)


def next_table(marked: Marked) -> list[tuple[str, str, str]]:
    """Code, what to practise, why: first who stands out, then all the others."""
    rows = [
        (marked.grid.people[one.person], next_words(marked, one), stand_out_words(marked, one))
        for one in marked.stand_outs
    ]
    why = phrase("tray_marking.sentence.nothing")
    rows += [
        (person.code, usual_next(person), why)
        for person in marked.people
        if not marked.named(person.code)
    ]
    return rows


def next_rows(marked: Marked) -> list[str]:
    """One line for each thing a trainee stands out for; then all the others."""
    named = [
        say("tray_marking.supervisor.next_row", code=marked.grid.people[one.person],
            what=f"{next_words(marked, one)}. {stand_out_words(marked, one)}")
        for one in marked.stand_outs
    ]  # fmt: skip
    others = [person.code for person in marked.people if not marked.named(person.code)]
    if others:
        named.append(say("tray_marking.supervisor.others", codes=", ".join(others)))
    return named


def one_tray_words(marked: Marked) -> list[str]:
    """A warning where one tray is asked to say more than it can."""
    if len(marked.grid.trays) > 1:
        return []
    of = max(person.of_false for person in marked.people)
    if of == 0:
        return [phrase("tray_marking.supervisor.one_tray_of_honest")]
    least = per_cent(at_least(of, of))
    return [say("tray_marking.supervisor.one_tray", hits=of, of=of, least=least)]


def class_words(marked: Marked) -> list[str]:
    """The class, and what an answer hangs on."""
    whole = marked.whole
    luck = whole.luck
    shares = [
        _class_share(name, share)
        for name, share in (("hit", whole.hit), ("alarm", whole.alarm))
        if math.isfinite(share.value)
    ]
    spans = any(math.isfinite(share.low) for share in (whole.hit, whole.alarm))
    key = "class" if spans else "class_open"
    return [
        say(f"tray_marking.supervisor.{key}", shares=", ".join(shares)),
        say("tray_marking.supervisor.luck", people=per_cent(luck.people),
            pieces=per_cent(luck.pieces), rest=per_cent(luck.rest)),
    ]  # fmt: skip


def _class_share(name: str, share: Estimate) -> str:
    held = say(f"tray_marking.supervisor.class_{name}", share=per_cent(share.value))
    if not math.isfinite(share.low):
        return held
    span = say("tray_marking.page.span", low=per_cent(share.low), high=per_cent(share.high))
    return f"{held} ({span})"


def counts_words(marked: Marked) -> str:
    """What became of every row."""
    return say(
        "tray_marking.supervisor.counts", read=marked.rows_read, marked=len(marked.grid.person),
        not_told=len(marked.not_told), left_out=len(marked.left_out),
    )  # fmt: skip


def person_line(marked: Marked, code: str) -> str:
    """One trainee in one line, words first."""
    p = marked.of(code)
    counts = say(
        "tray_marking.supervisor.person", code=code, words=in_words(p), hits=count(p.hits),
        of_false=p.of_false, alarms=count(p.alarms), of_honest=p.of_honest,
    )  # fmt: skip
    if not math.isfinite(p.skill.value):
        return f"{counts}."
    return say(
        "tray_marking.supervisor.person_marks", counts=counts,
        skill=number(p.skill.value), skill_low=number(p.skill.low),
        skill_high=number(p.skill.high), line=number(p.line.value),
        line_low=number(p.line.low), line_high=number(p.line.high),
    )  # fmt: skip


def left_out_lines(marked: Marked, most: int | None = None) -> list[str]:
    """Each row left out with its place and reason, at most ``most`` of them."""
    rows = [f"{row.place}: {row.reason}" for row in marked.left_out]
    return _cut(rows, most)


def doubt_lines(marked: Marked, most: int | None = None) -> list[str]:
    """Each cell in doubt of a row that is used all the same."""
    return _cut(marked.doubts, most)


def _cut(rows: Sequence[str], most: int | None) -> list[str]:
    if most is None or len(rows) <= most:
        return list(rows)
    return [*rows[:most], say("tray_marking.supervisor.more_left_out", n=len(rows) - most)]
