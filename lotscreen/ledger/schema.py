"""The tables of the ledger, the same on SQLite and PostgreSQL, and what guards them.

``entries`` is only ever added to; triggers refuse an update or a deletion by mistake (who
means to alter it drops them first: then the chain shows it). ``persons`` holds what may be
erased: the entry of its number has only its salted digest.
"""

from __future__ import annotations

from sqlalchemy import (
    Column,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
)

SCHEMA = "1"
METADATA = MetaData()

ABOUT = Table(
    "about",
    METADATA,
    Column("name", String(40), primary_key=True),
    Column("value", Text, nullable=False),
)
LOTS = Table("lots", METADATA, Column("name", Text, primary_key=True))
ENTRIES = Table(
    "entries",
    METADATA,
    Column("lot", Text, ForeignKey(LOTS.c.name), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("kind", String(40), nullable=False),
    Column("at", String(40), nullable=False),
    Column("by", String(40), nullable=False),
    Column("body", Text, nullable=False),
    Column("previous", String(64), nullable=False),
    Column("digest", String(64), nullable=False),
    Index("entries_by_digest", "digest", unique=True),
)
PERSONS = Table(
    "persons",
    METADATA,
    Column("lot", Text, primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("salt", String(64), nullable=False),
    Column("data", Text, nullable=False),
    ForeignKeyConstraint(["lot", "number"], [ENTRIES.c.lot, ENTRIES.c.number]),
)

SQLITE_GUARDS = {
    f"entries_no_{verb.lower()}": (
        f"CREATE TRIGGER entries_no_{verb.lower()} BEFORE {verb} ON entries "
        "BEGIN SELECT RAISE(ABORT, 'entries are only ever added to'); END"
    )
    for verb in ("UPDATE", "DELETE")
}
POSTGRESQL_FUNCTION = (
    "CREATE FUNCTION entries_only_added_to() RETURNS trigger LANGUAGE plpgsql AS "
    "'BEGIN RAISE EXCEPTION ''entries are only ever added to''; END'"
)
POSTGRESQL_GUARDS = {
    "entries_no_change": (
        "CREATE TRIGGER entries_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON entries "
        "FOR EACH STATEMENT EXECUTE FUNCTION entries_only_added_to()"
    )
}
GUARDS_OF = {
    "sqlite": (
        SQLITE_GUARDS,
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'entries'",
    ),
    "postgresql": (
        POSTGRESQL_GUARDS,
        "SELECT tgname, tgenabled FROM pg_trigger WHERE tgrelid = 'entries'::regclass "
        "AND NOT tgisinternal AND tgenabled <> 'D'",
    ),
}
"""By dialect: the triggers that must be there, and the question which are."""
