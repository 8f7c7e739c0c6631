"""Marks in words first, then in figures with their intervals."""

from __future__ import annotations

import math

from lotscreen.tray.marking.crossed import Estimate
from lotscreen.tray.marking.marked import Marked
from lotscreen.tray.marking.people import PersonMarks
from lotscreen.tray.marking.stand_outs import BLIND, HASTY, SUSPICIOUS, StandOut
from lotscreen.words import phrase, say

_SKILLS = ((3.0, "excellent"), (2.0, "well"), (1.0, "fairly"), (-math.inf, "hardly"))
_LINES = (
    (-0.6, "very_suspicious"), (-0.3, "suspicious"), (0.3, "even"), (0.6, "trusting"),
    (math.inf, "very_trusting"),
)  # fmt: skip
"""Where the words change: assumed."""

_MINUS = "−"


def number(value: float, decimals: int = 2) -> str:
    """A figure with a true minus sign, a dash where there is none."""
    if not math.isfinite(value):
        return "–"
    text = f"{value:.{decimals}f}"
    return (text.lstrip("-") if float(text) == 0 else text).replace("-", _MINUS)


def per_cent(share: float) -> str:
    """A share in whole per cent."""
    return "–" if not math.isfinite(share) else number(100 * share, 0) + " %"


def count(value: float) -> str:
    """A count; a broken one (a piece met twice) with one decimal."""
    return number(value, 0 if float(value).is_integer() else 1)


def skill_words(skill: Estimate) -> str:
    """How well somebody tells pieces apart."""
    if skill.low <= 0:
        return phrase("tray_marking.skill.not_shown")
    name = next(name for least, name in _SKILLS if skill.value >= least)
    return phrase(f"tray_marking.skill.{name}")


def line_words(line: Estimate) -> str:
    """On which side of the middle somebody's line lies, and whether that may be chance."""
    name = next(name for most, name in _LINES if line.value <= most)
    words = phrase(f"tray_marking.line.{name}")
    if name != "even" and line.low <= 0 <= line.high:
        return say("tray_marking.line.chance", words=words)
    return words


def in_words(person: PersonMarks) -> str:
    """The first sentence of a trainee's marks."""
    if not math.isfinite(person.skill.value):
        return phrase("tray_marking.sentence.one_status")
    said = say(
        "tray_marking.sentence.person",
        skill=skill_words(person.skill),
        line=line_words(person.line),
    )
    return said[0].upper() + said[1:]


def sentences(person: PersonMarks) -> list[str]:
    """The marks of a trainee in sentences, words first."""
    found = [in_words(person), *_counts(person)]
    for name in ("skill", "line", "area"):
        estimate: Estimate = getattr(person, name)
        if math.isfinite(estimate.value):
            found.append(say(f"tray_marking.sentence.{name}", **_span(estimate)))
    return [*found, *_sureness(person), *_pace(person)]


def _counts(person: PersonMarks) -> list[str]:
    found = []
    if person.of_false and person.hits == person.of_false:
        least = per_cent(person.hits_at_least)
        found.append(say("tray_marking.sentence.hits_all", of=person.of_false, least=least))
    elif person.of_false:
        found.append(
            say("tray_marking.sentence.hits", hits=count(person.hits), of=person.of_false,
                share=per_cent(person.hit.value), low=per_cent(person.hit.low),
                high=per_cent(person.hit.high))
        )  # fmt: skip
    if person.of_honest:
        found.append(
            say("tray_marking.sentence.alarms", alarms=count(person.alarms), of=person.of_honest,
                share=per_cent(person.alarm.value), low=per_cent(person.alarm.low),
                high=per_cent(person.alarm.high))
        )  # fmt: skip
    return found


def _span(estimate: Estimate, decimals: int = 2) -> dict[str, str]:
    return {
        "value": number(estimate.value, decimals),
        "low": number(estimate.low, decimals),
        "high": number(estimate.high, decimals),
    }


def _sureness(person: PersonMarks) -> list[str]:
    found = []
    if math.isfinite(person.sure.sorts.value):
        found.append(say("tray_marking.sentence.sorts", **_span(person.sure.sorts)))
    over = person.sure.over
    if math.isfinite(over.low):
        points = [number(100 * v, 0) for v in (over.low, over.high)]
        if over.low <= 0 <= over.high:
            found.append(say("tray_marking.sentence.calibrated", low=points[0], high=points[1]))
        elif over.low > 0:
            gap = number(100 * over.value, 0)
            found.append(say("tray_marking.sentence.over", gap=gap, low=points[0], high=points[1]))
        else:
            gap, low, high = (number(-100 * v, 0) for v in (over.value, over.high, over.low))
            found.append(say("tray_marking.sentence.under", gap=gap, low=low, high=high))
    return found


def _pace(person: PersonMarks) -> list[str]:
    pace = person.pace
    if not math.isfinite(pace.median.low):
        return []
    found = [
        say("tray_marking.sentence.pace", seconds=number(pace.median.value, 0),
            low=number(pace.median.low, 0), high=number(pace.median.high, 0))
    ]  # fmt: skip
    slope = pace.slope
    if math.isfinite(slope.low):
        if slope.low > 0:
            key, spans = "slower", (slope.value, slope.low, slope.high)
        elif slope.high < 0:
            key, spans = "faster", (-slope.value, -slope.high, -slope.low)
        else:
            key, spans = "steady", (slope.value, slope.low, slope.high)
        change, low, high = (per_cent(v) for v in spans)
        found.append(say(f"tray_marking.sentence.{key}", change=change, low=low, high=high))
    found.append(
        say("tray_marking.sentence.end", wrong_end=pace.wrong_end, at_end=pace.at_end,
            wrong_before=pace.wrong_before, before=pace.before)
    )  # fmt: skip
    return found


def stand_out_words(marked: Marked, one: StandOut) -> str:
    """What somebody stands out for."""
    person = marked.people[one.person]
    if one.what == BLIND:
        mark = next(k for k in person.kinds if k.kind == one.kind and k.false)
        return say(
            "tray_marking.sentence.blind", wrong=count(mark.wrong), met=mark.met, kind=one.kind,
            expected=number(mark.expected, 1),
        )  # fmt: skip
    if one.what == SUSPICIOUS:
        alarms, of = count(person.alarms), person.of_honest
        others = sum(one.of_honest for one in marked.people) > of
        key = "suspicious" if others else "suspicious_alone"
        return say(f"tray_marking.sentence.{key}", alarms=alarms, of=of)
    return say("tray_marking.sentence.hasty", share=per_cent(person.pace.end.value))


def next_words(marked: Marked, one: StandOut) -> str:
    """What to practise for that."""
    if one.what == BLIND:
        told_by = _told_by(marked, one.kind)
        if told_by:
            return say("tray_marking.next.blind_told", kind=one.kind, told_by=told_by)
        return say("tray_marking.next.blind", kind=one.kind)
    key = {SUSPICIOUS: "suspicious", HASTY: "hasty"}[one.what]
    return phrase(f"tray_marking.next.{key}")


def _told_by(marked: Marked, kind: str) -> str:
    """What tells most pieces of a kind, as the key says."""
    pieces = marked.grid.pieces
    told = pieces.loc[pieces["kind"] == kind, "told_by"].astype(str)
    told = told[told != ""]
    return str(told.value_counts().index[0]) if len(told) else ""


def usual_next(person: PersonMarks) -> str:
    """For a trainee who does not stand out: the kind most often missed, said as chance."""
    missed = [kind for kind in person.kinds if kind.false and kind.wrong > 0]
    if not missed:
        return phrase("tray_marking.next.none")
    most = max(missed, key=lambda kind: (kind.wrong / kind.met, kind.met))
    return say("tray_marking.next.usual", kind=most.kind, wrong=count(most.wrong), met=most.met)


def apart_words(marked: Marked) -> list[str]:
    """Who lies below whom beyond both intervals of d'; nobody is ranked within them."""
    found = []
    for one in marked.people:
        above = [p.code for p in marked.people if p.skill.low > one.skill.high]
        if above:
            key = "apart_one" if len(above) == 1 else "apart_many"
            found.append(
                say(f"tray_marking.supervisor.{key}", one=one.code, others=", ".join(above))
            )
    return found


def suspect_words(marked: Marked, piece: int) -> str:
    """Why the key of a piece is to be looked at."""
    row = marked.grid.pieces.iloc[piece]
    finding = str(row["finding"]).casefold()
    flagged = finding not in ("", "consistent", "not judged")
    bench = "silent" if finding in ("", "not judged") else (
        "agrees" if flagged == bool(row["false"]) else "differs"
    )  # fmt: skip
    tray, cell = place_of(marked, piece)
    return say(
        "tray_marking.supervisor.suspect", piece=row["piece"], tray=tray, cell=cell,
        status=phrase(f"tray_marking.status.{'not_honest' if row['false'] else 'honest'}"),
        kind=row["kind"], fooled=count(marked.pieces.fooled[piece]),
        met=count(marked.pieces.met[piece]),
        bench=phrase(f"tray_marking.supervisor.bench_{bench}"),
    )  # fmt: skip


def fooling_words(marked: Marked, piece: int) -> str:
    """Whom a piece fooled."""
    row = marked.grid.pieces.iloc[piece]
    tray, cell = place_of(marked, piece)
    fooled, met = marked.pieces.fooled[piece], marked.pieces.met[piece]
    key = "fooling_all" if fooled == met else "fooling"
    return say(
        f"tray_marking.supervisor.{key}", piece=row["piece"], tray=tray, cell=cell,
        kind=row["kind"], fooled=count(fooled), met=count(met),
        expected=number(marked.pieces.expected[piece], 1),
    )  # fmt: skip


def place_of(marked: Marked, piece: int) -> tuple[str, int]:
    """Tray and cell where a piece was first met."""
    grid = marked.grid
    first = int((grid.piece == piece).argmax())
    return grid.trays[int(grid.tray[first])], int(grid.cell[first])
