"""Issuing a version: screen, write down, freeze, make the papers, write down that it was."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from lotscreen import __version__
from lotscreen.intake.guards import digest_of
from lotscreen.issuing.archive import (
    CORRECTIONS,
    LEDGER,
    PACKAGES,
    Archive,
    archive_of,
)
from lotscreen.issuing.inputs import Request, members_of, request_of, screened
from lotscreen.issuing.papers import papers_of
from lotscreen.ledger.chain import Draft, breaks_in
from lotscreen.ledger.history import ISSUED, History, history_of
from lotscreen.ledger.jsonl import chain_lines
from lotscreen.ledger.screened import entries_of_run
from lotscreen.ledger.store import Ledger
from lotscreen.records import InputError, OutputError
from lotscreen.report.folder import name_of_file, publish
from lotscreen.screening import Screening
from lotscreen.words import say

DIGESTS = "digests.txt"
ARCHIVE = "archive.zip"
_TRIES = 20
_LONGEST_STEM = 40


@dataclass(frozen=True, slots=True)
class Issued:
    """A version: its number, folder, files with digests, and the head printed on it.
    ``again``: nothing had changed, nothing was issued."""

    lot: str
    version: int
    folder: Path
    files: Mapping[str, str]
    head: str
    again: bool
    screening: Screening | None


def earlier_request(ledger: Ledger, lot: str, base: Path) -> Request:
    """What the last version of ``lot`` was made from, out of its archive below ``base``.

    InputError where nothing was issued, the archive is not there, or is not the one that
    the ledger knows.
    """
    issued = history_of(lot, ledger.entries(lot)).issued()
    if not issued:
        raise InputError(say("issuing.no_sheet", lot=lot))
    said = issued[-1].said()
    path = base / said["folder"] / said["archive"][0]
    try:
        content = path.read_bytes()
    except OSError as error:
        raise InputError(say("issuing.archive_gone", file=path, why=error.strerror)) from error
    if digest_of(content) != said["archive"][1]:
        raise InputError(say("issuing.archive_differs", file=path.name))
    archive = archive_of(content, path.name)
    return request_of(archive.members, archive.about)


def issue(
    ledger: Ledger, request: Request, base: Path, *, at: str, by: str,
    progress: Callable[[str], None] | None = None,
) -> Issued:  # fmt: skip
    """Issue the next version of a lot into a folder of its own below ``base``.

    The ledger gets the run with what is new in it first, then, once the papers are on the
    disk, their digests. InputError where the lot is not open or its chain does not hold;
    OutputError where something cannot be written.
    """
    tell = progress or (lambda _: None)
    for _ in range(_TRIES):
        history = _history(ledger, request.lot)
        tell(say("issuing.screening"))
        members = members_of(request, history)
        screening = screened(request, members.get(CORRECTIONS))
        packages = digest_of(members[PACKAGES])
        about = {"program": __version__, "packages": packages, "choices": request.choices()}
        drafts = entries_of_run(screening, about, history.entries, at=at, by=by)
        unchanged = _unchanged(history, drafts, base)
        if unchanged is not None:
            return unchanged
        new = ledger.append(request.lot, drafts, only_after=history.head) if drafts else ()
        if new or not drafts:
            history = history_of(request.lot, (*history.entries, *new))
            return _freeze(ledger, request, history, members, screening, base, at, by, tell)
    raise OutputError(say("ledger.stays_busy", where=ledger.where))


def _history(ledger: Ledger, lot: str) -> History:
    history = history_of(lot, ledger.entries(lot))
    if not history.entries:
        raise ledger.not_opened(lot)
    for broken in breaks_in(lot, history.entries):
        raise InputError(say("issuing.chain_broken", lot=lot, number=broken.number))
    return history


def _unchanged(history: History, drafts: list[Draft], base: Path) -> Issued | None:
    """The last version, where nothing was written down since and nothing is new."""
    issued = history.issued()
    if drafts or not issued or history.since(issued[-1].number):
        return None
    said = issued[-1].said()
    return Issued(history.lot, said["version"], base / said["folder"], said["files"], said["head"],
                  True, None)  # fmt: skip


def _freeze(
    ledger: Ledger, request: Request, history: History, members: Mapping[str, bytes],
    screening: Screening, base: Path, at: str, by: str, tell: Callable[[str], None],
) -> Issued:  # fmt: skip
    version = len(history.issued()) + 1
    stem = f"{name_of_file(request.lot, _LONGEST_STEM) or 'lot'}-v{version}"
    about = {
        **request.choices(), "version": version, "replaces": version - 1, "at": at, "by": by,
        "program": __version__, "packages": digest_of(members[PACKAGES]), "head": history.head,
        "stem": stem,
    }  # fmt: skip
    archive = Archive({**members, LEDGER: chain_lines(history.entries).encode("ascii")}, about)
    tell(say("issuing.papers"))
    files = all_files(archive, screening, history)
    folder = base / stem
    publish(folder, {name: partial(_write, content) for name, content in files.items()})
    digests = {name: digest_of(content) for name, content in files.items()}
    name = f"{stem}-{ARCHIVE}"
    said = {
        "version": version, "replaces": version - 1, "head": history.head, "folder": stem,
        "archive": [name, digests[name]], "files": digests,
    }  # fmt: skip
    ledger.append(request.lot, [Draft(ISSUED, at, by, said)])
    return Issued(request.lot, version, folder, digests, history.head, False, screening)


def all_files(archive: Archive, screening: Screening, history: History) -> dict[str, bytes]:
    """Papers, archive, and the list of their digests in the form that sha256sum checks."""
    stem = str(archive.about["stem"])
    files = papers_of(archive, screening, history)
    files[f"{stem}-{ARCHIVE}"] = archive.to_bytes()
    lines = [f"{digest_of(content)}  {name}\n" for name, content in sorted(files.items())]
    files[f"{stem}-{DIGESTS}"] = "".join(lines).encode("utf-8")
    return files


def _write(content: bytes, path: Path) -> None:
    path.write_bytes(content)
