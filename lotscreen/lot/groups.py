"""Rows that are rolls, groups or bags weighed together."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtr

from lotscreen.lot.statement import GroupStatement
from lotscreen.records import FindingKind, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import Fit, TypeFit, grid
from lotscreen.wear.fit import unfitted
from lotscreen.words import say

_BETWEEN_GROUPS = 0.3
"""Relative spread of the mean wear between groups of one lot: rolls made up from one
drawer share wear (common practice, no source)."""


def group_statements(
    groups: ItemTable, coin_ids: list[str], fit: Fit, settings: Settings
) -> tuple[GroupStatement, ...]:
    """One statement a row of ``groups``; ``coin_ids`` are the sheet's own numbers."""
    return tuple(
        _statement(groups.rows(slice(i, i + 1)), coin_id, fit, settings)
        for i, coin_id in enumerate(coin_ids)
    )


def _statement(group: ItemTable, coin_id: str, fit: Fit, settings: Settings) -> GroupStatement:
    key = str(group.type_key[0])
    weight, count = float(group.weight_g[0]), int(group.count[0])
    nan = float("nan")

    def made(finding: str, reason: str, mean: float, low: float, high: float) -> GroupStatement:
        return GroupStatement(
            str(group.item_id[0]), coin_id, str(group.lot[0]), str(group.kind[0]), key, count,
            weight, mean, low, high, finding, reason,
        )  # fmt: skip

    not_judged = FindingKind.NOT_JUDGED.value
    if not np.isfinite(weight):
        return made(not_judged, say("lot.group.no_weight"), nan, nan, nan)
    if not key:
        reason = say("lot.group.no_standard", note=group.type_note[0])
        return made(not_judged, reason, nan, nan, nan)
    mean, sd = _expected(group, fit.types.get(key), key, fit, settings)
    low, high = mean - 1.96 * sd, mean + 1.96 * sd
    p = 2 * float(ndtr(-abs(weight - mean) / sd))
    facts = {"count": count, "weight": weight, "low": low, "high": high, "over": weight - mean}
    if p > settings.limit:
        finding, code = FindingKind.CONSISTENT.value, "consistent"
    else:
        finding, code = FindingKind.SET_ASIDE.value, "light" if weight < mean else "heavy"
    return made(finding, say(f"lot.group.{code}", **facts), mean, low, high)


def _expected(
    group: ItemTable, fitted: TypeFit | None, key: str, fit: Fit, settings: Settings
) -> tuple[float, float]:
    """Mean and standard deviation of the group's net weight, g."""
    type_fit = fitted or unfitted(fit.standards.get(key), fit.belief, settings)
    count = float(group.count[0])
    mean_wear = type_fit.mean_wear()
    square = type_fit.mean_of_wear(np.square(grid.WEAR))
    standard = type_fit.coin_type.weight_g
    single = type_fit.struck.sd_g**2 + standard**2 * max(square - mean_wear**2, 0.0)
    common = standard * np.hypot(_BETWEEN_GROUPS * mean_wear, type_fit.belief.sd)
    balance = float(group.weight_u_g[0]) ** 2 + float(group.weight_step_g[0]) ** 2 / 12
    mean = count * float(type_fit.struck.mean_g(np.array(mean_wear)))
    return mean, float(np.sqrt(count * single + (count * common) ** 2 + balance))
