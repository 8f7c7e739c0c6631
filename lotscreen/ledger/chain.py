"""One chain of digests a lot: each entry's digest covers its content and the digest before.

The digest is SHA-256 (FIPS 180-4) over the entry as canonical JSON (keys sorted, no spaces,
ASCII, no NaN), followed by the previous entry's digest as 64 hex digits; before the first
entry stand 64 zeros. An altered entry no longer fits its digest; an altered digest no longer
fits the entry behind it. What no chain can show by itself is that its end is missing, or
that all of it was written anew: for that a digest printed elsewhere is needed.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

START = "0" * 64


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing written down: ``number`` counts from 1 in its lot, ``at`` is ISO 8601 as
    given, ``by`` the code of a person, ``body`` canonical JSON."""

    lot: str
    number: int
    kind: str
    at: str
    by: str
    body: str
    previous: str
    digest: str

    def said(self) -> dict[str, Any]:
        """The body as a mapping."""
        said: dict[str, Any] = json.loads(self.body)
        return said


@dataclass(frozen=True, slots=True)
class Draft:
    """What is to be written down, before it has a place in a chain."""

    kind: str
    at: str
    by: str
    body: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Break:
    """A place where a chain does not hold: ``what`` is a key of the words of breaks."""

    lot: str
    number: int
    what: str


def canonical(value: Any) -> str:
    """Canonical JSON of ``value``; ValueError where it holds NaN or an infinity."""
    return json.dumps(
        value, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False
    )


def digest_of(entry: Entry) -> str:
    """The digest that ``entry`` should bear, from its content and ``entry.previous``."""
    text = (
        f'{{"at":{json.dumps(entry.at)},"body":{entry.body},"by":{json.dumps(entry.by)},'
        f'"kind":{json.dumps(entry.kind)},"lot":{json.dumps(entry.lot)},"number":{entry.number}}}'
    )
    return hashlib.sha256((text + entry.previous).encode("ascii", "backslashreplace")).hexdigest()


def linked(lot: str, number: int, previous: str, drafts: Iterable[Draft]) -> Iterator[Entry]:
    """``drafts`` as the entries that follow entry ``number``, whose digest is ``previous``."""
    for draft in drafts:
        number += 1
        entry = Entry(
            lot, number, draft.kind, draft.at, draft.by, canonical(draft.body), previous, ""
        )
        previous = digest_of(entry)
        yield Entry(lot, number, entry.kind, entry.at, entry.by, entry.body, entry.previous,
                    previous)  # fmt: skip


def breaks_in(lot: str, entries: Iterable[Entry]) -> Iterator[Break]:
    """Every place where the entries of ``lot``, in their order, do not hold together."""
    number, previous = 0, START
    for entry in entries:
        number += 1
        if entry.number != number:
            yield Break(lot, number, "missing")
            number = entry.number
        elif entry.previous != previous:
            yield Break(lot, number, "link")
        if digest_of(entry) != entry.digest:
            yield Break(lot, entry.number, "content")
        previous = entry.digest
