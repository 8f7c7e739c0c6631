"""Page 2 of a version that replaces another: what was, what is, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from lotscreen.ledger.history import History
from lotscreen.report.blocks import Block, Column, Heading, Items, NewPage, Paragraph, Table
from lotscreen.report.cuts.paper import Paper
from lotscreen.report.cuts.shared import in_column, more
from lotscreen.report.numerals import MISSING, as_read, counted, whole
from lotscreen.report.printable import sentence, shortened
from lotscreen.report.view import ORDER_OF_FINDINGS
from lotscreen.words import phrase, say, table

MOST_ROWS = 16
MOST_WORDS = 8
_READ = (("weight_g", "g"), ("diameter_mm", "mm"), ("thickness_mm", "mm"))
_DECIMALS = 2


def changes(paper: Paper) -> list[Block]:
    """Corrections, findings that changed, and what else is new; nothing for a first version."""
    before = paper.before
    if before is None:
        return []
    old, new = before.findings(), paper.history.findings()
    changed = [item for item in {**old, **new} if _differs(old.get(item), new.get(item))]
    moved = {item for item in old.keys() & new.keys() if old[item] != new[item]}
    heading = say("cuts.changes.heading", version=paper.replaces)
    return [
        NewPage(),
        Heading(heading, level=1),
        Paragraph(_lead(paper, old, new, changed), "lead"),
        *_corrections(paper, before),
        *_coins(changed, old, new),
        *_rest(paper, before, len(moved - set(changed))),
        NewPage(),
    ]


def _differs(old: Mapping[str, Any] | None, new: Mapping[str, Any] | None) -> bool:
    """Whether a coin is new, gone, read otherwise, or found otherwise."""
    if old is None or new is None:
        return True
    return any(old[name] != new[name] for name in ("finding", "type", *(name for name, _ in _READ)))


def _lead(
    paper: Paper, old: Mapping[str, Mapping[str, Any]], new: Mapping[str, Mapping[str, Any]],
    changed: Sequence[str],
) -> str:  # fmt: skip
    otherwise = sum(
        item in old and item in new and old[item]["finding"] != new[item]["finding"]
        for item in changed
    )
    counts = [
        say("cuts.changes.count", kind=kind, old=whole(_count(old, kind)),
            new=whole(_count(new, kind)))
        for kind in reversed(ORDER_OF_FINDINGS)
        if _count(old, kind) != _count(new, kind)
    ]  # fmt: skip
    told = "; ".join(counts) or phrase("cuts.changes.same_counts")
    return say("cuts.changes.lead", version=paper.version, replaces=paper.replaces,
               coins=counted(otherwise, "coin"), counts=sentence(told))  # fmt: skip


def _count(findings: Mapping[str, Mapping[str, Any]], kind: str) -> int:
    return sum(said["finding"] == kind for said in findings.values())


def _corrections(paper: Paper, before: History) -> list[Block]:
    known = len(before.entries)
    rows = [
        (
            str(entry.number), in_column(entry.at), entry.by, _of_what(said),
            shortened(str(said.get("old", MISSING)), 24), shortened(str(said["new"]), 24),
            shortened(str(said["why"]), 90),
        )
        for entry, said in paper.said("correction")
        if entry.number > known
    ]  # fmt: skip
    if not rows:
        return []
    heads = table("cuts")["columns"]["corrections"]
    columns = tuple(Column(head, share=2.0 * (place == 6)) for place, head in enumerate(heads))
    blocks: list[Block] = [
        Heading(phrase("cuts.changes.corrections")),
        Table(columns, tuple(rows[:MOST_WORDS]), phrase("cuts.summary.corrections"), small=True),
    ]
    return blocks + more(len(rows) - MOST_WORDS)


def _of_what(said: Mapping[str, Any]) -> str:
    if "coin" in said and "quantity" in said:
        return say("cuts.changes.reading", coin=said["coin"], quantity=said["quantity"])
    return say("cuts.changes.entry", entry=said["entry"], field=said["field"].replace("_", " "))


def _coins(
    changed: Sequence[str], old: Mapping[str, Mapping[str, Any]],
    new: Mapping[str, Mapping[str, Any]],
) -> list[Block]:  # fmt: skip
    if not changed:
        return []
    first = sorted(changed, key=lambda item: not _found_otherwise(old.get(item), new.get(item)))
    rows = tuple(
        (
            shortened(str((new.get(item) or old[item])["coin"]), 20),
            _told(old.get(item)), _told(new.get(item)),
            shortened(str(new[item]["reason"]), 110) if item in new else MISSING,
        )
        for item in first[:MOST_ROWS]
    )  # fmt: skip
    heads = table("cuts")["columns"]["changed"]
    columns = tuple(Column(head, share=float(place > 0)) for place, head in enumerate(heads))
    return [
        Heading(phrase("cuts.changes.coins")),
        Table(columns, rows, phrase("cuts.summary.changed"), small=True),
        *more(len(changed) - MOST_ROWS),
    ]


def _found_otherwise(old: Mapping[str, Any] | None, new: Mapping[str, Any] | None) -> bool:
    return old is None or new is None or old["finding"] != new["finding"]


def _told(said: Mapping[str, Any] | None) -> str:
    """Readings and finding of a coin in one version."""
    if said is None:
        return MISSING
    read = ", ".join(
        f"{as_read(said[name], _DECIMALS)} {unit}" for name, unit in _READ if said[name] is not None
    )
    return f"{said['finding']}\n{read}"


def _rest(paper: Paper, before: History, moved: int) -> list[Block]:
    """Decisions and records since, other inputs, and what moved without a new finding."""
    told = []
    since: dict[str, int] = {}
    for entry in paper.history.since(len(before.entries)):
        since[entry.kind] = since.get(entry.kind, 0) + 1
    if since:
        kinds = ", ".join(f"{n} {phrase(f'cuts.kind.{kind}')}" for kind, n in since.items())
        told.append(say("cuts.changes.records", kinds=kinds))
    was, now = before.run(), paper.history.run()
    for name in ("sources", "settings_digest", "standards_digest", "program", "packages", "given"):
        same = was.get(name) == now.get(name)
        told.append(phrase(f"cuts.changes.{'same' if same else 'other'}.{name}"))
    if moved > 0:
        told.append(say("cuts.changes.moved", coins=counted(moved, "coin")))
    return [Heading(phrase("cuts.changes.else")), Items(tuple(told), small=True)]
