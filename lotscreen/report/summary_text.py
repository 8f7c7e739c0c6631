"""The result of a run as one screen of text: at most 80 columns and 22 lines.

Two lines of a 24-line terminal are left to the command and the prompt. Every section
says how many coins it holds; what does not fit is counted and the file that has it named.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from lotscreen.records import FindingKind, ItemKind
from lotscreen.report.screen_lines import clean, tied, wrap
from lotscreen.report.summary_sections import Section, pulled_in, sections_of
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.screening import Screening

HEIGHT = 22
_EASY = 2  # lines a section; where all have them, blank lines come before further ones
_FOUND_ORDER = (
    FindingKind.CONSISTENT,
    FindingKind.RE_MEASURE,
    FindingKind.SET_ASIDE,
    FindingKind.NOT_CONSISTENT,
    FindingKind.NOT_JUDGED,
)


def summary_text(screening: Screening, version: str, written: Sequence[str]) -> str:
    """The screen for ``screening`` (already cut where one lot was asked for).

    ``written`` are the lines that say where the files are; they are printed whole.
    """
    head = [
        *wrap(_title(screening, version), 1),
        *wrap(_read(screening), 2),
        *wrap(_doubts(screening), 1),
        *wrap(_found(screening), 2),
        *wrap(_probably_honest(screening), 1),
    ]
    foot = [*written, *wrap(say("summary.caution"), 1)]
    sections = sections_of(screening)
    room = HEIGHT - len(head) - len(foot)
    airy = sum(len(section.lines(_EASY)) for section in sections) <= room - 2
    middle = _fitted(sections, room - 2 if airy else room)
    gap = [""] if airy else []
    return "\n".join([*head, *gap, *middle, *(gap if middle else []), *foot]) + "\n"


def counted(n: int, what: str) -> str:
    """``n`` of something in words: '1 row', '2,010 rows'."""
    return (
        say(f"summary.count.{what}.one")
        if n == 1
        else say(f"summary.count.{what}.many", n=f"{n:,}")
    )


def _title(screening: Screening, version: str) -> str:
    sources = ", ".join(clean(source.name) for source in screening.intake.sources)
    if len(screening.lots) == 1 and (lot := next(iter(screening.lots))):
        return say("summary.title_lot", version=version, sources=sources, lot=clean(lot))
    return say("summary.title", version=version, sources=sources)


def _read(screening: Screening) -> str:
    intake, left_out = screening.intake, len(screening.intake.left_out)
    of_kind = screening.rows_by_kind()
    parts = [
        counted(of_kind[what], what)
        for what in ("coin", "group", "check", "reference")
        if of_kind[what] or what == "coin"
    ]
    return say(
        "summary.read" if left_out else "summary.read_all",
        rows=counted(intake.rows_read, "row"),
        used=f"{len(intake.items):,}",
        left_out=f"{left_out:,}",
        parts=", ".join(parts),
    )


def _doubts(screening: Screening) -> str:
    doubts = len(screening.intake.doubts)
    return say("summary.doubts", cells=counted(doubts, "cell")) if doubts else ""


def _found(screening: Screening) -> str:
    of_coins = screening.findings.finding[screening.table.kind == ItemKind.COIN]
    numbers = {kind: int((of_coins == kind).sum()) for kind in _FOUND_ORDER}
    counts = [
        tied(say(f"summary.found_count.{kind}", n=f"{n:,}"))
        for kind, n in numbers.items()
        if n or kind is FindingKind.CONSISTENT
    ]
    limit = f"{1 / screening.settings.limit:,.0f}"
    return say("summary.found", counts=", ".join(counts), limit=limit)


def _probably_honest(screening: Screening) -> str:
    lots = screening.lots.values()
    pulled = sum(pulled_in(lot) for lot in lots)
    if not pulled:
        return ""
    honest = round(sum(lot.expected_honest_set_aside for lot in lots))
    words = counted(honest, "honest") if honest else say("summary.no_honest")
    return say("summary.probably_honest", coins=counted(pulled, "coin"), honest=words)


def _fitted(sections: Sequence[Section], height: int) -> list[str]:
    """Each section's least first, then spare lines one by one in the order of sections."""
    shares = [section.least for section in sections]
    spare = height - sum(shares)
    for turn in range(max((section.most for section in sections), default=0)):
        for place, section in enumerate(sections):
            if spare > 0 and section.least + turn < section.most:
                needed = len(section.lines(section.most))
                if shares[place] < needed:
                    shares[place] += 1
                    spare -= 1
    return [line for section, n in zip(sections, shares, strict=True) for line in section.lines(n)]
