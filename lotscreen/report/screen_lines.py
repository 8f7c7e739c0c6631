"""Lines of text for a terminal: no control signs, wrapped by width as shown, cut with a count."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence

from lotscreen.words import say

WIDTH = 80
_INDENT = "  "
_TIED = "\u00a0"  # a space that no line is broken at
_NOT_PRINTED = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def clean(text: str) -> str:
    """``text`` of a cell made safe for a terminal: a sign that would steer it becomes '?'."""
    return "".join("?" if unicodedata.category(sign) in _NOT_PRINTED else sign for sign in text)


def shown_width(text: str) -> int:
    """Columns that ``text`` takes on a terminal: wide signs two, combining signs none."""
    return sum(
        0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1
        for sign in text
    )


def wrap(text: str, lines: int | None = None) -> list[str]:
    """``text`` in lines of at most ``WIDTH`` columns, further lines indented.

    More than ``lines`` of them are cut, the last one then ending in an ellipsis.
    """
    rows: list[str] = []
    row = ""
    for word in _words(text):
        joined = f"{row} {word}" if row.strip() else row + word
        if shown_width(joined) <= WIDTH:
            row = joined
        else:
            rows.append(row)
            row = _INDENT + word
    rows = [*rows, row] if row else rows
    rows = [row.replace(_TIED, " ") for row in rows]
    if lines is None or len(rows) <= lines:
        return rows
    return [*rows[: lines - 1], _cut(rows[lines - 1])] if lines > 0 else []


def tied(text: str) -> str:
    """``text`` so that :func:`wrap` breaks no line within it."""
    return text.replace(" ", _TIED)


def _words(text: str) -> list[str]:
    """The words of ``text``; one too long for a line is cut, so that lines stay in width."""
    longest = WIDTH - len(_INDENT)
    return [w if shown_width(w) <= longest else _cut(w, longest) for w in text.split(" ") if w]


def _cut(text: str, width: int = WIDTH) -> str:
    while shown_width(text) > width - 1:
        text = text[:-1]
    return text.rstrip() + "…"


def listing(
    sentence: Callable[..., str],
    entries: Sequence[tuple[str, str]],
    lines: int,
    more: str = "summary.more",
) -> list[str]:
    """``sentence(places=...)`` in at most ``lines`` lines, ``entries`` being (place, mark).

    Marks of one place stand together, runs of numbers as such: 'roll 3: 4, 17; roll 7:
    1-20'. Entries that find no room are counted at the end by the phrase ``more``.
    """
    rank = {place: number for number, place in enumerate(dict.fromkeys(p for p, _ in entries))}
    entries = sorted(entries, key=lambda entry: rank[entry[0]])

    def printed(shown: int) -> list[str]:
        parts = _grouped(entries[:shown]) if shown else [say("summary.all_elsewhere")]
        if 0 < shown < len(entries):
            parts.append(say(more, n=f"{len(entries) - shown:,}"))
        return wrap(sentence(places="; ".join(parts)))

    best = 0
    for shown in range(1, len(entries) + 1):
        taken = len(printed(shown))
        if taken <= lines:
            best = shown
        elif taken > lines + 1:  # a later run of numbers may be shorter, but not by a line
            break
    return printed(best)[: max(lines, 0)]


def _grouped(entries: Sequence[tuple[str, str]]) -> list[str]:
    marks: dict[str, list[str]] = {}
    for place, mark in entries:
        marks.setdefault(place, []).append(mark)
    return [
        f"{tied(place)}:{_TIED}{_runs(own)}" if place else _runs(own)
        for place, own in marks.items()
    ]


def _runs(marks: Sequence[str]) -> str:
    """'1, 2, 3, 4, 9' as '1-4, 9'; marks that are no plain numbers stay as they are."""
    parts: list[list[str]] = []
    for mark in marks:
        last = parts[-1][-1] if parts else ""
        if mark.isdecimal() and last.isdecimal() and int(mark) == int(last) + 1:
            parts[-1].append(mark)
        else:
            parts.append([mark])
    texts = [f"{run[0]}-{run[-1]}" if len(run) > 2 else ", ".join(run) for run in parts]
    return ", ".join(texts)
