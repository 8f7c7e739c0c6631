"""What this screen can see: the chance to notice a departure, by its size.

Computed by judging: a lattice of honest coins (equal shares of their distribution in
weight, diameter and thickness, no random draw) is made lighter step by step and sent
through the same rates as the coins of the lot.
"""

from __future__ import annotations

import numpy as np
from scipy.special import ndtri

from lotscreen.display import SightLine, SightMark
from lotscreen.evidence.readings import departures
from lotscreen.records import Floats, ItemTable
from lotscreen.settings import Settings
from lotscreen.standards.alloys import load_alloys
from lotscreen.wear import TypeFit
from lotscreen.wear.predict import predictor
from lotscreen.words import say

_COINS = 96
_LATTICE = (0.8191725134, 0.6710436067, 0.5497004779)
"""Steps of an additive lattice in three dimensions: powers of the inverse of the real
root of x^4 = x + 1, which spread points evenly."""
_DEPTHS = {"gold": np.linspace(0.0, 0.5, 26), "else": np.linspace(0.0, 0.25, 26)}
_READ = {(True, False): "diameter", (False, True): "thickness", (True, True): "all"}
"""Words of the readings taken besides weight, by (diameter, thickness)."""
_MARKED_ALLOYS = {
    "silver": ("brass", "copper", "silver-800"),
    "gold": ("gold-375", "gold-750", "tungsten-alloy"),
}


def sight(
    fit: TypeFit, year: float, u_g: float, step_g: float, settings: Settings,
    *, diameter: bool, thickness: bool,
) -> tuple[tuple[SightLine, ...], tuple[SightMark, ...]]:  # fmt: skip
    """Chance to notice another metal at the right size, for coins of ``year`` weighed
    with uncertainty ``u_g`` on a balance of ``step_g``: lines over the departure in per
    cent, and marks at known metals. ``diameter`` and ``thickness`` say whether any of the
    coins was measured so; where neither was or can speak there is a line for weight alone."""
    family = fit.coin_type.fine_metal or fit.coin_type.metal
    depths = _DEPTHS.get(family, _DEPTHS["else"])
    marks = _marks(fit, family)
    all_depths = np.concatenate([depths, [m[1] for m in marks]])
    across = diameter and fit.diameter.speaks
    thick = thickness and fit.thickness.speaks
    alone = _chances(fit, year, u_g, step_g, all_depths, settings)
    n = len(depths)
    lines = [_line("weight_only", depths, alone)]
    whole = alone
    if across or thick:
        whole = _chances(
            fit, year, u_g, step_g, all_depths, settings, diameter=across, thickness=thick
        )
        lines.append(_line(_READ[across, thick], depths, whole))
    return tuple(lines), tuple(
        SightMark(name, -100 * depth, float(alone[n + i]), float(whole[n + i]))
        for i, (name, depth) in enumerate(marks)
    )


def _line(readings: str, depths: Floats, chances: Floats) -> SightLine:
    said, departure = say(f"lot.sight.{readings}"), say("lot.sight.departure")
    return SightLine(said, departure, -100 * depths, chances[: len(depths)])


def _marks(fit: TypeFit, family: str) -> list[tuple[str, float]]:
    alloys = load_alloys()
    return [
        (alloys[key].name, 1 - alloys[key].density_g_cm3 / fit.coin_type.density_g_cm3)
        for key in _MARKED_ALLOYS.get(family, ())
        if key in alloys
    ]


def _chances(
    fit: TypeFit, year: float, u_g: float, step_g: float, depths: Floats, settings: Settings,
    *, diameter: bool = False, thickness: bool = False,
) -> Floats:  # fmt: skip
    share = (0.5 + np.outer(np.arange(_COINS), _LATTICE)) % 1.0
    weights = predictor(fit).reading_quantiles(year, u_g, share[:, 0])
    light = weights[None, :] * (1 - depths[:, None])
    rounded = np.round(light / step_g) * step_g
    wear = np.clip(1 - weights / fit.coin_type.weight_g, 0.0, 0.9)
    thick = fit.thickness.reference_mm + fit.thickness.slope_mm * wear
    thick = thick + fit.thickness.sd_mm * ndtri(share[:, 1])
    across = fit.diameter.reference_mm + fit.diameter.slope_mm * wear
    across = across + fit.diameter.sd_mm * ndtri(share[:, 2])
    nothing = np.full(rounded.size, np.nan)
    coins = _table(
        rounded.ravel(), u_g, step_g, year,
        np.tile(across, len(depths)) if diameter else nothing,
        np.tile(thick, len(depths)) if thickness else nothing,
    )  # fmt: skip
    found = departures(coins, fit, np.zeros(len(coins), np.bool_))
    noticed = (found.p_joint <= settings.limit).reshape(rounded.shape)
    return np.asarray(noticed.mean(axis=1))


def _table(
    weight: Floats, u_g: float, step_g: float, year: float, diameter: Floats, thickness: Floats
) -> ItemTable:
    n = len(weight)
    blank = np.full(n, "", dtype=object)
    ones, nan = np.ones(n, np.int64), np.full(n, np.nan)
    return ItemTable(
        item_id=blank, kind=blank, count=ones, lot=blank, type_text=blank, type_key=blank,
        type_note=blank, year=np.full(n, year), group=blank, order=ones, weight_g=weight,
        weight_low_g=weight - step_g / 2, weight_high_g=weight + step_g / 2,
        weight_u_g=np.full(n, u_g), weight_n=ones, weight_step_g=np.full(n, step_g),
        diameter_mm=diameter, diameter_min_mm=nan, diameter_max_mm=nan,
        diameter_u_mm=np.full(n, 0.02), diameter_n=ones, thickness_mm=thickness,
        thickness_u_mm=np.full(n, 0.02), thickness_n=ones, doubtful=np.zeros(n, np.bool_),
        suspended=np.zeros(n, np.bool_),
    )  # fmt: skip
