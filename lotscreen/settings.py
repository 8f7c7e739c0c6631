"""One frozen record of everything a user may choose, with unit, range and source.

Order of precedence: built in < settings file (TOML) < command line. The report prints
all of them and every finding carries their digest.
"""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields, replace
from pathlib import Path
from typing import Any

from lotscreen.records import SettingsError


def _setting(default: Any, unit: str, low: float, high: float, source: str, says: str) -> Any:
    meta = {"unit": unit, "low": low, "high": high, "source": source, "says": says}
    return field(default=default, metadata=meta)


_ASSUMED = "assumed"
ALARMS_PER_LIMIT = 1.5
"""Honest coins set aside, at most, in times of the limit (checked by simulation)."""


@dataclass(frozen=True, slots=True)
class Settings:
    """Every default with unit, range and source or "assumed" (see each field's metadata)."""

    # fmt: off
    limit: float = _setting(
        0.002, "share of honest coins", 1e-6, 0.2, _ASSUMED,
        "a coin rarer than this among honest coins is not called consistent",
    )
    slip_rate: float = _setting(
        0.01, "share of cells", 0.0, 0.5,
        "0.55-3.6 % of hand-entered cells, Barchard and colleague, "
        "Behavior Research Methods 2019; the value is assumed",
        "how often a typed cell is wrong, before seeing it",
    )
    own_rate: float | None = _setting(
        None, "share of coins", 0.0, 1.0, "the user's own",
        "the share of coins not honest that the user expects; no probability without it",
    )
    weight_sd_g: float | None = _setting(
        None, "g", 0.0, 10.0, _ASSUMED,
        "one standard deviation of a weighing; from the balance's step when not given",
    )
    length_sd_mm: float | None = _setting(
        None, "mm", 0.0, 5.0, _ASSUMED,
        "one standard deviation of a caliper reading; from its step when not given",
    )
    scale_width: float = _setting(
        0.001, "share of the weight", 0.0, 0.05, _ASSUMED,
        "how far the balance may be off when no check weight was read",
    )
    mint_bias_width: float = _setting(
        0.0003, "share of the weight", 0.0, 0.05,
        "draft limits of the Act of 12 February 1873, 17 Stat. 424, s. 37; the value is assumed",
        "how far the mean struck weight of an issue may be from its standard",
    )
    struck_sd_of_remedy: float = _setting(
        0.5, "share of the remedy", 0.05, 2.0,
        "trial of 10 000 sovereigns of 1848: 0.130 gr against a remedy of 0.256 gr (Stigler 1999)",
        "spread of newly struck coins, one standard deviation",
    )
    wear_factor: float = _setting(
        1.0, "times the type's wear allowance", 0.05, 20.0, _ASSUMED,
        "multiplies the expected wear of every type before the lot is seen",
    )
    circulation_end: int | None = _setting(
        None, "year", 1700, 2200, _ASSUMED,
        "the year in which the coins left circulation; by type when not given",
    )
    circulation_end_width: float = _setting(
        5.0, "years", 0.0, 100.0, _ASSUMED,
        "how far the end of circulation may be from the year used, one standard deviation",
    )
    thickness_mates: int = _setting(
        8, "coins", 3, 1000, _ASSUMED,
        "thickness speaks only against this many lot-mates",
    )
    check_tolerance_steps: float = _setting(
        3.0, "steps of the balance", 0.5, 100.0, _ASSUMED,
        "a check weight further off than this fails",
    )
    folds_up_to: int = _setting(
        300, "coins", 0, 1000000, _ASSUMED,
        "findings are judged again without their fold of the lot where a type has no more coins",
    )
    clean_share: float = _setting(
        0.005, "share of coins", 0.0, 0.5, _ASSUMED,
        "share of departing coins that the sequential test tolerates, besides honest alarms",
    )
    bad_share: float = _setting(
        0.05, "share of coins", 0.0, 1.0, _ASSUMED,
        "share set aside at which the sequential test should say: measure all",
    )
    risk_measure_all: float = _setting(
        0.05, "probability", 0.0001, 0.5, _ASSUMED,
        "risk to measure all of a clean lot",
    )
    risk_accept: float = _setting(
        0.05, "probability", 0.0001, 0.5, _ASSUMED,
        "risk to accept a bad lot",
    )
    first_coins: int = _setting(
        0, "coins", 0, 100000, "the user's own",
        "the running chart fixes its centre on this many first coins, which then do not count",
    )
    drawn_at_random: int = _setting(
        0, "0 or 1", 0, 1, "the user's own",
        "1: the coins were drawn at random by a written list, and lie in that order",
    )
    # fmt: on

    def __post_init__(self) -> None:
        for f in fields(self):
            _check_range(f.name, getattr(self, f.name), f.metadata)

    def digest(self) -> str:
        """First 16 hex digits of the SHA-256 of all values, names sorted."""
        text = json.dumps(asdict(self), sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()[:16]

    def with_values(self, values: Mapping[str, Any]) -> Settings:
        """A copy with ``values``; an unknown name is a SettingsError that lists the names."""
        names = {f.name for f in fields(self)}
        unknown = sorted(set(values) - names)
        if unknown:
            raise SettingsError(
                f"setting {unknown[0]!r} is not known; the names are {', '.join(sorted(names))}"
            )
        return replace(self, **values)


def _check_range(name: str, value: Any, meta: Mapping[str, Any]) -> None:
    if value is None and name in _MAY_BE_NONE:
        return
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise SettingsError(f"{name} is {value!r}; it must be a number ({meta['unit']})")
    if not meta["low"] <= value <= meta["high"]:
        low, high = meta["low"], meta["high"]
        raise SettingsError(f"{name} is {value}; it must lie between {low} and {high}")


_MAY_BE_NONE = frozenset({"own_rate", "weight_sd_g", "length_sd_mm", "circulation_end"})


def load_settings(path: Path | None, overrides: Mapping[str, Any]) -> Settings:
    """Built in < the TOML file at ``path`` < ``overrides`` (None values are no override)."""
    values: dict[str, Any] = {}
    if path is not None:
        try:
            values.update(tomllib.loads(path.read_text(encoding="utf-8")))
            Settings().with_values(values)
        except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
            raise SettingsError(f"{path.name}: cannot be read as settings: {error}") from error
        except SettingsError as error:
            raise SettingsError(f"{path.name}: {error}") from error
    values.update({k: v for k, v in overrides.items() if v is not None})
    return Settings().with_values(values)
