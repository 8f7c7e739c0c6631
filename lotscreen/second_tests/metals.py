"""Metals as second tests and money see them: density, conductivity, stiffness, fine metal."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from lotscreen.standards import CoinType
from lotscreen.standards.alloys import load_alloys
from lotscreen.words import say

_SILVER, _GOLD, _COPPER = 10.5, 19.3, 8.96
"""Densities, g/cm3, X-Ray Data Booklet, section 5-2."""

_PURE = {"silver": _SILVER, "gold": _GOLD}
_DEBASED_CONDUCTIVITY_SD = 0.15
UNNAMED = "unnamed"
_FINENESS_APART = 0.02


@dataclass(frozen=True, slots=True)
class Metal:
    """One metal: density with one sd (g/cm3), conductivity with one sd (% IACS), stiffness
    (GPa), chances of no clear tone and of being drawn by a magnet, and ``fine``: fine metal
    as a share of the weight. Handbook values from memory; widths and chances assumed."""

    key: str
    name: str
    density_g_cm3: float
    density_sd: float
    conductivity: float
    conductivity_sd: float
    stiffness_gpa: float
    no_tone: float
    attracted: float
    fine: Mapping[str, float]


@cache
def load_metals() -> Mapping[str, Metal]:
    """Every alloy of the standards with what second tests see of it, by its short name."""
    path = files("lotscreen.second_tests") / "metals.toml"
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    return MappingProxyType({
        key: Metal(
            key, alloy.name, alloy.density_g_cm3, alloy.sd, raw[key]["conductivity"],
            raw[key]["conductivity_sd"], raw[key]["stiffness_gpa"], raw[key]["no_tone"],
            raw[key]["attracted"], MappingProxyType(dict(raw[key]["fine"])),
        )
        for key, alloy in load_alloys().items()
    })  # fmt: skip


def metal_of(coin_type: CoinType) -> Metal:
    """The metal that coins of a type are made of: the alloy on file of its density and fine
    metal, with the type's own fineness."""
    metal = min(load_metals().values(), key=lambda m: _distance(m, coin_type))
    fine: dict[str, float] = {}
    if coin_type.fine_metal is not None and coin_type.fineness is not None:
        fine = {coin_type.fine_metal: coin_type.fineness}
    return replace(
        metal, density_g_cm3=coin_type.density_g_cm3, density_sd=coin_type.density_sd_g_cm3,
        attracted=0.99 if coin_type.magnetic else metal.attracted, fine=MappingProxyType(fine),
    )  # fmt: skip


def _distance(metal: Metal, coin_type: CoinType) -> tuple[float, bool, float]:
    """How unlike a type's metal is: in fine metal, in name, in density."""
    fine = abs(metal.fine.get(coin_type.fine_metal or "", 0.0) - (coin_type.fineness or 0.0))
    other = sum(share for name, share in metal.fine.items() if name != coin_type.fine_metal)
    named = metal.key.startswith(coin_type.metal.split()[0])
    off = abs(metal.density_g_cm3 - coin_type.density_g_cm3)
    return (fine + other > _FINENESS_APART) + off, not named, off


def debased(coin_type: CoinType, relative_density: float) -> Metal:
    """A poorer alloy of the type's own fine metal with copper, ``relative_density`` times as
    dense as the standard; its fineness by ideal mixing. A type without fine metal keeps
    its own metal at that density."""
    own = metal_of(coin_type)
    density = relative_density * coin_type.density_g_cm3
    fine: Mapping[str, float] = own.fine
    if coin_type.fine_metal in _PURE and coin_type.fineness is not None:
        metal = str(coin_type.fine_metal)
        standard = _fineness(metal, coin_type.density_g_cm3)
        share = coin_type.fineness * _fineness(metal, density) / max(standard, 1e-9)
        fine = MappingProxyType({metal: min(max(share, 0.0), coin_type.fineness)})
    return replace(
        own, key=f"debased-{relative_density:.3f}", name=say("second_tests.metal.debased"),
        density_g_cm3=density, density_sd=0.01 * density, fine=fine,
        conductivity_sd=max(own.conductivity_sd, _DEBASED_CONDUCTIVITY_SD * own.conductivity),
    )  # fmt: skip


def _fineness(metal: str, density: float) -> float:
    """Share by weight of the fine metal in its mixture with copper of that density."""
    pure = _PURE[metal]
    return float((1 / _COPPER - 1 / density) / (1 / _COPPER - 1 / pure))


def unnamed_metal() -> Metal:
    """Something not named: any density, conductivity and tone; worth nothing as metal."""
    return Metal(
        UNNAMED, say("second_tests.metal.unnamed"), 11.0, 4.0, 35.0, 30.0, 110.0, 0.4, 0.1,
        MappingProxyType({}),
    )  # fmt: skip
