"""The ledger as the rest of the program sees it: append, read, and who is in it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Engine, select

from lotscreen.ledger.chain import START, Draft, Entry, linked
from lotscreen.ledger.engine import open_engine, retried, shown, writing
from lotscreen.ledger.kinds import checked_lot
from lotscreen.ledger.schema import ENTRIES, LOTS
from lotscreen.records import InputError
from lotscreen.words import say

Also = Callable[[Connection, Sequence[Entry]], None]
_COLUMNS = tuple(column.name for column in ENTRIES.columns)
_AT_ONCE = 5_000


@dataclass(frozen=True, slots=True)
class Ledger:
    """An open ledger; ``where`` is how it may be printed."""

    engine: Engine
    where: str

    def append(
        self,
        lot: str,
        drafts: Sequence[Draft],
        *,
        also: Also | None = None,
        only_after: str | None = None,
    ) -> tuple[Entry, ...]:
        """Write ``drafts`` at the end of the chain of ``lot``, all of them or none.

        When this returns they are on the disk. ``also`` writes to other tables in the same
        transaction. With ``only_after`` nothing is written, and the result is empty, unless
        the chain still ends in that digest. OutputError where it cannot be written.
        """  # fmt: skip
        name = checked_lot(lot)
        return retried(lambda: self._append(name, drafts, also, only_after), self.where)

    def _append(
        self, lot: str, drafts: Sequence[Draft], also: Also | None, only_after: str | None
    ) -> tuple[Entry, ...]:
        with writing(self.engine) as connection:
            _lock(connection, lot)
            number, head = _end(connection, lot)
            if only_after is not None and head != only_after:
                return ()
            entries = tuple(linked(lot, number, head, drafts))
            insert(connection, entries)
            if also is not None:
                also(connection, entries)
        return entries

    def lots(self) -> tuple[str, ...]:
        """The names of all lots, sorted by code point."""
        with self.reading() as connection:
            return tuple(sorted(connection.execute(select(LOTS.c.name)).scalars()))

    def entries(self, lot: str) -> tuple[Entry, ...]:
        """The chain of ``lot``, first entry first; empty where there is no such lot."""
        with self.reading() as connection:
            return tuple(entries_of(connection, lot))

    def end(self, lot: str) -> tuple[int, str]:
        """Number and digest of the last entry of ``lot``; 0 and 64 zeros where it has none."""
        with self.reading() as connection:
            return _end(connection, lot)

    def not_opened(self, lot: str) -> InputError:
        """What to say where ``lot`` is not in the ledger; it names the lots that are."""
        lots = ", ".join(self.lots()) or say("ledger.cli.no_lots")
        return InputError(say("ledger.cli.not_opened", lot=lot, lots=lots))

    def reading(self) -> Connection:
        """A connection to read from; OutputError where the store cannot be reached."""
        return retried(self.engine.connect, self.where, "ledger.not_read")


def open_ledger(where: str, *, create: bool = False) -> Ledger:
    """The ledger at ``where``, a file or ``postgresql://...``; made where ``create``.

    InputError where there is none and ``create`` is False.
    """
    return Ledger(open_engine(where, create=create), shown(where))


def entries_of(connection: Connection, lot: str) -> Iterator[Entry]:
    """The chain of ``lot`` in the order of its numbers."""
    query = select(*ENTRIES.columns).where(ENTRIES.c.lot == lot).order_by(ENTRIES.c.number)
    for row in connection.execute(query):
        yield _entry(dict(zip(_COLUMNS, row, strict=True)))


def _entry(found: dict[str, Any]) -> Entry:
    """The row as an entry. A damaged file may hold anything in any column: what is no text
    (or no number) is put as its representation, which fits no digest."""
    number = found.pop("number")
    texts = {
        name: value if isinstance(value, str) else repr(value) for name, value in found.items()
    }
    return Entry(number=number if isinstance(number, int) else -1, **texts)


def insert(connection: Connection, entries: Sequence[Entry]) -> None:
    """Write entries as they are; the caller has placed them."""
    for start in range(0, len(entries), _AT_ONCE):
        part = entries[start : start + _AT_ONCE]
        connection.execute(
            ENTRIES.insert(), [{name: getattr(entry, name) for name in _COLUMNS} for entry in part]
        )


def _end(connection: Connection, lot: str) -> tuple[int, str]:
    query = (
        select(ENTRIES.c.number, ENTRIES.c.digest)
        .where(ENTRIES.c.lot == lot)
        .order_by(ENTRIES.c.number.desc())
        .limit(1)
    )
    row = connection.execute(query).first()
    return (0, START) if row is None else (int(row[0]), str(row[1]))


def _lock(connection: Connection, lot: str) -> None:
    """Make the row of ``lot`` where there is none, and hold it to the end of the transaction.

    SQLite holds the whole file already. PostgreSQL refuses at once where another desk holds
    the row; the caller starts again.
    """
    query = select(LOTS.c.name).where(LOTS.c.name == lot)
    if connection.execute(query.with_for_update(nowait=True)).first() is None:
        connection.execute(LOTS.insert(), {"name": lot})
