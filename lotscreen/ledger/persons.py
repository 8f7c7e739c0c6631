"""Who a code is: kept apart from the chain, and erased on its day without breaking it.

The entry of a person holds the code, the day until which the data may be kept, and
SHA-256(salt + data). The data and the 128-bit salt are in a table of their own. Once they
are erased nobody can find the data by trying names against the digest, and the chain holds
as before. An erasure is itself an entry.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, delete, select, text

from lotscreen.ledger.chain import Draft, Entry, canonical
from lotscreen.ledger.engine import retried
from lotscreen.ledger.kinds import checked_code, checked_moment
from lotscreen.ledger.schema import PERSONS
from lotscreen.ledger.store import Ledger
from lotscreen.records import InputError
from lotscreen.words import say

PERSON, ERASURE = "person", "erasure"


@dataclass(frozen=True, slots=True)
class Person:
    """The data behind one entry, as long as they are kept. ``data`` is canonical JSON."""

    lot: str
    number: int
    salt: str
    data: str

    def digest(self) -> str:
        """The salted digest that the entry of this person bears."""
        return hashlib.sha256((self.salt + self.data).encode()).hexdigest()


def add_person(
    ledger: Ledger, lot: str, code: str, data: Mapping[str, str], keep_until: str,
    *, at: str, by: str, salt: str,
) -> Entry:  # fmt: skip
    """Write down who ``code`` is, to be kept until a day; ``salt`` are 32 hex digits that
    nobody can guess."""
    person = Person(lot, 0, salt, canonical(dict(data)))
    body = {
        "code": checked_code(code, "code"),
        "keep_until": checked_moment(keep_until, name="keep_until"),
        "digest": person.digest(),
    }

    def also(connection: Connection, entries: Sequence[Entry]) -> None:
        row = {"lot": lot, "number": entries[-1].number, "salt": salt, "data": person.data}
        connection.execute(PERSONS.insert(), row)

    return ledger.append(lot, [Draft(PERSON, at, by, body)], also=also)[-1]


def persons(connection: Connection) -> Iterator[Person]:
    """The data that are still kept, by lot and number."""
    rows = connection.execute(select(*PERSONS.columns)).all()
    for lot, number, salt, data in sorted(rows, key=lambda row: (str(row[0]), str(row[1]))):
        yield Person(lot, number, str(salt), str(data))


def erase_persons(
    ledger: Ledger, chosen: Callable[[Mapping[str, str]], bool], *, at: str, by: str, why: str
) -> int:
    """Erase the data of every person whose entry's body is ``chosen``; how many there were.

    The data go first, then the erasure is written down. InputError where none is chosen.
    """
    gone = 0
    with ledger.reading() as connection:
        kept = {(person.lot, person.number) for person in persons(connection)}
    for lot in sorted({lot for lot, _ in kept}):
        found = [
            entry
            for entry in ledger.entries(lot)
            if entry.kind == PERSON and (lot, entry.number) in kept and chosen(entry.said())
        ]
        if found:
            _erase(ledger, lot, found, Draft(ERASURE, at, by, _erasure(found, why)))
        gone += len(found)
    if not gone:
        raise InputError(say("ledger.nobody_to_erase"))
    _forget(ledger)
    return gone


def _erasure(found: Sequence[Entry], why: str) -> dict[str, object]:
    return {"entries": [entry.number for entry in found], "why": why}


def _erase(ledger: Ledger, lot: str, found: Sequence[Entry], told: Draft) -> None:
    numbers = [entry.number for entry in found]

    def also(connection: Connection, _entries: Sequence[Entry]) -> None:
        connection.execute(
            delete(PERSONS).where(PERSONS.c.lot == lot, PERSONS.c.number.in_(numbers))
        )

    ledger.append(lot, [told], also=also)


_FORGET = {"sqlite": "PRAGMA wal_checkpoint(TRUNCATE)", "postgresql": "VACUUM FULL persons"}
"""By dialect: leaves no copy of erased rows in the tables' files. What PostgreSQL keeps in
its log and what was copied elsewhere goes with that log and those copies."""


def _forget(ledger: Ledger) -> None:
    def once() -> None:
        with ledger.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as c:
            c.execute(text(_FORGET[ledger.engine.dialect.name]))

    retried(once, ledger.where)
