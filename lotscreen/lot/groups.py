"""Rows that are rolls, groups or bags weighed together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from scipy.special import ndtr, ndtri

from lotscreen.lot.stacks import BETWEEN_GROUPS, LEAST_MATES, Stack, stacks_of
from lotscreen.lot.statement import GroupStatement
from lotscreen.records import FindingKind, Floats, ItemKind, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import Fit, TypeFit, grid
from lotscreen.wear.fit import unfitted
from lotscreen.wear.predict import predictor
from lotscreen.words import say

_Z95 = 1.96
_MIDDLE_SHARES = (0.16, 0.84)  # one sd on either side, where tails are long


def group_statements(
    groups: ItemTable, coin_ids: list[str], fit: Fit, settings: Settings
) -> tuple[GroupStatement, ...]:
    """One statement a row of ``groups``; ``coin_ids`` are the sheet's own numbers."""
    stacks = stacks_of(groups, fit)
    return tuple(
        _statement(groups.rows(slice(i, i + 1)), coin_id, stacks.get(i), fit, settings)
        for i, coin_id in enumerate(coin_ids)
    )


def _statement(
    group: ItemTable, coin_id: str, stack: Stack | None, fit: Fit, settings: Settings
) -> GroupStatement:
    key = str(group.type_key[0])
    weight, count = float(group.weight_g[0]), int(group.count[0])
    nan = float("nan")

    def made(finding: str, reason: str, mean: float, low: float, high: float) -> GroupStatement:
        return GroupStatement(
            str(group.item_id[0]), coin_id, str(group.lot[0]), str(group.kind[0]), key, count,
            weight, mean, low, high, finding, reason, nan if stack is None else stack.off_sd,
        )  # fmt: skip

    not_judged = FindingKind.NOT_JUDGED.value
    if not np.isfinite(weight):
        return made(not_judged, say("lot.group.no_weight"), nan, nan, nan)
    if not key:
        reason = say("lot.group.no_standard", note=group.type_note[0])
        return made(not_judged, reason, nan, nan, nan)
    fitted = fit.types.get(key)
    mean, sd = _expected(group, fitted, key, fit, settings)
    low, high = mean - _Z95 * sd, mean + _Z95 * sd
    reasons, odd = _judged(group, stack, (mean, sd), settings)
    finding = FindingKind.SET_ASIDE if odd else FindingKind.CONSISTENT
    return replace(made(finding.value, "; ".join(reasons), mean, low, high), odd=odd)


def _judged(
    group: ItemTable, stack: Stack | None, expected: tuple[float, float], settings: Settings
) -> tuple[list[str], str]:
    """Reasons, and which of weight and height an honest group would hardly have: "weight",
    "height", "both", or "" where neither. ``expected`` are mean and sd of the weight, g."""
    weight, (mean, sd) = float(group.weight_g[0]), expected
    facts = {"count": int(group.count[0]), "weight": weight, "over": weight - mean,
             "low": mean - _Z95 * sd, "high": mean + _Z95 * sd}  # fmt: skip
    odd_weight = 2 * float(ndtr(-abs(weight - mean) / sd)) <= settings.limit
    code = "consistent" if not odd_weight else "light" if weight < mean else "heavy"
    reasons = [say(f"lot.group.{code}", **facts)]
    odd_height = stack is not None and stack.rate <= settings.limit
    if stack is not None:
        reach = _Z95 * stack.sd_mm
        reasons.append(
            say(
                f"lot.group.{'tall' if odd_height else 'stack'}",
                height=stack.height_mm,
                low=stack.expected_mm - reach,
                high=stack.expected_mm + reach,
            )
        )
    odd = [name for name, is_odd in (("weight", odd_weight), ("height", odd_height)) if is_odd]
    return reasons, "both" if len(odd) == 2 else "".join(odd)


def opening_order(groups: Sequence[GroupStatement]) -> Mapping[str, int]:
    """Which group to open first, second ...: rank by item id, from 1.

    By distance from what is expected, lighter ones before heavier ones as far off; of weight
    or of the height of the stack, whichever is further off (only taller ones count). Where
    five or more groups of one type and count were weighed they say themselves what such
    groups weigh (median and scaled median deviation); bags and groups without an
    expectation have no rank.
    """
    known = [g for g in groups if np.isfinite(g.expected_weight_g) and g.kind == ItemKind.GROUP]
    distance: dict[str, float] = {}
    for key in dict.fromkeys((g.type_key, g.count) for g in known):
        mates = [g for g in known if (g.type_key, g.count) == key]
        for group, far in zip(mates, _distances(mates), strict=True):
            tall = group.stack_off_sd
            distance[group.item_id] = tall if tall > abs(far) else float(far)
    order = sorted(distance, key=lambda item: (-round(abs(distance[item]), 6), distance[item]))
    return {item: rank for rank, item in enumerate(order, 1)}


def _distances(mates: Sequence[GroupStatement]) -> Floats:
    off = np.array([g.weight_g - g.expected_weight_g for g in mates])
    sd = np.array([(g.expected_high_g - g.expected_low_g) / (2.0 * _Z95) for g in mates])
    if len(mates) < LEAST_MATES:
        return np.asarray(off / sd)
    off = off - np.median(off)
    spread = float(np.median(np.abs(off)) / ndtri(0.75))
    return np.asarray(off / spread if spread > 0.0 else off / sd)


def _expected(
    group: ItemTable, fitted: TypeFit | None, key: str, fit: Fit, settings: Settings
) -> tuple[float, float]:
    """Mean and standard deviation of the group's net weight, g."""
    type_fit = fitted or unfitted(fit.standards.get(key), fit.belief, settings)
    count, year = float(group.count[0]), float(group.year[0])
    if np.isfinite(year):  # a roll of one date
        wear = predictor(type_fit).wear(year)
        mean_wear, square = float(wear @ grid.WEAR), float(wear @ np.square(grid.WEAR))
    else:
        mean_wear, square = type_fit.mean_wear(), type_fit.mean_of_wear(np.square(grid.WEAR))
    wear_sd = float(np.sqrt(max(square - mean_wear**2, 0.0)))
    standard = type_fit.coin_type.weight_g
    shared = BETWEEN_GROUPS * mean_wear
    if np.isfinite(year) and not type_fit.coins:
        # no coin has told how much coins of that date have lost: all of them may have alike
        low, high = np.interp(_MIDDLE_SHARES, np.cumsum(wear), grid.WEAR)
        shared = max(shared, 0.5 * float(high - low))
    single = type_fit.struck.sd_g**2 + (standard * wear_sd) ** 2
    common = standard * np.hypot(shared, type_fit.belief.sd)
    balance = float(group.weight_u_g[0]) ** 2 + float(group.weight_step_g[0]) ** 2 / 12
    mean = count * float(type_fit.struck.mean_g(np.array(mean_wear)))
    return mean, float(np.sqrt(count * single + (count * common) ** 2 + balance))
