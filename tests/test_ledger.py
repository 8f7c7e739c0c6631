"""The ledger: what is altered shows, what is erased does not break it, copies are the same."""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from postgres import server
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from lotscreen.ledger import engine
from lotscreen.ledger.chain import START, Draft
from lotscreen.ledger.check import check_ledger
from lotscreen.ledger.jsonl import copy_of, ledger_lines, restore
from lotscreen.ledger.persons import add_person, erase_persons
from lotscreen.ledger.store import Ledger, open_ledger
from lotscreen.records import InputError, OutputError

SALT = "00112233445566778899aabbccddeeff"
NAME = "Ozma of the Emerald City"
GUARDS = ("entries_no_update", "entries_no_delete")


def _drafts(first: int, n: int) -> list[Draft]:
    return [
        Draft("custody", f"2026-11-06T09:{m:02d}", "D07", {"from": "K-01", "to": "D07", "why": "ä"})
        for m in range(first, first + n)
    ]


def _filled(where: str) -> Ledger:
    ledger = open_ledger(where, create=True)
    ledger.append("P-1", _drafts(0, 4))
    ledger.append("P-2", _drafts(10, 2))
    add_person(ledger, "P-1", "K-01", {"name": NAME}, "2032-11-06", at="2026-11-06", by="D07",
               salt=SALT)  # fmt: skip
    ledger.append("P-1", _drafts(20, 2))
    return ledger


def _export(ledger: Ledger, with_persons: bool = True) -> str:
    return "".join(ledger_lines(ledger, with_persons=with_persons))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    place = tmp_path / "desk.ledger"
    _filled(str(place))
    return place


def test_a_digest_is_what_the_page_says_it_is(path: Path) -> None:
    """Anybody can compute it: canonical JSON, then the digest before."""
    previous = START
    for entry in open_ledger(str(path)).entries("P-1"):
        content = {"lot": entry.lot, "number": entry.number, "kind": entry.kind, "at": entry.at,
                   "by": entry.by, "body": json.loads(entry.body)}  # fmt: skip
        plain = json.dumps(content, sort_keys=True, separators=(",", ":"))
        assert entry.previous == previous
        assert entry.digest == hashlib.sha256((plain + previous).encode()).hexdigest()
        previous = entry.digest
    assert previous == open_ledger(str(path)).end("P-1")[1]


@pytest.mark.parametrize("sql", ["UPDATE entries SET at = 'x'", "DELETE FROM entries"])
def test_nobody_changes_an_entry_by_mistake(path: Path, sql: str) -> None:
    engine = open_ledger(str(path)).engine
    with pytest.raises(DBAPIError, match="only ever added to"), engine.begin() as connection:
        connection.execute(text(sql))


def _altered(path: Path, *statements: str) -> None:
    """Change the file behind the program's back, with the guards put back afterwards."""
    store = sqlite3.connect(path)
    guards = [store.execute("SELECT sql FROM sqlite_master WHERE name = ?", (name,)).fetchone()[0]
              for name in GUARDS]  # fmt: skip
    for name in GUARDS:
        store.execute(f"DROP TRIGGER {name}")
    for statement in statements:
        store.execute(statement)
    for guard in guards:
        store.execute(guard)
    store.commit()
    store.close()


IN = "WHERE lot = 'P-1' AND number = 2"
TAMPERINGS: dict[str, str | tuple[str, ...]] = {
    "kind": f"UPDATE entries SET kind = 'decision' {IN}",
    "time": f"UPDATE entries SET at = '2026-11-06T09:02' {IN}",
    "person": f"UPDATE entries SET \"by\" = 'D08' {IN}",
    "body": f"UPDATE entries SET body = replace(body, 'K-01', 'K-02') {IN}",
    "one sign": f"UPDATE entries SET body = body || ' ' {IN}",
    "no JSON": f"UPDATE entries SET body = '{{' {IN}",
    "digest": f"UPDATE entries SET digest = '{'0' * 64}' {IN}",
    "link": f"UPDATE entries SET previous = '{START}' {IN}",
    "taken out": f"DELETE FROM entries {IN}",
    "two exchanged": (
        "UPDATE entries SET number = -number WHERE lot = 'P-1' AND number IN (1, 4)",
        "UPDATE entries SET number = 5 + number WHERE number < 0",
    ),
    "put elsewhere": f"UPDATE entries SET lot = 'P-2', number = 3 {IN}",
    "personal data": "UPDATE persons SET data = replace(data, 'Ozma', 'Jinjur')",
    "salt": "UPDATE persons SET salt = replace(salt, '0', '1')",
    "person gone": "DELETE FROM persons",
}


@pytest.mark.parametrize("name", list(TAMPERINGS))
def test_what_is_altered_is_found(path: Path, name: str) -> None:
    assert check_ledger(open_ledger(str(path))).holds
    statements = TAMPERINGS[name]
    _altered(path, *([statements] if isinstance(statements, str) else statements))
    assert not check_ledger(open_ledger(str(path))).holds


def test_a_renamed_lot_and_a_guard_taken_off_are_found(path: Path) -> None:
    store = sqlite3.connect(path)
    store.execute("UPDATE lots SET name = 'P-9' WHERE name = 'P-2'")
    store.commit()
    assert not check_ledger(open_ledger(str(path))).holds
    store.execute("UPDATE lots SET name = 'P-2' WHERE name = 'P-9'")
    store.commit()
    assert check_ledger(open_ledger(str(path))).holds
    store.execute(f"DROP TRIGGER {GUARDS[0]}")
    store.commit()
    store.close()
    assert [one.what for one in check_ledger(open_ledger(str(path))).breaks] == ["guard"]


def _last_row_deleted(path: Path) -> None:
    _altered(path, "DELETE FROM entries WHERE lot = 'P-1' AND number = 7")


def _last_row_written_anew(path: Path) -> None:
    ledger = open_ledger(str(path))
    seventh = ledger.entries("P-1")[:6]
    _last_row_deleted(path)
    assert ledger.end("P-1")[1] == seventh[-1].digest
    ledger.append("P-1", _drafts(40, 1))


def _lot_deleted(path: Path) -> None:
    _altered(path, "DELETE FROM persons", "DELETE FROM entries WHERE lot = 'P-1'",
             "DELETE FROM lots WHERE name = 'P-1'")  # fmt: skip


@pytest.mark.parametrize("alter", [_last_row_deleted, _last_row_written_anew, _lot_deleted])
def test_a_missing_end_shows_with_the_digest_alone(
    path: Path, alter: Callable[[Path], None]
) -> None:
    head = open_ledger(str(path)).end("P-1")[1]
    assert check_ledger(open_ledger(str(path)), head[:16].upper()).holds
    alter(path)
    assert check_ledger(open_ledger(str(path))).holds  # no chain can show it by itself
    assert not check_ledger(open_ledger(str(path)), head).holds


def test_an_older_copy_put_back_shows_with_the_digest_alone(path: Path) -> None:
    older = path.with_suffix(".copy")
    shutil.copy(path, older)
    ledger = open_ledger(str(path))
    first = ledger.end("P-1")[1]
    head = ledger.append("P-1", _drafts(50, 1))[-1].digest
    shutil.copy(older, path)
    assert check_ledger(open_ledger(str(path))).holds
    assert not check_ledger(open_ledger(str(path)), head).holds
    found = check_ledger(open_ledger(str(path)), first).found
    assert found is not None
    assert (found.lot, found.number, found.behind) == ("P-1", 7, 0)


@pytest.mark.parametrize("head", ["", "123", "z" * 64, "0" * 65])
def test_a_digest_that_is_none_is_refused(path: Path, head: str) -> None:
    if not head:
        assert check_ledger(open_ledger(str(path)), head).asked == ""
        return
    with pytest.raises(InputError, match="digest"):
        check_ledger(open_ledger(str(path)), head)


def test_erased_data_are_gone_and_the_chain_holds(path: Path) -> None:
    ledger = open_ledger(str(path))
    head = ledger.end("P-1")[1]
    assert NAME.encode() in path.read_bytes()
    assert NAME not in _export(ledger, with_persons=False)
    with pytest.raises(InputError, match="nobody"):
        erase_persons(ledger, lambda said: said["keep_until"] < "2032-11-06", at="2032-11-06",
                      by="D07", why="day not past")  # fmt: skip
    gone = erase_persons(ledger, lambda said: said["keep_until"] < "2032-11-07",
                         at="2032-11-07", by="D07", why="kept long enough")  # fmt: skip
    assert gone == 1
    checked = check_ledger(open_ledger(str(path)), head)
    assert checked.holds
    for file in path.parent.iterdir():
        assert NAME.encode() not in file.read_bytes()
        assert SALT.encode() not in file.read_bytes()
    said = open_ledger(str(path)).entries("P-1")[4].said()
    digest = hashlib.sha256((SALT + json.dumps({"name": NAME}, separators=(",", ":"))).encode())
    assert said == {"code": "K-01", "keep_until": "2032-11-06", "digest": digest.hexdigest()}


def test_a_copy_restored_is_the_same_ledger(path: Path, tmp_path: Path) -> None:
    told = _export(open_ledger(str(path)))
    other = open_ledger(str(tmp_path / "other.ledger"), create=True)
    assert restore(other, copy_of(told, "copy")) == 9
    assert _export(other) == told
    assert restore(other, copy_of(told, "copy")) == 0
    open_ledger(str(path)).append("P-2", _drafts(30, 1))
    assert restore(other, copy_of(_export(open_ledger(str(path))), "copy")) == 1


def test_a_copy_that_parts_or_is_altered_is_refused(path: Path, tmp_path: Path) -> None:
    told = _export(open_ledger(str(path)))
    for wrong in (told.replace("K-01", "K-02", 1), told.replace("{", "[", 1), told[:-40]):
        with pytest.raises(InputError):
            copy_of(wrong, "copy")
    other = open_ledger(str(tmp_path / "other.ledger"), create=True)
    other.append("P-1", _drafts(3, 1))
    before = _export(other)
    with pytest.raises(InputError, match="lot P-1: ledger and copy differ from entry 1"):
        restore(other, copy_of(told, "copy"))
    assert _export(other) == before


def test_both_stores_give_the_same_ledger(path: Path, tmp_path: Path) -> None:
    with server() as one:
        other = _filled(one.address)
        assert check_ledger(other).holds
        assert _export(other) == _export(open_ledger(str(path)))
        with pytest.raises(DBAPIError, match="only ever added to"), other.engine.begin() as writes:
            writes.execute(text("TRUNCATE entries CASCADE"))
        back = open_ledger(str(tmp_path / "back.ledger"), create=True)
        restore(back, copy_of(_export(other), "copy"))
        assert _export(back) == _export(other)


def test_erased_data_are_gone_from_a_server_too() -> None:
    with server() as one:
        ledger = _filled(one.address)
        files = [path for path in (one.folder / "data" / "base").rglob("*") if path.is_file()]
        with ledger.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as c:
            c.execute(text("CHECKPOINT"))
        assert any(NAME.encode() in path.read_bytes() for path in files)
        erase_persons(ledger, lambda said: said["code"] == "K-01", at="2032-11-07", by="D07",
                      why="asked for")  # fmt: skip
        assert check_ledger(ledger).holds
        with ledger.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as c:
            c.execute(text("CHECKPOINT"))
        files = [path for path in (one.folder / "data" / "base").rglob("*") if path.is_file()]
        assert not any(NAME.encode() in path.read_bytes() for path in files)


def test_nothing_is_written_behind_an_end_that_has_moved(path: Path) -> None:
    ledger = open_ledger(str(path))
    head = ledger.end("P-1")[1]
    assert len(ledger.append("P-1", _drafts(40, 1), only_after=head)) == 1
    assert ledger.append("P-1", _drafts(41, 1), only_after=head) == ()
    assert ledger.entries("P-1")[-1].number == 8


def test_whoever_finds_the_lock_taken_starts_again_but_not_for_ever(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ledger = open_ledger(str(path))
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    waits: list[float] = []

    def wait(seconds: float) -> None:
        waits.append(seconds)
        if len(waits) == 3:
            other.execute("ROLLBACK")

    monkeypatch.setattr(engine.time, "sleep", wait)
    assert len(ledger.append("P-1", _drafts(40, 1))) == 1
    assert len(waits) == 3
    other.execute("BEGIN IMMEDIATE")
    waits = [0.0] * 3
    with pytest.raises(OutputError, match="does not end; nothing was written down"):
        ledger.append("P-1", _drafts(41, 1))
    other.close()
    assert ledger.entries("P-1")[-1].number == 8
    assert sum(waits) > 20.0


def test_what_is_no_ledger_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="there is no such ledger"):
        open_ledger(str(tmp_path / "none.ledger"))
    other = tmp_path / "other.ledger"
    other.write_text("a sheet, perhaps\n" * 100, encoding="utf-8")
    with pytest.raises(InputError, match=r"other\.ledger"):
        open_ledger(str(other))
    store = sqlite3.connect(tmp_path / "own.db")
    store.execute("CREATE TABLE mine (a)")
    store.close()
    with pytest.raises(InputError, match="holds no ledger"):
        open_ledger(str(tmp_path / "own.db"))
    with pytest.raises(InputError, match="postgresql:"):
        open_ledger("mysql://desk/ledger")
