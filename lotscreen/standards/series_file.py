"""Reading one series file (TOML) into coin types; every complaint names file, key, value, mend.

A file has ``[series]`` (``state``), ``[sources]`` (short name = citation), ``[defaults]``
(figures of every type), ``[unit."half dollar"]`` (figures of every type of that unit) and
one ``[[type]]`` table a dated standard. Nearer tables win, lists of words add up;
``source.<figure>`` cites.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from lotscreen.quantities import GRAIN_G
from lotscreen.records import StandardsError
from lotscreen.standards.alloys import Alloy
from lotscreen.standards.coin_type import CoinType, Remedy
from lotscreen.standards.fields import (
    CITABLE,
    CITED,
    FIELDS,
    OWN_TABLES,
    PLAIN,
    REMEDY_FIELDS,
    REQUIRED,
    WORD_LISTS,
    Rule,
)
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class Entry:
    """One type as its file gives it: the record, what it replaces, and its relations.

    ``part_of`` lists (whole's key, parts); ``printed`` maps a figure to (grams,
    grains) where the source prints both.
    """

    file: str
    coin_type: CoinType
    replaces: str
    part_of: tuple[tuple[str, int], ...]
    printed: Mapping[str, tuple[float, float]]


def wrong(file: str, key: str, name: str, value: object, mend: str) -> StandardsError:
    """The one form of every complaint about a standards file."""
    shown = say("standards.nothing") if value is None else repr(value)
    return StandardsError(
        say("standards.wrong", file=file, type_key=key or "?", name=name, value=shown, mend=mend)
    )


def read_series(path: Path | Traversable, alloys: Mapping[str, Alloy]) -> list[Entry]:
    """The types of one series file in its order; StandardsError where it is wrong."""
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise StandardsError(say("standards.unreadable", file=path.name, why=error)) from error
    _check_tables(path.name, raw)
    return [_entry(path.name, raw, own, alloys) for own in raw["type"]]


def _check_tables(file: str, raw: dict[str, Any]) -> None:
    """Only the tables a series file may have, each of its kind, at least one type."""
    for table, kind in OWN_TABLES.items():
        if not isinstance(raw.setdefault(table, kind()), kind):
            raise wrong(file, "", table, raw[table], say("standards.mend.table"))
    for table in sorted(set(raw) - set(OWN_TABLES)):
        raise wrong(file, "", table, raw[table], say("standards.mend.table"))
    if not raw["type"] or not all(isinstance(own, dict) for own in raw["type"]):
        raise wrong(file, "", "type", raw["type"], say("standards.mend.no_types"))
    for unit, table in raw["unit"].items():
        if not isinstance(table, dict):
            raise wrong(file, "", f"unit.{unit}", table, say("standards.mend.unit"))
    for name, text in raw["sources"].items():
        if not isinstance(text, str):
            raise wrong(file, "", f"sources.{name}", text, say("standards.mend.text"))


def _entry(
    file: str, raw: Mapping[str, Any], own: Mapping[str, Any], alloys: Mapping[str, Alloy]
) -> Entry:
    draft = _Draft(file, str(own.get("key", "")), raw["sources"])
    draft.take({"state": raw["series"].get("state")})
    draft.take(raw["defaults"])
    draft.take(raw["unit"].get(own.get("unit", ""), {}))
    draft.take(own)
    draft.check_figures()
    return draft.entry(alloys)


@dataclass(frozen=True, slots=True)
class _Draft:
    """The figures of one type while its tables are merged and its sources looked up."""

    file: str
    key: str
    citations: Mapping[str, str]
    values: dict[str, Any] = field(default_factory=dict)
    given: dict[str, str] = field(default_factory=dict)
    printed: dict[str, tuple[float, float]] = field(default_factory=dict)

    def wrong(self, name: str, value: object, mend: str) -> StandardsError:
        return wrong(self.file, self.key, name, value, mend)

    def take(self, layer: Mapping[str, Any]) -> None:
        """Put a nearer table over what is there; lists of words add up."""
        for name, value in layer.items():
            if name == "source":
                self.check_sources(value)
                self.given.update(value)
            elif name in WORD_LISTS and isinstance(value, list):
                self.values[name] = [*self.values.get(name, []), *value]
            else:
                self.values[name] = value

    def check_sources(self, given: object) -> None:
        """A table of texts whose names are figures that need a source."""
        if not isinstance(given, dict):
            raise self.wrong("source", given, say("standards.mend.source_table"))
        for name, source in given.items():
            if name not in CITABLE:
                mend = say("standards.mend.unknown_figure", names=", ".join(CITABLE))
                raise self.wrong(f"source.{name}", source, mend)
            if not isinstance(source, str):
                raise self.wrong(f"source.{name}", source, say("standards.mend.source"))

    def check_figures(self) -> None:
        """Every figure known and in its range, every required one there."""
        for name, value in self.values.items():
            self.check(name, name, value, FIELDS)
        for name in REQUIRED:
            if self.values.get(name) is None:
                raise self.wrong(name, None, say("standards.mend.missing"))

    def check(self, shown: str, name: str, value: Any, rules: Mapping[str, Rule]) -> None:
        if name not in rules:
            mend = say("standards.mend.unknown_figure", names=", ".join(sorted(rules)))
            raise self.wrong(shown, value, mend)
        if value is not None and not rules[name].test(value):
            raise self.wrong(shown, value, rules[name].mend)

    def cited(self, name: str, source: str | None) -> str:
        """The full citation that ``source`` stands for; every figure needs one."""
        if not source:
            raise self.wrong(f"source.{name}", None, say("standards.mend.source"))
        if source in self.citations:
            return self.citations[source]
        if " " not in source and source != "assumed":
            raise self.wrong(f"source.{name}", source, say("standards.mend.unknown_source"))
        return source

    def grams(self, name: str, grams: float | None, grains: float | None) -> float | None:
        """The printed grams, else the grains turned to grams; ``printed`` keeps both."""
        if grams is not None and grains is not None:
            self.printed[name] = (grams, grains)
        if grams is not None:
            return float(grams)
        return None if grains is None else grains * GRAIN_G

    def weight(self) -> float:
        weight = self.grams(
            "weight_g", self.values.get("weight_g"), self.values.get("weight_grains")
        )
        if weight is None:
            raise self.wrong("weight_g", None, say("standards.mend.missing"))
        return weight

    def density(self, alloys: Mapping[str, Alloy]) -> tuple[float, float, str]:
        """Density, width and source: the type's own, else those of its alloy."""
        if "density_g_cm3" in self.values:
            if "density_sd_g_cm3" not in self.values:
                raise self.wrong("density_sd_g_cm3", None, say("standards.mend.missing"))
            own = self.values["density_g_cm3"], self.values["density_sd_g_cm3"]
            return (*own, self.cited("density_g_cm3", self.given.get("density_g_cm3")))
        name = self.values.get("alloy", "")
        if name not in alloys:
            raise self.wrong("alloy", name, say("standards.mend.alloy", names=", ".join(alloys)))
        alloy = alloys[name]
        return alloy.density_g_cm3, alloy.sd, alloy.source

    def remedies(self, weight_g: float) -> tuple[Remedy, ...]:
        found: list[Remedy] = []
        for number, entry in enumerate(self.values.get("remedies", []), start=1):
            name = f"remedies[{number}]"
            for part, value in entry.items():
                self.check(f"{name}.{part}", part, value, REMEDY_FIELDS)
            grams = self.grams(name, entry.get("g"), entry.get("grains"))
            if grams is None and "per_mille" in entry:
                grams = weight_g * entry["per_mille"] / 1000
            if grams is None:
                raise self.wrong(name, entry, say("standards.mend.remedy"))
            source = self.cited(name, entry.get("source"))
            found.append(Remedy(entry.get("from_year"), grams, source, entry.get("grains")))
        starts = [remedy.from_year or 0 for remedy in found]
        if starts != sorted(set(starts)):
            raise self.wrong("remedies", starts, say("standards.mend.remedy_order"))
        return tuple(found)

    def least_current(self, weight_g: float, remedies: tuple[Remedy, ...]) -> float | None:
        """The least current weight: printed, or so much of the standard below the remedy."""
        below: float | None = self.values.get("least_below_remedy_share")
        if below is not None:
            remedy = remedies[-1].weight_g if remedies else 0.0
            return weight_g * (1 - below) - remedy
        return self.grams(
            "least_current_g",
            self.values.get("least_current_g"),
            self.values.get("least_current_grains"),
        )

    def sources(self, density_source: str) -> dict[str, str]:
        """Figure to citation; a figure given in another way is cited under its own name."""
        found = {"density_g_cm3": density_source}
        for name, figure in CITED.items():
            if self.values.get(name) is not None:
                found[figure] = self.cited(figure, self.given.get(figure))
        found["magnetic"] = say("standards.magnet_source")
        found["years"] = self.cited("years", self.given.get("years"))
        return dict(sorted(found.items()))

    def entry(self, alloys: Mapping[str, Alloy]) -> Entry:
        values = self.values
        weight = self.weight()
        remedies = self.remedies(weight)
        density, density_sd, density_source = self.density(alloys)
        record: dict[str, Any] = {name: values.get(name) for name in PLAIN}
        record |= {name: tuple(values.get(name, ())) for name in WORD_LISTS}
        record |= {name: values.get(name, False) for name in ("magnetic", "said_only")}
        coin_type = CoinType(
            **record,
            weight_g=weight,
            remedies=remedies,
            least_current_g=self.least_current(weight, remedies),
            density_g_cm3=density,
            density_sd_g_cm3=density_sd,
            first_year_note=values.get("first_year_shared", ""),
            sources=self.sources(density_source),
        )
        wholes = values.get("part_of", [])
        wholes = wholes if isinstance(wholes, list) else [wholes]
        relations = tuple((whole["type"], whole["parts"]) for whole in wholes)
        return Entry(self.file, coin_type, values.get("replaces", ""), relations, self.printed)
