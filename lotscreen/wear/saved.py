"""A ``Fit`` as plain values with a schema version, and back without loss."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, fields
from typing import Any

import numpy as np

from lotscreen.instruments import ScaleBelief
from lotscreen.records import InputError
from lotscreen.standards import StandardsTable
from lotscreen.wear.fit import Fit
from lotscreen.wear.grades import GradeLevels
from lotscreen.wear.group_levels import GroupLevels
from lotscreen.wear.levels import LinePrior
from lotscreen.wear.relief import Relief
from lotscreen.wear.struck import Struck
from lotscreen.wear.type_fit import GaugeFit, TypeFit
from lotscreen.words import say

SCHEMA = "1.3"
"""Raised when a field changes or the components do, whose shares are saved by their order."""
_RECORDS = {
    "prior": LinePrior,
    "belief": ScaleBelief,
    "struck": Struck,
    "diameter": GaugeFit,
    "thickness": GaugeFit,
    "relief": Relief,
    "groups": GroupLevels,
    "grades": GradeLevels,
}


_LEFT_OUT_IF_NONE = ("groups", "grades")


def fit_to_dict(fit: Fit) -> dict[str, Any]:
    """JSON-safe values (numbers, texts, lists, None for NaN); see :func:`fit_from_dict`."""
    return {
        "schema": SCHEMA,
        "settings_digest": fit.settings_digest,
        "seed": fit.seed,
        "belief": asdict(fit.belief),
        "items": sorted(fit.items),
        "standards": fit.standards.to_dict(),
        "types": {key: _type_to_dict(t) for key, t in sorted(fit.types.items())},
    }


def fit_from_dict(saved: Mapping[str, Any]) -> Fit:
    """The fit that :func:`fit_to_dict` saved; InputError where the schema is another."""
    if saved.get("schema") != SCHEMA:
        raise InputError(say("findings.saved.schema", found=saved.get("schema"), schema=SCHEMA))
    standards = StandardsTable.from_dict(saved["standards"])
    return Fit(
        types={key: _type_from_dict(key, t, standards) for key, t in saved["types"].items()},
        standards=standards,
        belief=ScaleBelief(**saved["belief"]),
        settings_digest=saved["settings_digest"],
        items=frozenset(saved["items"]),
        seed=saved["seed"],
    )


def _type_to_dict(fit: TypeFit) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for f in fields(fit):
        value = getattr(fit, f.name)
        if f.name == "coin_type" or (f.name in _LEFT_OUT_IF_NONE and value is None):
            continue
        if f.name in _RECORDS and value is not None:
            values[f.name] = {k: _plain(v) for k, v in asdict(value).items()}
        else:
            values[f.name] = _plain(value)
    return values


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return [_plain(v) for v in value] if value.ndim > 1 else [_plain(float(v)) for v in value]
    if isinstance(value, float):
        return None if value != value else float(value)
    return value


def _type_from_dict(key: str, saved: Mapping[str, Any], standards: StandardsTable) -> TypeFit:
    values: dict[str, Any] = {"coin_type": standards.get(key)}
    for name, value in saved.items():
        if name == "relief" and value is None:
            values[name] = None
        elif name in _RECORDS:
            values[name] = _RECORDS[name](**{k: _back(v) for k, v in value.items()})
        elif isinstance(value, list):
            values[name] = np.array(value, dtype=np.float64)
        else:
            values[name] = _back(value)
    return TypeFit(**values)


def _back(value: Any) -> Any:
    if isinstance(value, list):
        texts = bool(value) and isinstance(value[0], str)
        return tuple(value) if texts else np.array(value, dtype=np.float64)
    return float("nan") if value is None else value
