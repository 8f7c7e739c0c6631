"""The ridge: everything that one mean may mean, and which reading tells some of it apart.

A lot lighter than expected may have been weighed on a balance that reads low, have been in
use longer or worn faster, or be of a lighter alloy: each alone explains all of it, and so
does any mixture. It is never said as wear alone.
"""

from __future__ import annotations

import numpy as np

from lotscreen.lot.off import allowance, mean_loss
from lotscreen.lot.rate_of_wear import expected_loss
from lotscreen.lot.statement import Ridge
from lotscreen.records import Floats, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import GaugeFit, TypeFit
from lotscreen.wear.gauge_fit import from_references
from lotscreen.wear.lengths import judged_diameter
from lotscreen.words import say

_SDS = 2.0
_CALIPER_MM = 0.02  # error that all readings of a caliper share (common practice)
_CATALOGUE_MM = 0.06  # doubt of a diameter on file (assumed)


def ridge(
    coins: ItemTable, honest: Floats, pieces: ItemTable, fit: TypeFit, settings: Settings
) -> Ridge:
    """The ridge of ``coins`` (one type, all with a weight), each counted by its chance
    ``honest`` (n,); ``pieces`` are reference pieces of the type (none or more)."""
    declared = allowance(coins, fit, settings)
    expected = expected_loss(declared, fit)
    seen = mean_loss(coins, honest, fit)
    gap = seen - expected
    years = float(declared.coin_share @ declared.relative_years) * fit.prior.reference_years
    more_years = gap / expected * years
    times = max(seen, 0.0) / expected
    side = "lighter" if gap > 0 else "heavier"
    facts = {
        "by": 100 * abs(gap), "expected": 100 * expected, "seen": 100 * seen,
        "years": abs(more_years), "times": times,
    }  # fmt: skip
    enough = gap > 0 or abs(more_years) < years
    wear = say(f"lot_types.ridge.years_{side}" if enough else "lot_types.ridge.no_years", **facts)
    tells = (
        _by_check(gap, fit, settings),
        _by_thickness(coins, honest, pieces, fit.coin_type.weight_g, seen, expected),
        _by_diameter(coins, honest, seen, expected, fit),
    )
    return Ridge(
        expected_loss_percent=100 * expected,
        seen_loss_percent=100 * seen,
        lighter_percent=100 * gap,
        more_years=more_years,
        wear_times=times,
        said=say(f"lot_types.ridge.{side}", wear=wear, **facts),
        told_apart_by=tells,
    )


def _by_check(gap: float, fit: TypeFit, settings: Settings) -> str:
    left = _SDS * float(np.hypot(fit.belief.sd, settings.mint_bias_width))
    facts = {"left": 100 * left, "by": 100 * abs(gap)}
    if not fit.belief.from_checks:
        return say("lot_types.ridge.no_check")
    return say(f"lot_types.ridge.check_{'excludes' if abs(gap) > left else 'open'}", **facts)


def _by_thickness(
    coins: ItemTable, honest: Floats, pieces: ItemTable, standard_g: float, seen: float,
    expected: float,
) -> str:  # fmt: skip
    """Thickness tells wear from the others only against pieces known by other means: a
    reference learned from the lot itself moves with the lot."""
    known = np.isfinite(pieces.thickness_mm)
    has = np.isfinite(coins.thickness_mm)
    if not has.any():
        return say("lot_types.ridge.no_thickness")
    if not known.any():
        return say("lot_types.ridge.thickness_of_mates")
    worn = np.nan_to_num(np.clip(1 - pieces.weight_g[known] / standard_g, 0.0, 0.3))
    gauge = from_references(pieces.thickness_mm[known], pieces.thickness_u_mm[known], worn)
    return _told("thickness", coins.thickness_mm, has, honest, gauge, gauge.u_reference_mm,
                 seen, expected)  # fmt: skip


def _by_diameter(
    coins: ItemTable, honest: Floats, seen: float, expected: float, fit: TypeFit
) -> str:
    """Wear takes so little of a diameter that only a heavy shift shows in it."""
    value = judged_diameter(coins)[0]
    has = np.isfinite(value)
    if not has.any() or fit.coin_type.diameter_mm is None or not fit.diameter.speaks:
        return say("lot_types.ridge.no_diameter")
    scale = fit.coin_type.diameter_mm / fit.diameter.reference_mm
    gauge = GaugeFit(
        fit.coin_type.diameter_mm, fit.diameter.slope_mm * scale, fit.diameter.sd_mm, 0.0, 1.0,
        fit.diameter.mates, "",
    )  # fmt: skip
    return _told("diameter", value, has, honest, gauge, _CATALOGUE_MM, seen, expected)


def _told(
    length: str, value: Floats, has: np.ndarray, honest: Floats, gauge: GaugeFit,
    reference_u_mm: float, seen: float, expected: float,
) -> str:  # fmt: skip
    """Whether the mean length is that of coins worn as much as the weight says (``seen``),
    or that of coins worn as much as expected, whose weight has another cause."""
    mean = float(np.average(value[has], weights=np.maximum(honest[has], 1e-9)))
    error = float(np.hypot(reference_u_mm, _CALIPER_MM))
    error = float(np.hypot(error, gauge.sd_mm / np.sqrt(has.sum())))
    worn, plain = (gauge.reference_mm + gauge.slope_mm * loss for loss in (seen, expected))
    facts = {"taken": abs(worn - plain), "error": _SDS * error, "n": int(has.sum())}
    if abs(worn - plain) < _SDS * error:
        return say(f"lot_types.ridge.{length}_blind", **facts)
    agrees_worn, agrees_plain = (abs(mean - at) < _SDS * error for at in (worn, plain))
    if agrees_worn == agrees_plain:
        return say(f"lot_types.ridge.{length}_neither", **facts)
    return say(f"lot_types.ridge.{length}_{'wear' if agrees_worn else 'other'}", **facts)
