"""Densities on file against element densities and ideal mixing."""

from __future__ import annotations

import pytest
from reference.element_densities import ELEMENTS

from lotscreen.standards import load_standards
from lotscreen.standards.alloys import load_alloys

ALLOYS = load_alloys()

OF_ONE_ELEMENT = {
    "copper": "Cu", "zinc": "Zn", "tin": "Sn", "lead": "Pb", "tungsten": "W", "steel": "Fe",
}  # fmt: skip
# parts by mass
MIXED = {
    "silver-925": {"Ag": 925, "Cu": 75},
    "silver-900": {"Ag": 900, "Cu": 100},
    "silver-892": {"Ag": 892.4, "Cu": 107.6},
    "silver-835": {"Ag": 835, "Cu": 165},
    "silver-800": {"Ag": 800, "Cu": 200},
    "silver-750": {"Ag": 750, "Cu": 250},
    "silver-500": {"Ag": 500, "Cu": 400, "Ni": 50, "Zn": 50},
    "silver-400": {"Ag": 400, "Cu": 600},
    "silver-350": {"Ag": 350, "Cu": 560, "Mn": 90},
    "gold-917": {"Au": 22, "Cu": 1.5, "Ag": 0.5},
    "gold-900": {"Au": 90, "Cu": 10},
    "bronze": {"Cu": 95, "Sn": 4, "Zn": 1},
    "clad": {"Cu": 91.67, "Ni": 8.33},
    "cupronickel": {"Cu": 75, "Ni": 25},
    "cupronickel-88": {"Cu": 88, "Ni": 12},
    "nickel-brass": {"Cu": 79, "Zn": 20, "Ni": 1},
    "manganese-brass": {"Cu": 88.5, "Zn": 6, "Mn": 3.5, "Ni": 2},
    "nordic-alloy": {"Cu": 89, "Al": 5, "Zn": 5, "Sn": 1},
    "zinc-copper-plated": {"Zn": 97.5, "Cu": 2.5},
    "steel-copper-plated": {"Fe": 94.35, "Cu": 5.65},
    "lead-tin-82": {"Pb": 82, "Sn": 18},
}


@pytest.mark.parametrize("key", OF_ONE_ELEMENT)
def test_metals_of_one_element(key: str) -> None:
    alloy = ALLOYS[key]
    assert abs(alloy.density_g_cm3 - ELEMENTS[OF_ONE_ELEMENT[key]]) <= alloy.sd


@pytest.mark.parametrize("key", MIXED)
def test_alloys_are_near_ideal_mixing(key: str) -> None:
    parts = MIXED[key]
    volume = sum(mass / ELEMENTS[element] for element, mass in parts.items())
    alloy = ALLOYS[key]
    assert abs(alloy.density_g_cm3 - sum(parts.values()) / volume) <= alloy.sd


def test_gold_and_tungsten_cannot_be_told_apart_by_density() -> None:
    gold, heavy = ALLOYS["gold-917"], ALLOYS["tungsten-alloy"]
    assert abs(gold.density_g_cm3 - heavy.density_g_cm3) < gold.sd + heavy.sd
    assert "gold" in heavy.fits_metals


def test_each_coin_metal_has_its_rivals() -> None:
    by_metal: dict[str, set[str]] = {}
    for key, alloy in ALLOYS.items():
        assert alloy.sd > 0
        assert alloy.source
        for metal in alloy.fits_metals:
            by_metal.setdefault(metal, set()).add(key)
    assert {"brass", "copper", "lead", "molybdenum", "silver-800"} <= by_metal["silver"]
    assert {"brass", "gold-375", "gold-750", "tungsten", "tungsten-alloy"} <= by_metal["gold"]
    on_file = {coin.metal for coin in load_standards().types}
    assert set(by_metal) <= on_file


def test_brass_for_silver_is_a_sixth_lighter() -> None:
    half = load_standards().get("us-half-1873")
    assert ALLOYS["brass"].density_g_cm3 / half.density_g_cm3 - 1 == pytest.approx(-0.17, abs=0.005)
    assert ALLOYS["silver-800"].density_g_cm3 / half.density_g_cm3 - 1 == pytest.approx(
        -0.016, abs=0.001
    )
