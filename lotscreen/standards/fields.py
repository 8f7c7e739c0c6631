"""Which figures a type may give, of what kind and in what range."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from lotscreen.records import StandardsError
from lotscreen.words import say

OWN_TABLES = frozenset({"series", "sources", "defaults", "unit", "type"})


@dataclass(frozen=True, slots=True)
class Rule:
    """What a figure must be: ``test`` holds for a good value, ``mend`` says so in words."""

    test: Callable[[Any], bool]
    mend: str


def _number(low: float, high: float) -> Rule:
    def good(value: Any) -> bool:
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        return is_number and low <= value <= high

    return Rule(good, say("standards.mend.number", low=low, high=high))


def _year() -> Rule:
    def good(value: Any) -> bool:
        return isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= 2200

    return Rule(good, say("standards.mend.year"))


def _text() -> Rule:
    return Rule(lambda v: isinstance(v, str) and bool(v.strip()), say("standards.mend.text"))


def _texts() -> Rule:
    def good(value: Any) -> bool:
        return isinstance(value, list) and all(isinstance(v, str) and v.strip() for v in value)

    return Rule(good, say("standards.mend.texts"))


def _part(value: Any) -> bool:
    return (
        isinstance(value, dict)
        and isinstance(value.get("type"), str)
        and isinstance(value.get("parts"), int)
        and value["parts"] >= 2
    )


FIELDS: dict[str, Rule] = {
    "key": _text(),
    "name": _text(),
    "state": _text(),
    "unit": _text(),
    "words": _texts(),
    "qualifiers": _texts(),
    "first_year_marks": _texts(),
    "metal": _text(),
    "alloy": _text(),
    "fine_metal": _text(),
    "face": _text(),
    "replaces": _text(),
    "first_year_shared": _text(),
    "first_year": _year(),
    "last_year": _year(),
    "circulation_end": _year(),
    "abrasion_years": _number(1, 200),
    "weight_g": _number(0.05, 2000.0),
    "weight_grains": _number(0.8, 31_000.0),
    "least_current_g": _number(0.05, 2000.0),
    "least_current_grains": _number(0.8, 31_000.0),
    "fineness": _number(0.001, 1.0),
    "fineness_remedy": _number(0.0, 0.1),
    "abrasion_share": _number(0.0, 0.2),
    "diameter_mm": _number(3.0, 150.0),
    "thickness_mm": _number(0.2, 30.0),
    "density_g_cm3": _number(1.0, 23.0),
    "density_sd_g_cm3": _number(0.001, 3.0),
    "wear_per_year": _number(0.0, 0.05),
    "wear_log_sd": _number(0.01, 3.0),
    "magnetic": Rule(lambda v: isinstance(v, bool), say("standards.mend.true_false")),
    "remedies": Rule(
        lambda v: isinstance(v, list) and all(isinstance(e, dict) for e in v),
        say("standards.mend.remedy"),
    ),
    "part_of": Rule(_part, say("standards.mend.part_of")),
}
REQUIRED = (
    "key", "name", "state", "unit", "words", "metal", "face", "first_year", "circulation_end",
    "wear_per_year", "wear_log_sd",
)  # fmt: skip


def checked(file: str, key: str, name: str, value: Any) -> Any:
    """``value`` if it keeps the figure's rule, else a StandardsError with the mend."""
    rule = FIELDS[name]
    if not rule.test(value):
        raise StandardsError(
            say(
                "standards.wrong", file=file, type_key=key or "?", name=name, value=repr(value),
                mend=rule.mend,
            )
        )  # fmt: skip
    return value
