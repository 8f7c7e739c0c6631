"""A screening as entries: the run, then readings and findings that are not yet written down.

The chain holds what is new. The state of a lot is the last entry of each reading and of each
coin, so that what a later run changed is exactly what it added.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from lotscreen.ledger.chain import Draft, Entry, canonical
from lotscreen.records import ItemKind
from lotscreen.screening import Screening

RUN, READING, FINDING = "run", "reading", "finding"
_READING_COLUMNS = (
    "item_id", "quantity", "value", "unit", "raw", "instrument", "person", "time", "status", "why",
)  # fmt: skip
Body = Mapping[str, Any]


def entries_of_run(
    screening: Screening, about: Body, written: Sequence[Entry], *, at: str, by: str
) -> list[Draft]:
    """The drafts that ``screening`` adds to the chain ``written``; ``about`` joins the run's
    own entry (JSON-safe). Nothing where all of it is written down already."""
    known = {_key(e.kind, e.said()): e.body for e in written if e.kind in (READING, FINDING)}
    new = [
        Draft(kind, at, by, body)
        for kind, bodies in ((READING, _readings(screening)), (FINDING, _findings(screening)))
        for body in bodies
        if known.get(_key(kind, body)) != canonical(body)
    ]
    run = Draft(RUN, at, by, {**_run(screening), **about})
    last = next((entry.body for entry in reversed(written) if entry.kind == RUN), "")
    return [] if not new and canonical(run.body) == last else [run, *new]


def _key(kind: str, body: Body) -> tuple[object, ...]:
    return (kind, body["item"], body.get("quantity", ""), body.get("place", 0))


def _run(screening: Screening) -> dict[str, Any]:
    intake = screening.intake
    return {
        "sources": [[s.name, s.digest, s.rows] for s in intake.sources],
        "rows_read": intake.rows_read,
        "left_out": len(intake.left_out),
        "doubts": len(intake.doubts),
        "settings": asdict(screening.settings),
        "settings_digest": screening.settings.digest(),
        "standards_digest": screening.standards.digest,
        "seed": screening.seed,
        "given": dict(screening.given),
    }


def _readings(screening: Screening) -> Iterator[dict[str, Any]]:
    items = screening.intake.items
    coins = dict(zip(items["item_id"], items["coin_id"], strict=True))
    columns = [screening.intake.readings[name].tolist() for name in _READING_COLUMNS]
    places: dict[tuple[str, str], int] = {}
    for item, quantity, value, unit, raw, instrument, person, time, status, why in zip(
        *columns, strict=True
    ):
        place = places[item, quantity] = places.get((item, quantity), 0) + 1
        yield {
            "item": item, "coin": coins[item], "quantity": quantity, "place": place,
            "value": value, "unit": unit, "raw": raw, "instrument": instrument,
            "person": person, "time": time, "status": status, "why": why,
        }  # fmt: skip


def _findings(screening: Screening) -> Iterator[dict[str, Any]]:
    table, findings = screening.table, screening.findings
    ids = dict(zip(screening.intake.items["item_id"], screening.intake.items["coin_id"],
                   strict=True))  # fmt: skip
    for row in np.flatnonzero(table.kind == ItemKind.COIN.value).tolist():
        item = str(table.item_id[row])
        yield {
            "item": item, "coin": ids[item], "type": str(table.type_key[row]),
            "weight_g": _number(table.weight_g[row], 4),
            "diameter_mm": _number(table.diameter_mm[row], 3),
            "thickness_mm": _number(table.thickness_mm[row], 3),
            "finding": str(findings.finding[row]), "reason": str(findings.reason[row]),
            "p_value": _number(findings.p_value[row], 6),
            "log10_lr": _number(findings.log10_lr[row], 3),
            "explanations": str(findings.explanations[row]),
        }  # fmt: skip


def _number(value: float, decimals: int) -> float | None:
    """Rounded; None for no reading, no zero with a sign."""
    return round(float(value), decimals) + 0.0 if math.isfinite(value) else None
