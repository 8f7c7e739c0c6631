"""A ledger as lines of JSON: to keep a copy elsewhere, to move it, to read it without us.

One object a line, keys sorted: a first line that names the format, then every entry, lot
after lot in the order of their names, each with its body as an object. Persons' data are
left out unless asked for. The same ledger gives the same bytes from either store.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from sqlalchemy import Connection

from lotscreen.ledger.chain import START, Entry, breaks_in, canonical
from lotscreen.ledger.engine import retried, writing
from lotscreen.ledger.persons import Person, persons
from lotscreen.ledger.schema import LOTS, PERSONS, SCHEMA
from lotscreen.ledger.store import Ledger, entries_of, insert
from lotscreen.records import InputError
from lotscreen.words import say

_FIRST = {"format": "lotscreen ledger", "schema": SCHEMA}


@dataclass(frozen=True, slots=True)
class Copy:
    """What a file of lines holds: the chains by lot, and persons' data where they are in."""

    chains: dict[str, tuple[Entry, ...]]
    persons: tuple[Person, ...]


def ledger_lines(ledger: Ledger, *, with_persons: bool = False) -> Iterator[str]:
    """The lines of the whole ledger, each with its line end."""
    names = ledger.lots()
    with ledger.reading() as connection:
        yield _line(_FIRST)
        for lot in names:
            yield from map(entry_line, entries_of(connection, lot))
        if with_persons:
            for person in persons(connection):
                yield _line({"person": asdict(person)})


def chain_lines(entries: Iterable[Entry]) -> str:
    """A piece of a ledger as one text."""
    return _line(_FIRST) + "".join(map(entry_line, entries))


def entry_line(entry: Entry) -> str:
    """One entry as a line."""
    parts = asdict(entry)
    body = parts.pop("body")
    rest = canonical(parts)
    return f'{{"entry":{{"body":{body},{rest[1:]}}}\n'


def copy_of(text: str, name: str) -> Copy:
    """What the lines of file ``name`` hold; InputError names the line that is wrong."""
    chains: dict[str, list[Entry]] = {}
    kept: list[Person] = []
    for number, line in enumerate(text.splitlines(), start=1):
        try:
            said = json.loads(line)
            if number == 1 and said != _FIRST:
                raise ValueError
            if "entry" in said:
                entry = _entry(said["entry"])
                chains.setdefault(entry.lot, []).append(entry)
            elif "person" in said:
                kept.append(Person(**said["person"]))
        except (ValueError, TypeError, KeyError) as error:
            raise InputError(say("ledger.bad_line", file=name, line=number)) from error
    for lot, entries in chains.items():
        for broken in breaks_in(lot, entries):
            raise InputError(say("ledger.copy_broken", file=name, lot=lot, number=broken.number))
    return Copy({lot: tuple(entries) for lot, entries in chains.items()}, tuple(kept))


def _entry(said: dict[str, Any]) -> Entry:
    return Entry(**{**said, "body": canonical(said["body"])})


def restore(ledger: Ledger, copy: Copy) -> int:
    """Write into ``ledger`` what it lacks of ``copy``; how many entries that were.

    A chain of the ledger must be the beginning of the copy's, or the other way round;
    InputError where they part, and nothing is written then.
    """

    def write() -> int:
        with writing(ledger.engine) as connection:
            lacking = [
                (lot, _lacking(tuple(entries_of(connection, lot)), chain))
                for lot, chain in copy.chains.items()
            ]
            for lot, entries in lacking:
                _add(connection, lot, entries)
            added = {(entry.lot, entry.number) for _, part in lacking for entry in part}
            rows = [asdict(p) for p in copy.persons if (p.lot, p.number) in added]
            if rows:
                connection.execute(PERSONS.insert(), rows)
            return len(added)

    return retried(write, ledger.where)


def _lacking(there: Sequence[Entry], copied: Sequence[Entry]) -> Sequence[Entry]:
    for one, other in zip(there, copied, strict=False):
        if one != other:
            raise InputError(say("ledger.copies_part", lot=one.lot, number=one.number))
    return copied[len(there) :]


def _add(connection: Connection, lot: str, entries: Sequence[Entry]) -> None:
    if entries and entries[0].previous == START:
        connection.execute(LOTS.insert(), {"name": lot})
    insert(connection, entries)


def _line(value: object) -> str:
    return canonical(value) + "\n"
