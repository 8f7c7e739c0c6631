"""Densities of coin alloys and of the metals that have stood in for them."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Alloy:
    """One metal or alloy: density with its width (one standard deviation), g/cm3.

    ``fits_metals`` names the coin metals for which it is a rival explanation; empty for
    an alloy that is on file only as what coins are made of.
    """

    name: str
    density_g_cm3: float
    sd: float
    source: str
    fits_metals: tuple[str, ...]


@cache
def load_alloys() -> Mapping[str, Alloy]:
    """Every alloy on file by its short name, in the order of the file."""
    path = files("lotscreen.standards") / "data" / "alloys.toml"
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    sources: dict[str, str] = raw["sources"]
    return MappingProxyType(
        {
            key: Alloy(
                name=entry["name"],
                density_g_cm3=float(entry["density_g_cm3"]),
                sd=float(entry["sd"]),
                source=sources.get(entry["source"], entry["source"]),
                fits_metals=tuple(entry["fits_metals"]),
            )
            for key, entry in raw["alloys"].items()
        }
    )
