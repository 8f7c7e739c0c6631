"""Does the ledger still say what it said? Every chain, every person's data, the guards."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError

from lotscreen.ledger.chain import Break, Entry, breaks_in, digest_of
from lotscreen.ledger.engine import retried
from lotscreen.ledger.persons import ERASURE, PERSON, persons
from lotscreen.ledger.schema import GUARDS_OF
from lotscreen.ledger.store import Ledger, entries_of
from lotscreen.records import InputError
from lotscreen.words import say

SHORTEST_HEAD = 12


@dataclass(frozen=True, slots=True)
class HeadFound:
    """Where a digest from a paper stands: entry ``number`` of ``lot``, with so many behind."""

    lot: str
    number: int
    behind: int


@dataclass(frozen=True, slots=True)
class Checked:
    """The outcome: ``heads`` and ``entries`` by lot, ``breaks``, and where the digest asked
    for was found (None: nowhere, or not asked)."""

    heads: dict[str, str]
    entries: dict[str, int]
    breaks: tuple[Break, ...]
    asked: str
    found: HeadFound | None

    @property
    def holds(self) -> bool:
        """Whether nothing was found altered, and the digest asked for is there."""
        return not self.breaks and (not self.asked or self.found is not None)


def check_ledger(ledger: Ledger, head: str = "") -> Checked:
    """Go through all of the ledger; with ``head`` (12 to 64 hex digits) find it as well.

    InputError where ``head`` is no such digest.
    """
    asked = checked_head(head) if head else ""
    names: Sequence[str] = ()
    try:
        names = ledger.lots()
        return retried(lambda: _checked(ledger, names, asked), ledger.where, "ledger.not_read")
    except (DBAPIError, UnicodeDecodeError):
        broken = Break(names[0] if names else "", 0, "unreadable")
        return Checked({}, {}, (broken,), asked, None)


def checked_head(head: str) -> str:
    """A digest as printed, spaces and capitals forgiven; InputError where it is none."""
    plain = "".join(head.split()).lower()
    if not SHORTEST_HEAD <= len(plain) <= 64 or set(plain) - set("0123456789abcdef"):
        raise InputError(say("ledger.bad_head", head=repr(head), least=SHORTEST_HEAD))
    return plain


def _checked(ledger: Ledger, names: Sequence[str], asked: str) -> Checked:
    heads: dict[str, str] = {}
    counts: dict[str, int] = {}
    breaks: list[Break] = []
    found = None
    with ledger.reading() as connection:
        breaks.extend(_structure(connection))
        kept = {(p.lot, p.number): p.digest() for p in persons(connection)}
        for lot in names:
            entries = tuple(entries_of(connection, lot))
            breaks.extend(breaks_in(lot, entries) if entries else [Break(lot, 1, "missing")])
            breaks.extend(_persons(lot, entries, kept))
            heads[lot] = entries[-1].digest if entries else ""
            counts[lot] = len(entries)
            if asked and found is None:
                found = _found(lot, entries, asked)
    return Checked(heads, counts, tuple(breaks), asked, found)


def _found(lot: str, entries: Sequence[Entry], asked: str) -> HeadFound | None:
    for entry in reversed(entries):
        if entry.digest.startswith(asked):
            return HeadFound(lot, entry.number, len(entries) - entry.number)
    return None


def _persons(
    lot: str, entries: Sequence[Entry], kept: dict[tuple[str, int], str]
) -> Iterator[Break]:
    """Data that do not fit their digest, or that are gone though nobody wrote it down."""
    whole = [entry for entry in entries if digest_of(entry) == entry.digest]
    erased = {n for entry in whole if entry.kind == ERASURE for n in entry.said()["entries"]}
    for entry in whole:
        if entry.kind != PERSON:
            continue
        digest = kept.get((lot, entry.number))
        if digest is None and entry.number not in erased:
            yield Break(lot, entry.number, "person_gone")
        elif digest is not None and digest != entry.said()["digest"]:
            yield Break(lot, entry.number, "person")


def _structure(connection: Connection) -> Iterator[Break]:
    """SQLite's own check of its file, and whether the guards of the tables are there."""
    name = connection.dialect.name
    if name == "sqlite":
        told = connection.execute(text("PRAGMA integrity_check(1)")).scalar()
        loose = connection.execute(text("PRAGMA foreign_key_check")).first()
        if told != "ok" or loose is not None:
            yield Break("", 0, "file")
    guards, question = GUARDS_OF[name]
    there = {str(row[0]): str(row[1]) for row in connection.execute(text(question))}
    for guard, sql in guards.items():
        if guard not in there or (name == "sqlite" and there[guard] != sql):
            yield Break("", 0, "guard")
