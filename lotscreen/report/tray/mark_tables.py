"""The tables of a marked set: trainees, pieces, rows left out."""

from __future__ import annotations

import pandas as pd

from lotscreen.tray.marking.crossed import Estimate
from lotscreen.tray.marking.marked import Marked
from lotscreen.tray.marking.people import PersonMarks
from lotscreen.tray.marking.wording import in_words, place_of

_ESTIMATES = {
    "hit": "hit_share", "alarm": "false_alarm_share", "skill": "d_prime", "line": "criterion",
    "area": "roc_area",
}  # fmt: skip
_DECIMALS = 4
MARK_DECIMALS = {
    f"{name}{end}": _DECIMALS
    for name in (*_ESTIMATES.values(), "confidence_sorts", "confidence_over", "slope", "end")
    for end in ("", "_low", "_high")
} | {"hits": 1, "false_alarms": 1, "seconds_median": 1}
PIECE_DECIMALS = {
    "fooled": 1, "met": 0, "share_low": 4, "share_high": 4, "expected": 2, "p_adjusted": 6,
    "key_doubt": 4,
}  # fmt: skip


def marks_frame(marked: Marked) -> pd.DataFrame:
    """One row a trainee, in the order of codes: every mark with its interval."""
    return pd.DataFrame([_person(marked, person) for person in marked.people])


def _person(marked: Marked, person: PersonMarks) -> dict[str, object]:
    row: dict[str, object] = {
        "trainee": person.code,
        "in_words": in_words(person),
        "stands_out": "; ".join(
            f"{one.what}: {one.kind}" if one.kind else one.what for one in marked.named(person.code)
        ),
        "hits": person.hits,
        "of_not_honest": person.of_false,
        "false_alarms": person.alarms,
        "of_honest": person.of_honest,
    }
    for field, name in _ESTIMATES.items():
        row.update(_span(name, getattr(person, field)))
    row.update(_span("confidence_sorts", person.sure.sorts))
    row.update(_span("confidence_over", person.sure.over))
    row["seconds_median"] = person.pace.median.value
    row.update(_span("slope", person.pace.slope))
    row.update(_span("end", person.pace.end))
    return row


def _span(name: str, estimate: Estimate) -> dict[str, object]:
    return {name: estimate.value, f"{name}_low": estimate.low, f"{name}_high": estimate.high}


def pieces_frame(marked: Marked) -> pd.DataFrame:
    """One row a piece in the order in which they were met."""
    marks = marked.pieces
    places = [place_of(marked, piece) for piece in range(len(marked.grid.pieces))]
    frame = marked.grid.pieces[["piece", "kind", "false", "difficulty", "finding"]].copy()
    frame.insert(1, "tray", [tray for tray, _ in places])
    frame.insert(2, "cell", [cell for _, cell in places])
    frame["fooled"], frame["met"] = marks.fooled, marks.met
    frame["share_low"], frame["share_high"] = marks.low, marks.high
    frame["expected"], frame["p_adjusted"] = marks.expected, marks.p_adjusted
    frame["key_doubt"] = marks.key_doubt
    return frame.rename(columns={"false": "not_honest"})


def left_out_frame(marked: Marked) -> pd.DataFrame:
    """Every row that is not marked: left out, or of a piece that no reading can tell."""
    rows = [(row.place, row.reason, row.raw) for row in marked.left_out]
    return pd.DataFrame(rows, columns=["place", "reason", "raw"])
