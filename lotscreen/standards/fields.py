"""Which figures a type may give in its file, of what kind and in what range."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from lotscreen.words import say

OWN_TABLES: dict[str, type] = {
    "series": dict,
    "sources": dict,
    "defaults": dict,
    "unit": dict,
    "type": list,
}
WORD_LISTS = (
    "words", "qualifiers", "first_year_words", "last_year_words", "first_year_marks",
)  # fmt: skip


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


def _whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _parts(value: Any) -> bool:
    return all(_part(one) for one in (value if isinstance(value, list) else [value]))


def _part(value: Any) -> bool:
    return (
        isinstance(value, dict)
        and isinstance(value.get("type"), str)
        and _whole(value.get("parts"))
        and value["parts"] >= 2
    )


_KEY = Rule(
    lambda v: isinstance(v, str) and bool(v) and all(c.isalnum() or c == "-" for c in v),
    say("standards.mend.key"),
)
_TEXT = Rule(lambda v: isinstance(v, str) and bool(v.strip()), say("standards.mend.text"))
_TEXTS = Rule(
    lambda v: isinstance(v, list) and all(isinstance(t, str) and t.strip() for t in v),
    say("standards.mend.texts"),
)
_TRUE_FALSE = Rule(lambda v: isinstance(v, bool), say("standards.mend.true_false"))
_YEAR = Rule(lambda v: _whole(v) and 1 <= v <= 2200, say("standards.mend.year"))
_GRAMS = _number(0.05, 2000.0)
_GRAINS = _number(0.8, 31_000.0)

FIELDS: dict[str, Rule] = {
    "key": _KEY,
    "name": _TEXT,
    "state": _TEXT,
    "unit": _TEXT,
    "words": _TEXTS,
    "qualifiers": _TEXTS,
    "first_year_words": _TEXTS,
    "last_year_words": _TEXTS,
    "first_year_marks": _TEXTS,
    "first_year_shared": _TEXT,
    "said_only": _TRUE_FALSE,
    "metal": _TEXT,
    "alloy": _TEXT,
    "fine_metal": _TEXT,
    "face": _TEXT,
    "replaces": _KEY,
    "first_year": _YEAR,
    "last_year": _YEAR,
    "circulation_end": _YEAR,
    "weight_g": _GRAMS,
    "weight_grains": _GRAINS,
    "least_current_g": _GRAMS,
    "least_current_grains": _GRAINS,
    "least_below_remedy_share": _number(0.0, 0.2),
    "abrasion_share": _number(0.0, 0.2),
    "abrasion_years": Rule(
        lambda v: _whole(v) and 1 <= v <= 200, say("standards.mend.number", low=1, high=200)
    ),
    "fineness": _number(0.001, 1.0),
    "fineness_remedy": _number(0.0, 0.1),
    "diameter_mm": _number(3.0, 150.0),
    "thickness_mm": _number(0.2, 30.0),
    "density_g_cm3": _number(1.0, 23.0),
    "density_sd_g_cm3": _number(0.001, 3.0),
    "wear_per_year": _number(0.0, 0.05),
    "wear_log_sd": _number(0.01, 3.0),
    "magnetic": _TRUE_FALSE,
    "remedies": Rule(
        lambda v: isinstance(v, list) and all(isinstance(e, dict) for e in v),
        say("standards.mend.remedy"),
    ),
    "part_of": Rule(_parts, say("standards.mend.part_of")),
}
REMEDY_FIELDS: dict[str, Rule] = {
    "from_year": _YEAR,
    "g": _number(1e-6, 100.0),
    "grains": _number(1e-5, 1500.0),
    "per_mille": _number(0.01, 100.0),
    "source": _TEXT,
}
REQUIRED = (
    "key", "name", "state", "unit", "words", "metal", "face", "first_year", "circulation_end",
    "wear_per_year", "wear_log_sd",
)  # fmt: skip
# Figures that go into the record as they stand in the file.
PLAIN = (
    "key", "name", "state", "unit", "metal", "first_year", "last_year", "weight_grains",
    "least_current_grains", "fineness", "fineness_remedy", "fine_metal", "diameter_mm",
    "thickness_mm", "abrasion_share", "abrasion_years", "circulation_end", "wear_per_year",
    "wear_log_sd", "face",
)  # fmt: skip
# A figure in the file and the name under which its source must be given.
CITED = {
    "weight_g": "weight_g",
    "weight_grains": "weight_g",
    "fineness": "fineness",
    "fineness_remedy": "fineness_remedy",
    "diameter_mm": "diameter_mm",
    "thickness_mm": "thickness_mm",
    "least_current_g": "least_current_g",
    "least_current_grains": "least_current_g",
    "least_below_remedy_share": "least_current_g",
    "abrasion_share": "abrasion_share",
    "circulation_end": "circulation_end",
    "wear_per_year": "wear_per_year",
}
CITABLE = tuple(sorted({*CITED.values(), "density_g_cm3", "years"}))
