"""What may happen to a desk: killed, disk full, two at once, server gone. Nothing that was
acknowledged is ever lost, and nothing that was altered goes unseen.

A writer is a forked process that tells each digest through a pipe once ``append`` has
returned; whatever came through the pipe must be in the chain afterwards. Places and moments
are drawn by a seed. The counts are printed (``pytest -s -m slow``).
"""

from __future__ import annotations

import errno
import os
import resource
import shutil
import signal
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from postgres import Server, server
from sqlalchemy.exc import DBAPIError

from lotscreen.ledger.chain import Draft
from lotscreen.ledger.check import check_ledger
from lotscreen.ledger.jsonl import ledger_lines
from lotscreen.ledger.persons import add_person
from lotscreen.ledger.store import Ledger, open_ledger
from lotscreen.records import LotscreenError, OutputError

KILLS, UNPLUGGED, FLIPS = 200, 12, 400
LOT = "P-1"

pytestmark = pytest.mark.slow


def _drafts(n: int, mark: str = "") -> list[Draft]:
    body = {"coin": mark, "finding": "consistent", "reason": "nothing is odd about it " * 3}
    return [Draft("finding", "2026-11-06T16:00", "D07", {**body, "item": i}) for i in range(n)]


class Writer:
    """A process that appends until it is killed, fails or is done; its digests as told."""

    def __init__(self, where: str, batches: list[int], limit_bytes: int = 0) -> None:
        self.heard = b""
        self.told, tells = os.pipe()
        self.pid = os.fork()
        if self.pid == 0:
            status = 1
            try:
                os.close(self.told)
                if limit_bytes:
                    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
                    resource.setrlimit(resource.RLIMIT_FSIZE, (limit_bytes, limit_bytes))
                _write(where, batches, tells)
                status = 0
            except LotscreenError:
                status = 6
            finally:
                os._exit(status)
        os.close(tells)

    def wait_for(self, appends: int) -> None:
        """Until so many appends have been told; whoever is slow is waited for."""
        while self.heard.count(b"\n") < appends:
            more = os.read(self.told, 4096)
            assert more, "the writer ended by itself"
            self.heard += more

    def kill(self) -> None:
        """As if the power went: no handler, no clean-up."""
        os.kill(self.pid, signal.SIGKILL)

    def acknowledged(self) -> tuple[list[str], int]:
        """Every digest told, and the exit status (-9: killed)."""
        with os.fdopen(self.told, "rb") as pipe:
            told = (self.heard + pipe.read()).decode("ascii").split()
        _, status = os.waitpid(self.pid, 0)
        return [one for one in told if len(one) == 64], os.waitstatus_to_exitcode(status)


def _write(where: str, batches: list[int], tells: int) -> None:
    ledger = open_ledger(where, create=True)
    for n in batches:
        head = ledger.append(LOT, _drafts(n, str(os.getpid())))[-1].digest
        os.write(tells, f"{head}\n".encode("ascii"))


def _lost(where: str, acknowledged: set[str]) -> set[str]:
    """What was acknowledged and is not there; the chain must hold besides."""
    ledger = open_ledger(where, create=True)
    assert check_ledger(ledger).breaks == ()
    return acknowledged - {entry.digest for entry in ledger.entries(LOT)}


def _killed_again_and_again(where: str, rng: np.random.Generator) -> set[str]:
    """Writers one after the other, each killed at a moment of its own: some while they open
    the ledger, most in the midst of writing, a drawn while after a drawn number of appends."""
    acknowledged: set[str] = set()
    for _ in range(KILLS):
        writer = Writer(where, [int(n) for n in rng.choice([1, 1, 5, 300], size=2000)])
        writer.wait_for(int(rng.choice([0, 1, 2, 5])))
        time.sleep(float(rng.uniform(0.0, 0.03)))
        writer.kill()
        told, status = writer.acknowledged()
        assert status == -signal.SIGKILL
        acknowledged |= set(told)
    print(f"\n{where.partition(':')[0]}: {KILLS} kills, {len(acknowledged)} acknowledged")
    return acknowledged


def test_killed_at_200_random_points_on_sqlite(tmp_path: Path, rng: np.random.Generator) -> None:
    where = str(tmp_path / "desk.ledger")
    acknowledged = _killed_again_and_again(where, rng)
    assert len(acknowledged) > KILLS
    assert _lost(where, acknowledged) == set()


@pytest.fixture(scope="module")
def postgres() -> Iterator[Server]:
    with server() as one:
        yield one


def test_killed_at_200_random_points_on_postgresql(
    postgres: Server, rng: np.random.Generator
) -> None:
    acknowledged = _killed_again_and_again(postgres.address, rng)
    assert len(acknowledged) > KILLS
    assert _lost(postgres.address, acknowledged) == set()


def test_the_server_is_unplugged_in_between(postgres: Server, rng: np.random.Generator) -> None:
    acknowledged: set[str] = set()
    refused = 0
    for _ in range(UNPLUGGED):
        writer = Writer(postgres.address, [1, 5, 300] * 2000)
        writer.wait_for(int(rng.integers(1, 8)))
        time.sleep(float(rng.uniform(0.0, 0.1)))
        postgres.stop(signal.SIGQUIT)
        told, status = writer.acknowledged()
        assert status == OutputError.exit_code
        acknowledged |= set(told)
        refused += 1
        with pytest.raises(OutputError):
            open_ledger(postgres.address)
        postgres.start()
    print(f"\nunplugged {refused} times, {len(acknowledged)} acknowledged")
    assert len(acknowledged) > UNPLUGGED
    assert _lost(postgres.address, acknowledged) == set()


@pytest.mark.parametrize("place", ["file", "postgresql"])
def test_four_writers_at_once_lose_nothing(
    place: str, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    one: Server | None = request.getfixturevalue("postgres") if place == "postgresql" else None
    where = one.address if one is not None else str(tmp_path / "desk.ledger")
    before = len(open_ledger(where, create=True).entries(LOT))
    writers = [Writer(where, [1] * 60 + [20] * 5) for _ in range(4)]
    told = [writer.acknowledged() for writer in writers]
    assert [status for _, status in told] == [0, 0, 0, 0]
    acknowledged = {digest for digests, _ in told for digest in digests}
    assert len(acknowledged) == 4 * 65
    assert _lost(where, acknowledged) == set()
    assert len(open_ledger(where).entries(LOT)) - before == 4 * (60 + 100)


def test_a_full_disk_loses_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    """By a limit on the size of files: the same to the program as a full disk."""
    where = str(tmp_path / "desk.ledger")
    acknowledged: set[str] = set()
    for limit in range(120_000, 1_200_000, 90_000):
        told, status = Writer(where, [7] * 4000, limit).acknowledged()
        assert status == OutputError.exit_code
        acknowledged |= set(told)
    assert len(acknowledged) > 100
    assert _lost(where, acknowledged) == set()
    open_ledger(where).append(LOT, _drafts(1))
    assert check_ledger(open_ledger(where)).holds


def _really_full(folder: Path) -> None:
    """Fill what is left of the disk that ``folder`` is on, to the last byte."""
    descriptor = os.open(folder / "filling", os.O_CREAT | os.O_WRONLY)
    size = 1 << 16
    while size:
        try:
            os.write(descriptor, b"\0" * size)
        except OSError as error:
            if error.errno != errno.ENOSPC:
                raise
            size //= 2
    os.close(descriptor)


def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    folder = tmp_path / "small"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(folder)]
    if os.geteuid() != 0 or os.spawnvp(os.P_WAIT, mount[0], mount) != 0:
        pytest.skip("mount: a small disk can be made by root only")
    try:
        where = str(folder / "desk.ledger")
        told, status = Writer(where, [7] * 40).acknowledged()
        assert status == 0
        _really_full(folder)
        more, status = Writer(where, [7] * 4000).acknowledged()
        assert status == OutputError.exit_code
        (folder / "filling").unlink()
        assert _lost(where, {*told, *more}) == set()
        open_ledger(where).append(LOT, _drafts(1))
        assert check_ledger(open_ledger(where)).holds
    finally:
        os.spawnvp(os.P_WAIT, "umount", ["umount", str(folder)])


def _export(path: Path) -> str:
    return "".join(ledger_lines(open_ledger(str(path)), with_persons=True))


def _holds(path: Path) -> bool:
    """Whether ``verify`` would say that all is as it was written down."""
    try:
        return check_ledger(open_ledger(str(path))).holds
    except LotscreenError:
        return False


def _reads(path: Path) -> str:
    try:
        return _export(path)
    except (LotscreenError, DBAPIError):
        return ""


def test_a_changed_byte_anywhere_is_found(tmp_path: Path, rng: np.random.Generator) -> None:
    """Bytes of the file at random: where the ledger then says anything else, it is found."""
    path = tmp_path / "desk.ledger"
    ledger = open_ledger(str(path), create=True)
    for _ in range(20):
        ledger.append(LOT, _drafts(10))
    add_person(ledger, LOT, "K-01", {"name": "Ozma"}, "2032-11-06", at="2026-11-06", by="D07",
               salt="0" * 32)  # fmt: skip
    sqlite3.connect(path).execute("PRAGMA wal_checkpoint(TRUNCATE)").connection.close()
    said, content = _export(path), path.read_bytes()
    found = harmless = 0
    for _ in range(FLIPS):
        place, bit = int(rng.integers(len(content))), 1 << int(rng.integers(8))
        altered = bytearray(content)
        altered[place] ^= bit
        copy = tmp_path / "altered.ledger"
        for rest in tmp_path.glob("altered.ledger*"):
            rest.unlink()
        copy.write_bytes(altered)
        if not _holds(copy):
            found += 1
        else:
            assert _reads(copy) == said, f"byte {place}, bit {bit}"
            harmless += 1
    print(f"\n{FLIPS} bytes changed: {found} found, {harmless} where nothing is said")
    assert found > FLIPS // 2


def _seconds(write: Callable[[], object]) -> float:
    before = time.perf_counter()
    write()
    return time.perf_counter() - before


def test_a_hundred_thousand_findings_are_written_in_ten_seconds(tmp_path: Path) -> None:
    ledger: Ledger = open_ledger(str(tmp_path / "desk.ledger"), create=True)
    drafts = _drafts(100_000)
    seconds = _seconds(lambda: ledger.append(LOT, drafts))
    print(f"\n100,000 findings in {seconds:.1f} s")
    assert seconds <= 10.0
    assert check_ledger(ledger).entries == {LOT: 100_000}
    with suppress(OSError):
        shutil.rmtree(tmp_path)
