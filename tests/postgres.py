"""A throw-away PostgreSQL server from the machine's own programs, on a socket in a folder."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

import pytest

_SECONDS = 30
_PROGRAMS = sorted(Path("/usr/lib/postgresql").glob("*/bin/postgres"))


@dataclass(slots=True)
class Server:
    """A cluster in ``folder``; started and stopped by the number of its own process."""

    folder: Path
    programs: Path
    process: subprocess.Popen[bytes] | None = field(default=None, repr=False)

    @property
    def address(self) -> str:
        """What ``--ledger`` takes."""
        return f"postgresql://postgres@/postgres?host={self.folder}"

    def start(self) -> None:
        """Start it and wait until it answers."""
        command = [str(self.programs / "postgres"), "-D", str(self.folder / "data"), "-k",
                   str(self.folder), "-c", "listen_addresses="]  # fmt: skip
        with (self.folder / "log").open("ab") as log:
            self.process = subprocess.Popen(_as_postgres(command), stdout=log, stderr=log)
        asked = [str(self.programs / "pg_isready"), "-q", "-h", str(self.folder)]
        until = time.monotonic() + _SECONDS
        while subprocess.run(asked, check=False).returncode != 0:
            assert time.monotonic() < until, (self.folder / "log").read_text()
            time.sleep(0.05)

    def stop(self, how: signal.Signals = signal.SIGINT) -> None:
        """Stop it: SIGINT ends it in order, SIGQUIT as if the plug were pulled."""
        lines = (self.folder / "data" / "postmaster.pid").read_text().splitlines()
        os.kill(int(lines[0]), how)
        assert self.process is not None
        self.process.wait(_SECONDS)


def _as_postgres(command: list[str]) -> list[str]:
    """The server refuses to run as root."""
    return ["runuser", "-u", "postgres", "--", *command] if os.geteuid() == 0 else command


@contextmanager
def server() -> Iterator[Server]:
    """A running server that is gone afterwards; the test is left out where there is none."""
    if not _PROGRAMS:
        pytest.skip("postgres: no PostgreSQL server on this machine")
    folder = Path(tempfile.mkdtemp(prefix="lotscreen-pg-"))
    if os.geteuid() == 0:
        shutil.chown(folder, "postgres", "postgres")
    one = Server(folder, _PROGRAMS[-1].parent)
    made = [str(one.programs / "initdb"), "-D", str(folder / "data"), "-A", "trust", "-N", "-U",
            "postgres", "-E", "UTF8", "--locale", "C"]  # fmt: skip
    try:
        subprocess.run(_as_postgres(made), check=True, capture_output=True)
        one.start()
        yield one
    finally:
        with suppress(OSError, AssertionError):
            one.stop()
        shutil.rmtree(folder, ignore_errors=True)
