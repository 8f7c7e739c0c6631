"""Making an issued version again from its archive, and comparing it byte for byte."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from lotscreen.intake.guards import digest_of
from lotscreen.issuing.archive import (
    CORRECTIONS,
    LEDGER,
    PACKAGES,
    Archive,
    archive_of,
)
from lotscreen.issuing.inputs import request_of, screened
from lotscreen.issuing.issue import ARCHIVE, all_files
from lotscreen.issuing.packages import packages_text
from lotscreen.ledger.history import History, history_of
from lotscreen.ledger.jsonl import copy_of
from lotscreen.ledger.store import Ledger
from lotscreen.records import InputError
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class Compared:
    """What was found about the files of a version. Each is a tuple of names: ``unknown`` to
    the ledger, ``altered`` against it, ``missing``, ``differ_again`` when made again.
    ``packages`` are the lines of packages that are of other versions here. ``no_archive``
    says why nothing could be made again; '' where it was."""

    lot: str
    version: int
    files: int
    altered: tuple[str, ...]
    missing: tuple[str, ...]
    unknown: tuple[str, ...]
    differ_again: tuple[str, ...]
    packages: tuple[str, ...]
    no_archive: str = ""

    @property
    def holds(self) -> bool:
        """Whether every file is as issued, and comes out the same when made again."""
        wrong = self.altered or self.missing or self.unknown or self.differ_again
        return not (wrong or self.no_archive)


def compare(ledger: Ledger, folder: Path) -> Compared:
    """Compare the version in ``folder`` with the ledger, and make it again.

    Where its archive is gone or damaged, the other papers are compared all the same.
    InputError where there is no such folder, or the ledger knows no such version.
    """
    if not folder.is_dir():
        raise InputError(say("issuing.no_folder", folder=folder))
    here = {path.name: digest_of(path.read_bytes()) for path in folder.iterdir() if path.is_file()}
    here = {name: digest for name, digest in here.items() if not name.endswith((".sig", ".asc"))}
    archive, why = _archive(folder)
    if archive is None:
        lot, version, known = _version_of(ledger, here, folder)
        again = known
    else:
        lot, version = str(archive.about["lot"]), int(archive.about["version"])
        known = _digests(ledger, lot, version)
        again = {name: digest_of(content) for name, content in made_again(archive).items()}
    return Compared(
        lot, version, len(known),
        altered=tuple(n for n in sorted(known) if n in here and here[n] != known[n]),
        missing=tuple(n for n in sorted(known) if n not in here),
        unknown=tuple(n for n in sorted(here) if n not in known),
        differ_again=tuple(n for n in sorted(known) if again.get(n) != known[n]),
        packages=() if archive is None else _other_packages(archive),
        no_archive=why,
    )  # fmt: skip


def _archive(folder: Path) -> tuple[Archive | None, str]:
    """The archive in ``folder``, or None and why there is none that can be used."""
    found = sorted(folder.glob(f"*-{ARCHIVE}"))
    if len(found) != 1:
        return None, say("issuing.not_issued", folder=folder.name)
    try:
        return archive_of(found[0].read_bytes(), found[0].name), ""
    except InputError as error:
        return None, str(error)


def _version_of(
    ledger: Ledger, here: Mapping[str, str], folder: Path
) -> tuple[str, int, Mapping[str, str]]:
    """Lot, version and digests of the version that most files of a folder are of."""
    best: tuple[str, int, Mapping[str, str]] = ("", 0, {})
    most = 0
    for lot in ledger.lots():
        for entry in history_of(lot, ledger.entries(lot)).issued():
            said = entry.said()
            same = sum((n in here) + (here.get(n) == d) for n, d in said["files"].items())
            if same > most:
                most, best = same, (lot, int(said["version"]), said["files"])
    if not most:
        raise InputError(say("issuing.not_issued", folder=folder.name))
    return best


def made_again(archive: Archive) -> dict[str, bytes]:
    """All files of a version, from its archive alone."""
    request = request_of(archive.members, archive.about)
    screening = screened(request, archive.members.get(CORRECTIONS))
    return all_files(archive, screening, _history(archive))


def _history(archive: Archive) -> History:
    lot = str(archive.about["lot"])
    copy = copy_of(archive.members[LEDGER].decode("ascii"), LEDGER)
    history = history_of(lot, copy.chains.get(lot, ()))
    if history.head != archive.about["head"]:
        raise InputError(say("issuing.other_head", lot=lot))
    return history


def _digests(ledger: Ledger, lot: str, version: int) -> Mapping[str, str]:
    issued = history_of(lot, ledger.entries(lot)).issued()
    if len(issued) < version:
        raise InputError(say("issuing.no_such_version", lot=lot, version=version))
    files: Mapping[str, str] = issued[version - 1].said()["files"]
    return files


def _other_packages(archive: Archive) -> tuple[str, ...]:
    then = archive.members[PACKAGES].decode("ascii").splitlines()
    return tuple(line for line in packages_text().splitlines() if line not in then)
