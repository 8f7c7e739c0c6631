"""``lot.json``: what a run found, for programs. Schema 1.0: fields are added, never renamed.

The schema itself stands in ``schemas/lot-1.0.json``. Coins are in coins.csv; here are the
counts, what is said of each lot, and the coins that need a hand. Numbers are rounded to
six significant digits; NaN and infinite become null.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, fields, is_dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from lotscreen.records import FindingKind, Intake, ItemKind
from lotscreen.report import tables

if TYPE_CHECKING:
    import pandas as pd

    from lotscreen.lot.statement import LotStatement
    from lotscreen.screening import Screening
    from lotscreen.sequential.running import RunningChart

SCHEMA = "1.0"
_SIGNIFICANT_DIGITS = 6
_ON_EACH_COIN = (
    "coin_id", "item_id", "group", "type", "date", "weight_g", "score", "p_value", "finding",
    "reason", "next_test",
)  # fmt: skip

_OF_EACH_STANDARD = (
    "key", "name", "state", "unit", "metal", "first_year", "last_year", "weight_g", "remedies",
    "fineness", "diameter_mm", "thickness_mm", "least_current_g", "sources",
)  # fmt: skip


def lot_json(screening: Screening, options: Mapping[str, Any], version: str, run: str) -> str:
    """The text of ``lot.json``. ``options`` are the choices of the run besides settings and
    seed; ``run`` is its digest. Raises nothing for a well-formed ``screening``."""
    coins = tables.coins_frame(screening)
    position = tables.aligned_items(screening).set_index("item_id")["position"]
    coins["position"] = position.reindex(coins["item_id"]).to_numpy()
    intake = screening.intake
    told = {
        "schema": SCHEMA,
        "program": {"name": "lotscreen", "version": version},
        "run": {
            "digest": run,
            "seed": screening.seed,
            "options": _exact(options),
            "settings_digest": screening.settings.digest(),
            "settings": _exact(asdict(screening.settings)),
            "standards_digest": screening.standards.digest,
            "fitted_with_other_lots": screening.fitted_with_others,
        },
        "sources": [_plain(source) for source in intake.sources],
        "rows": _rows(screening),
        "counts": _counts(coins["finding"]),
        "lots": [
            _lot(statement, screening.running.get(name), coins[coins["lot"] == name])
            for name, statement in screening.lots.items()
        ],
        "standards": _standards(screening),
        "tables": [_plain(understood) for understood in intake.tables],
        "doubts": _records(tables.doubts_frame(screening)),
        "left_out": _records(tables.left_out_frame(screening)),
        "parcel": _parcel(intake),
        "corrections": _records(intake.corrections),
        "sensitivity": _sensitivity(screening),
        "look_alikes": [_plain(group) for group in screening.look_alikes],
    }
    return json.dumps(told, ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def _sensitivity(screening: Screening) -> dict[str, Any]:
    """What was tried of each type, and the coins whose finding moves, in sheet order."""
    told, table = screening.sensitivity, screening.table
    found = zip(table.item_id, table.lot, screening.findings.finding, strict=True)
    return {
        "allowances": [str(way) for way in told.allowances],
        "most_coins": told.most_coins,
        "types": [_plain(of_type) for of_type in told.types],
        "moves": [
            {"item_id": item, "lot": lot, "finding": finding, "moves": _plain(told.moves[item])}
            for item, lot, finding in found
            if item in told.moves
        ],
    }


def _parcel(intake: Intake) -> dict[str, Any]:
    """What came in together: the files by name (more of them under "sources"), the lots
    with their rows used."""
    parcel = intake.parcel()
    return {
        "files": [source.name for source in parcel.sources],
        "lots": [_plain(lot) for lot in parcel.lots],
    }


def _rows(screening: Screening) -> dict[str, int]:
    of_kind = screening.rows_by_kind()
    return {
        "read": screening.intake.rows_read,
        "coins": of_kind[ItemKind.COIN],
        "groups": of_kind[ItemKind.GROUP],
        "check_weights": of_kind[ItemKind.CHECK],
        "left_out": len(screening.intake.left_out),
        "used": len(screening.intake.items),
        "reference_pieces": of_kind[ItemKind.REFERENCE],
    }


def _counts(found: pd.Series) -> dict[str, int]:
    return {kind.value: int((found == kind.value).sum()) for kind in FindingKind}


def _lot(
    statement: LotStatement, running: RunningChart | None, coins: pd.DataFrame
) -> dict[str, Any]:
    again = coins[coins["finding"] == FindingKind.RE_MEASURE]
    pull = coins[coins["finding"].isin([FindingKind.NOT_CONSISTENT, FindingKind.SET_ASIDE])]
    return {
        **_plain(statement),
        "re_measure": _named_coins(again),
        "pull": _named_coins(pull),
        "running": None if running is None else _running(running),
    }


def _named_coins(coins: pd.DataFrame) -> list[dict[str, Any]]:
    return _records(coins[[*_ON_EACH_COIN, "position"]])


def _running(running: RunningChart) -> dict[str, Any]:
    """The decision and its words; the chart's points are drawn in the report."""
    return {
        f.name: _plain(getattr(running, f.name))
        for f in fields(running)
        if not isinstance(getattr(running, f.name), np.ndarray)
    }


def _standards(screening: Screening) -> list[dict[str, Any]]:
    """The standards that coins were judged by or read like, each figure with its source."""
    keys = {key for key in screening.table.type_key if key}
    for statement in screening.lots.values():
        keys |= {other.other_key for other in statement.other_types}
    on_file = [coin_type for coin_type in screening.standards.types if coin_type.key in keys]
    return [
        {name: _exact(getattr(coin_type, name)) for name in _OF_EACH_STANDARD}
        for coin_type in on_file
    ]


def _records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    names = [str(name) for name in frame.columns]
    columns = [frame[name].astype(object).tolist() for name in names]
    return [
        {name: _plain(value) for name, value in zip(names, row, strict=True)}
        for row in zip(*columns, strict=True)
    ]


def _plain(value: Any, digits: int | None = _SIGNIFICANT_DIGITS) -> Any:
    """``value`` in the types of JSON, floats rounded to ``digits`` significant digits."""
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, float | np.floating):
        return _number(float(value), digits)
    if isinstance(value, np.generic):
        return _plain(value.item(), digits)
    if is_dataclass(value):
        return {f.name: _plain(getattr(value, f.name), digits) for f in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): _plain(inner, digits) for key, inner in value.items()}
    if isinstance(value, Sequence):
        return [_plain(inner, digits) for inner in value]
    return None  # pandas' missing value


def _exact(value: Any) -> Any:
    return _plain(value, digits=None)


def _number(value: float, digits: int | None) -> float | None:
    if not math.isfinite(value):
        return None
    return value if digits is None else float(f"{value:.{digits}g}") + 0.0
