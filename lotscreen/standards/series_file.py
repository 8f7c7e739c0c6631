"""Reading one series file (TOML) into coin types; every complaint names file, key, value, mend.

A file has ``[series]`` (``state``), ``[sources]`` (short name = citation), ``[defaults]``
(figures of every type), ``[unit."half dollar"]`` (figures of every type of that unit) and
one ``[[type]]`` table a dated standard. Nearer tables win; ``source.<figure>`` cites.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from lotscreen.quantities import GRAIN_G
from lotscreen.records import StandardsError
from lotscreen.standards.alloys import Alloy
from lotscreen.standards.coin_type import CoinType, Remedy
from lotscreen.standards.fields import FIELDS, OWN_TABLES, REQUIRED, checked
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class Entry:
    """One type as its file gives it: the record, what it replaces, and its relations.

    ``part_of`` is (whole's key, parts) or None; ``printed`` maps a figure in grams to the
    same figure in grains where the source prints both.
    """

    file: str
    coin_type: CoinType
    replaces: str
    part_of: tuple[str, int] | None
    printed: Mapping[str, tuple[float, float]]


def wrong(file: str, key: str, name: str, value: object, mend: str) -> StandardsError:
    """The one form of every complaint about a standards file."""
    return StandardsError(
        say(
            "standards.wrong",
            file=file,
            type_key=key or "?",
            name=name,
            value=repr(value),
            mend=mend,
        )
    )


def read_series(path: Path | Traversable, alloys: Mapping[str, Alloy]) -> list[Entry]:
    """The types of one series file in its order; StandardsError where it is wrong."""
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise StandardsError(say("standards.unreadable", file=path.name, why=error)) from error
    for table in raw:
        if table not in OWN_TABLES:
            raise wrong(path.name, "", table, raw[table], say("standards.mend.table"))
    types = raw.get("type", [])
    if not isinstance(types, list) or not types:
        raise wrong(path.name, "", "type", types, say("standards.mend.no_types"))
    return [_entry(path.name, raw, own, alloys) for own in types]


def _entry(
    file: str, raw: Mapping[str, Any], own: Mapping[str, Any], alloys: Mapping[str, Alloy]
) -> Entry:
    key = str(own.get("key", ""))
    unit = raw.get("unit", {}).get(own.get("unit", ""), {})
    layers = [raw.get("defaults", {}), unit, own]
    values: dict[str, Any] = {"state": raw.get("series", {}).get("state")}
    sources: dict[str, str] = {}
    for layer in layers:
        values.update({k: v for k, v in layer.items() if k != "source"})
        sources.update(layer.get("source", {}))
    for name in sorted(set(values) - set(FIELDS)):
        raise wrong(file, key, name, values[name], say("standards.mend.unknown_figure"))
    for name in REQUIRED:
        if values.get(name) in (None, ""):
            raise wrong(file, key, name, values.get(name), say("standards.mend.missing"))
    values = {name: checked(file, key, name, value) for name, value in values.items()}
    cited = _Citations(file, key, raw.get("sources", {}), sources)
    return _build(file, key, values, cited, alloys)


@dataclass(frozen=True, slots=True)
class _Citations:
    """Turns short source names into the full citation of a figure."""

    file: str
    key: str
    known: Mapping[str, str]
    given: Mapping[str, str]

    def text(self, name: str, source: str | None) -> str:
        if not source:
            raise wrong(self.file, self.key, f"source.{name}", source, say("standards.mend.source"))
        if source in self.known:
            return self.known[source]
        if " " not in source and source != "assumed":
            raise wrong(
                self.file, self.key, f"source.{name}", source, say("standards.mend.unknown_source")
            )
        return source

    def of(self, name: str) -> str:
        return self.text(name, self.given.get(name))


def _build(
    file: str,
    key: str,
    values: dict[str, Any],
    cited: _Citations,
    alloys: Mapping[str, Alloy],
) -> Entry:
    printed: dict[str, tuple[float, float]] = {}
    weight = _grams("weight_g", values, "weight_g", "weight_grains", printed)
    if weight is None:
        raise wrong(file, key, "weight_g", None, say("standards.mend.missing"))
    least = _grams("least_current_g", values, "least_current_g", "least_current_grains", printed)
    density, density_sd, density_source = _density(file, key, values, cited, alloys)
    remedies = _remedies(file, key, values.get("remedies", []), cited, printed)
    sources = {name: cited.of(name) for name in _cited_names(values)}
    sources["density_g_cm3"] = density_source
    part = values.get("part_of")
    coin_type = CoinType(
        key=key,
        name=values["name"],
        state=values["state"],
        unit=values["unit"],
        words=tuple(values["words"]),
        metal=values["metal"],
        first_year=values["first_year"],
        last_year=values.get("last_year"),
        weight_g=weight,
        weight_grains=values.get("weight_grains"),
        remedies=remedies,
        fineness=values.get("fineness"),
        fineness_remedy=values.get("fineness_remedy"),
        fine_metal=values.get("fine_metal"),
        diameter_mm=values.get("diameter_mm"),
        thickness_mm=values.get("thickness_mm"),
        least_current_g=least,
        abrasion_share=values.get("abrasion_share"),
        abrasion_years=values.get("abrasion_years"),
        density_g_cm3=density,
        density_sd_g_cm3=density_sd,
        circulation_end=values["circulation_end"],
        wear_per_year=values["wear_per_year"],
        wear_log_sd=values["wear_log_sd"],
        magnetic=values.get("magnetic", False),
        face=values["face"],
        sources=sources,
        qualifiers=tuple(values.get("qualifiers", ())),
        first_year_note=values.get("first_year_shared", ""),
        first_year_marks=tuple(values.get("first_year_marks", ())),
    )
    relation = None if part is None else (str(part["type"]), int(part["parts"]))
    return Entry(file, coin_type, values.get("replaces", ""), relation, printed)


def _grams(
    name: str,
    values: Mapping[str, Any],
    in_grams: str,
    in_grains: str,
    printed: dict[str, tuple[float, float]],
) -> float | None:
    """The printed grams, else the grains in grams; both where given go to ``printed``."""
    grams, grains = values.get(in_grams), values.get(in_grains)
    if grams is not None and grains is not None:
        printed[name] = (float(grams), float(grains))
    if grams is not None:
        return float(grams)
    return None if grains is None else float(grains) * GRAIN_G


def _density(
    file: str,
    key: str,
    values: Mapping[str, Any],
    cited: _Citations,
    alloys: Mapping[str, Alloy],
) -> tuple[float, float, str]:
    if "density_g_cm3" in values:
        if "density_sd_g_cm3" not in values:
            raise wrong(file, key, "density_sd_g_cm3", None, say("standards.mend.missing"))
        return (
            values["density_g_cm3"], values["density_sd_g_cm3"], cited.of("density_g_cm3")
        )  # fmt: skip
    name = values.get("alloy", "")
    if name not in alloys:
        raise wrong(file, key, "alloy", name, say("standards.mend.alloy", names=", ".join(alloys)))
    alloy = alloys[name]
    return alloy.density_g_cm3, alloy.sd, alloy.source


def _remedies(
    file: str,
    key: str,
    given: Sequence[Mapping[str, Any]],
    cited: _Citations,
    printed: dict[str, tuple[float, float]],
) -> tuple[Remedy, ...]:
    found: list[Remedy] = []
    for number, entry in enumerate(given, start=1):
        name = f"remedies[{number}]"
        grams = _grams(name, entry, "g", "grains", printed)
        if grams is None or grams <= 0:
            raise wrong(file, key, name, dict(entry), say("standards.mend.remedy"))
        source = cited.text(name, entry.get("source"))
        found.append(Remedy(entry.get("from_year"), grams, source))
    starts = [remedy.from_year or 0 for remedy in found]
    if starts != sorted(set(starts)):
        raise wrong(file, key, "remedies", starts, say("standards.mend.remedy_order"))
    return tuple(found)


_CITED = (
    "weight_g",
    "fineness",
    "fineness_remedy",
    "diameter_mm",
    "thickness_mm",
    "least_current_g",
    "abrasion_share",
    "circulation_end",
    "wear_per_year",
)


def _cited_names(values: Mapping[str, Any]) -> list[str]:
    names = [name for name in _CITED if name in values]
    if "weight_g" not in names:
        names.insert(0, "weight_g")
    if "least_current_grains" in values and "least_current_g" not in names:
        names.append("least_current_g")
    return [*names, "years"]
