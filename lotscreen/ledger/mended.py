"""What entries say once the corrections written after them are followed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from lotscreen.ledger.chain import Entry

CORRECTION = "correction"


def bodies_as_corrected(entries: Sequence[Entry], kind: str) -> dict[int, dict[str, Any]]:
    """The bodies by number of the entries of ``kind``, and of corrections, each as corrected
    since; a correction may itself be corrected."""
    told = [entry for entry in entries if entry.kind in (kind, CORRECTION)]
    bodies = {entry.number: entry.said() for entry in told}
    settled: set[tuple[int, str]] = set()
    # the last first: what is said of a correction is settled before it is followed
    for entry in reversed(told):
        mended = bodies[entry.number]
        number, name = mended.get("entry", entry.number), mended.get("field", "")
        if entry.kind != CORRECTION or number not in bodies or number >= entry.number:
            continue
        if (number, name) not in settled:
            bodies[number][name] = mended["new"]
            settled.add((number, name))
    return bodies
