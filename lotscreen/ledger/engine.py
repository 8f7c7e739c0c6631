"""Opening a ledger: a file for SQLite, an address for PostgreSQL.

SQLite: one file with a write-ahead log, foreign keys on, every commit synchronised to the
disk, erased content overwritten. A write transaction takes the lock at once and does not
wait: whoever finds it taken starts again (:func:`retried`), and reads the end of the chain
anew.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import URL, Connection, Engine, create_engine, event, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import (
    ArgumentError,
    DBAPIError,
    IntegrityError,
    NoSuchModuleError,
    OperationalError,
)
from sqlalchemy.pool import NullPool

from lotscreen.ledger.schema import (
    ABOUT,
    GUARDS_OF,
    METADATA,
    POSTGRESQL_FUNCTION,
    SCHEMA,
)
from lotscreen.records import InputError, OutputError
from lotscreen.words import say

T = TypeVar("T")
_TRIES = 130  # half a minute: nobody writes for longer
_FIRST_WAIT_S, _LONGEST_WAIT_S = 0.002, 0.25
_BUSY = ("database is locked", "database table is locked", "could not obtain lock",
         "deadlock detected", "could not serialize")  # fmt: skip
_PATIENCE_S = 10
_DAMAGED = "Could not decode"  # SQLite found bytes that are no text: not for want of a lock
_CREATING = 7_205_759_403  # any number that nobody else locks by


def open_engine(where: str, *, create: bool) -> Engine:
    """The store at ``where``: a path, or ``postgresql://...``; made where ``create``.

    InputError where there is none and ``create`` is False, or where it is no ledger.
    """
    engine = _postgresql(where) if "://" in where else _sqlite(Path(where), create)
    try:
        retried(lambda: _prepared(engine, create, shown(where)), shown(where), "ledger.not_read")
    except (DBAPIError, UnicodeDecodeError) as error:
        raise InputError(say("ledger.unreadable", where=shown(where), why=_why(error))) from error
    return engine


def shown(where: str) -> str:
    """``where`` as it may be printed: a file's name, an address without its password."""
    if "://" not in where:
        return Path(where).name
    try:
        return make_url(where).render_as_string(hide_password=True)
    except ArgumentError:
        return say("ledger.an_address")


def _sqlite(path: Path, create: bool) -> Engine:
    if not create and not path.exists():
        raise InputError(say("ledger.none_there", where=path.name))
    if create and not path.parent.is_dir():
        raise OutputError(say("ledger.no_folder", where=path))
    place = URL.create("sqlite+pysqlite", database=str(path))
    engine = create_engine(place, poolclass=NullPool, connect_args={"timeout": 0})
    event.listen(engine, "connect", _on_sqlite_connect)
    event.listen(engine, "begin", _on_sqlite_begin)
    return engine


def _on_sqlite_connect(connection: Any, _record: Any) -> None:
    connection.isolation_level = None  # transactions begin where this module says
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "secure_delete=ON"):
        connection.execute(f"PRAGMA {pragma}")


def _on_sqlite_begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _postgresql(where: str) -> Engine:
    try:
        url = make_url(where)
        if url.get_backend_name() != "postgresql":
            raise InputError(say("ledger.other_store", where=shown(where)))
        patience = {} if "connect_timeout" in url.query else {"connect_timeout": _PATIENCE_S}
        place = url.set(drivername="postgresql+psycopg")
        return create_engine(place, poolclass=NullPool, connect_args=patience)
    except (ArgumentError, NoSuchModuleError, ImportError) as error:
        raise InputError(say("ledger.unreadable", where=shown(where), why=error)) from error


def _prepared(engine: Engine, create: bool, where: str) -> None:
    """The tables are there, made where ``create``; InputError where the schema is another."""
    found = _schema_of(engine)
    if found is None and create:
        with writing(engine) as connection:
            if engine.dialect.name == "postgresql":
                connection.execute(text(f"SELECT pg_advisory_xact_lock({_CREATING})"))
            _make(connection)
        found = _schema_of(engine)
    if found != SCHEMA:
        raise InputError(say("ledger.no_ledger", where=where))


def _schema_of(engine: Engine) -> str | None:
    with engine.connect() as connection:
        if not engine.dialect.has_table(connection, ABOUT.name):
            return None
        return connection.execute(
            ABOUT.select().where(ABOUT.c.name == "schema").with_only_columns(ABOUT.c.value)
        ).scalar()


def _make(connection: Connection) -> None:
    if connection.dialect.has_table(connection, ABOUT.name):
        return  # somebody else was first
    METADATA.create_all(connection)
    if connection.dialect.name == "postgresql":
        connection.execute(text(POSTGRESQL_FUNCTION))
    guards, _ = GUARDS_OF[connection.dialect.name]
    for guard in guards.values():
        connection.execute(text(guard))
    connection.execute(ABOUT.insert(), {"name": "schema", "value": SCHEMA})


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A connection in a write transaction, committed at the end, undone on any error."""
    with (
        engine.connect().execution_options(writes=True) as connection,
        connection.begin(),
    ):
        yield connection


def retried(write: Callable[[], T], where: str, failed: str = "ledger.not_written") -> T:
    """``write()``, again where somebody else held the lock or was faster.

    OutputError where the lock stays taken, the disk is full, or the store went away; then
    nothing of this write was acknowledged. ``failed`` is the key of the words for that.
    """
    wait = _FIRST_WAIT_S
    for _ in range(_TRIES):
        try:
            return write()
        except IntegrityError:
            pass  # another writer took the same place in the chain
        except OperationalError as error:
            if _DAMAGED in str(error.orig):
                raise
            if not any(busy in str(error.orig) for busy in _BUSY):
                raise OutputError(say(failed, where=where, why=_why(error))) from error
        time.sleep(wait)
        wait = min(_LONGEST_WAIT_S, wait * 1.5)
    raise OutputError(say("ledger.stays_busy", where=where))


def _why(error: Exception) -> str:
    cause = error.orig if isinstance(error, DBAPIError) else error
    return str(cause).strip().partition("\n")[0]
