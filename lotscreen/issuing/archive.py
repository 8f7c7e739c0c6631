"""The archive beside an issued report: everything its papers were made from, in one file.

Members lie in a fixed order, uncompressed, with one fixed date, so that the same content
gives the same bytes. ``manifest.json`` names the version and the digest of every member.
"""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lotscreen.intake.guards import digest_of
from lotscreen.ledger.chain import canonical
from lotscreen.records import InputError
from lotscreen.words import say

MANIFEST, LEDGER, SETTINGS, STANDARDS, PACKAGES, CORRECTIONS, TESTS = (
    "manifest.json", "ledger.jsonl", "settings.json", "standards.json", "packages.txt",
    "corrections.csv", "second_tests.csv",
)  # fmt: skip
SHEETS = "sheets/"
FORMAT = {"format": "lotscreen archive", "schema": "1"}
_LONGEST = 1 << 31
_NEEDED = {
    "lot", "whole", "types", "mapping", "unit", "checks", "seed", "version", "replaces", "at", "by",
    "program", "packages", "head", "stem",
}  # fmt: skip
_DATE = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class Archive:
    """Members by name, and what the manifest says besides their digests."""

    members: Mapping[str, bytes]
    about: Mapping[str, Any]

    def to_bytes(self) -> bytes:
        """The archive as a zip file."""
        digests = {name: digest_of(content) for name, content in sorted(self.members.items())}
        manifest = {**FORMAT, **self.about, "members": digests}
        held = io.BytesIO()
        with zipfile.ZipFile(held, "w", zipfile.ZIP_STORED) as book:
            _put(book, MANIFEST, (canonical(manifest) + "\n").encode("ascii"))
            for name, content in sorted(self.members.items()):
                _put(book, name, content)
        return held.getvalue()

    def sheets(self) -> dict[str, bytes]:
        """The raw sheets by their member's name, in the order in which they were given."""
        return {n: c for n, c in sorted(self.members.items()) if n.startswith(SHEETS)}


def archive_of(content: bytes, name: str) -> Archive:
    """The archive in ``content`` (file ``name``); InputError where a member is not what the
    manifest says, or where it is no such archive."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as book:
            if sum(member.file_size for member in book.infolist()) > _LONGEST:
                raise ValueError
            about = json.loads(book.read(MANIFEST))
            members = {n: book.read(n) for n in book.namelist() if n != MANIFEST}
        digests = about.pop("members")
        if {key: about.pop(key) for key in FORMAT} != FORMAT or _NEEDED - about.keys():
            raise ValueError
    except (zipfile.BadZipFile, KeyError, ValueError, TypeError, AttributeError) as error:
        raise InputError(say("issuing.no_archive", file=name)) from error
    for member in sorted({*digests, *members}):
        if member not in members or digest_of(members[member]) != digests.get(member):
            raise InputError(say("issuing.member_differs", file=name, member=member))
    return Archive(members, about)


def _put(book: zipfile.ZipFile, name: str, content: bytes) -> None:
    info = zipfile.ZipInfo(name, _DATE)
    info.create_system = 3  # the same on every system
    info.external_attr = 0o644 << 16
    book.writestr(info, content)
