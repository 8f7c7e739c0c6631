"""From rates and evidence to exactly one finding and its first reason.

Order: not judged, re-measure, not consistent, set aside, consistent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.evidence.mechanisms import HONEST_KEYS
from lotscreen.evidence.readings import Departures
from lotscreen.evidence.second_tests import telling_test
from lotscreen.evidence.slips import SLIP_KEYS, SlipEvidence
from lotscreen.evidence.wording import explain, next_test, ranked
from lotscreen.records import FindingKind, Floats, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import TypeFit
from lotscreen.wear.grades import SHARP
from lotscreen.wear.predict import predictor
from lotscreen.words import say

_KIND_SPEAKS = 0.01
_HONEST_KEEPS = 0.05
_FAMILY_RISK = 0.05
_STRICTER = 5.0
# The least that base metal at the right size falls short by: about an eighth of a silver
# coin, two fifths of a gold one (densities; copper against .900 silver and 22 carat gold).
_BASE_GAP = {"gold": 0.40}
_BASE_GAP_ELSE = 0.13
_COARSE_SHARE = 0.01
_LIGHT_CODES = ("lighter", "lighter_only", "smaller", "light_and_thick")


@dataclass(frozen=True, slots=True)
class Judged:
    """One coin to decide on: row ``k`` of ``coins`` and ``found``; ``judged`` coins in
    all; ``shares`` by ``keys``; ``other`` the likeliest other type's key."""

    coins: ItemTable
    k: int
    found: Departures
    shares: Floats
    keys: tuple[str, ...]
    slip: SlipEvidence
    other: str
    fit: TypeFit
    judged: int


@dataclass(frozen=True, slots=True)
class Verdict:
    """The finding of one coin in words."""

    finding: str
    reason_code: str
    reason: str
    explanations: str = ""
    next_test: str = ""
    other_type: str = ""


def not_rare(coins: ItemTable, k: int, fit: TypeFit) -> Verdict:
    """The verdict of a coin that is not rare among honest ones: consistent, unless its
    balance is too coarse to show even base metal at the right size."""
    if _too_coarse(coins, k, fit):
        return _coarse_verdict(coins, k, fit)
    return _consistent(coins, k, fit)


def decide(coin: Judged, settings: Settings) -> Verdict:
    """The finding of a coin that is rare among honest ones, its first reason, explanations
    and next test."""
    if _too_coarse(coin.coins, coin.k, coin.fit):
        return _coarse_verdict(coin.coins, coin.k, coin.fit)
    p = float(coin.found.p_joint[coin.k])
    explanations = ranked(coin.shares, coin.keys)
    slip_share = sum(coin.shares[coin.keys.index(key)] for key in SLIP_KEYS)
    if slip_share > 0.5 and coin.slip.key:
        return Verdict(FindingKind.RE_MEASURE.value, coin.slip.key, _slip_reason(coin),
                       explanations, next_test("re_measure"))  # fmt: skip
    if coin.coins.doubtful[coin.k]:
        return Verdict(FindingKind.RE_MEASURE.value, "entry_in_doubt", explain("entry_in_doubt"),
                       explanations, next_test("re_measure"))  # fmt: skip
    code, reason = _direction(coin)
    if coin.slip.key and slip_share >= _HONEST_KEEPS:
        reason += say("findings.reason.named_slip", slip=_slip_name(coin),
                      proposed=_proposed(coin), share=100 * slip_share)  # fmt: skip
    kind = FindingKind.NOT_CONSISTENT if _shown(coin, p, settings) else FindingKind.SET_ASIDE
    best = coin.keys[int(np.argmax(coin.shares))]
    other = coin.other if code == "other_type" else ""
    return Verdict(kind.value, code, reason, explanations, next_test(telling_test(best)), other)


def _shown(coin: Judged, p: float, settings: Settings) -> bool:
    """Whether the strictest finding is earned: rare enough for the number of coins,
    shown twice, and no honest explanation keeps a twentieth of the evidence."""
    rare = p <= settings.limit / _STRICTER and p <= _FAMILY_RISK / max(coin.judged, 1)
    speaking = sum(
        float(rate[coin.k]) <= _KIND_SPEAKS
        for rate in (coin.found.p_weight, coin.found.p_diameter, coin.found.p_thickness)
    )
    again = speaking >= 1 and coin.coins.weight_n[coin.k] >= 2
    honest = [coin.shares[i] for i, key in enumerate(coin.keys) if key in HONEST_KEYS]
    return rare and (speaking >= 2 or bool(again)) and max(honest) < _HONEST_KEEPS


def _cell_width(coins: ItemTable, k: int) -> float:
    return float(coins.weight_high_g[k] - coins.weight_low_g[k])


def _too_coarse(coins: ItemTable, k: int, fit: TypeFit) -> bool:
    gap = _BASE_GAP.get(fit.coin_type.metal, _BASE_GAP_ELSE) * fit.coin_type.weight_g
    width, u = _cell_width(coins, k), float(coins.weight_u_g[k])
    return bool(np.isfinite(width)) and gap < 3 * float(np.sqrt(u**2 + width**2 / 12))


def _coarse_verdict(coins: ItemTable, k: int, fit: TypeFit) -> Verdict:
    step = float(coins.weight_step_g[k])
    reason = explain("too_coarse", step=step, weight=fit.coin_type.weight_g)
    return Verdict(FindingKind.NOT_JUDGED.value, "too_coarse", reason)


def _consistent(coins: ItemTable, k: int, fit: TypeFit) -> Verdict:
    kind = FindingKind.CONSISTENT.value
    weight = fit.coin_type.weight_g
    step, width = float(coins.weight_step_g[k]), _cell_width(coins, k)
    if np.isfinite(width) and step > _COARSE_SHARE * weight:
        u = float(coins.weight_u_g[k])
        noise = float(np.sqrt(u**2 + fit.struck.sd_g**2 + width**2 / 12))
        seen = 3 * noise + 2 * fit.mean_wear() * weight
        reason = explain("consistent_coarse", step=step, seen_g=seen,
                         seen_percent=100 * seen / weight)  # fmt: skip
        return Verdict(kind, "consistent_coarse", reason)
    code = "consistent" if fit.coins > 1 else "consistent_no_mates"
    return Verdict(kind, code, explain(code))


def _slip_name(coin: Judged) -> str:
    return say(f"findings.explanation.{coin.slip.key}")


def _proposed(coin: Judged) -> str:
    return f"{coin.slip.proposed:.4g}"


def _slip_reason(coin: Judged) -> str:
    quantity = coin.slip.quantity
    found = {
        "weight": coin.coins.weight_g,
        "diameter": coin.found.readings.diameter_mm,
        "thickness": coin.coins.thickness_mm,
    }[quantity][coin.k]
    return explain("slip", slip=_slip_name(coin), quantity=quantity, found=f"{found:g}",
                   proposed=_proposed(coin))  # fmt: skip


def _direction(coin: Judged) -> tuple[str, str]:
    """The first reason: which way the readings depart, in words with figures."""
    facts = _facts(coin)
    best = coin.keys[int(np.argmax(coin.shares))]
    if best == "other_type" and coin.other:
        return "other_type", explain("other_type", other=coin.other)
    code = _direction_code(coin, best)
    text = explain(code, **facts)
    thick_kept = code == "lighter" and float(coin.found.z_thickness[coin.k]) > 2
    text += say("findings.reason.thickness_kept") if thick_kept else ""
    return code, text + (_sharp(coin) if code in _LIGHT_CODES else "")


def _sharp(coin: Judged) -> str:
    """What is added for a coin that by eye has lost little and by weight much."""
    grade = str(coin.coins.grade[coin.k])
    if grade not in SHARP or float(coin.found.p_weight[coin.k]) > _KIND_SPEAKS:
        return ""
    loss = 100 * float(coin.found.predicted.date_wear[coin.k])
    return say("findings.reason.sharp", grade=say(f"lot_types.grade.{grade}"), loss=loss)


def _direction_code(coin: Judged, best: str) -> str:
    k, found = coin.k, coin.found
    weight = float(found.p_weight[k]) <= _KIND_SPEAKS
    light = float(found.z_weight[k]) < 0
    if weight and not light:
        return "heavier"
    if best == "clipped" or _far_out_of_round(coin):
        return "one_diameter_short" if _far_out_of_round(coin) else "lighter_only"
    if float(found.p_diameter[k]) <= _KIND_SPEAKS and found.z_diameter[k] < 0:
        return "smaller" if light else "smaller_only"
    return _thickness_code(coin, best, weight)


def _thickness_code(coin: Judged, best: str, weight: bool) -> str:
    k, found = coin.k, coin.found
    thick = float(found.p_thickness[k]) <= _KIND_SPEAKS
    if weight:
        over = coin.coins.thickness_mm[k] - coin.fit.thickness.reference_mm
        if thick and over > 2.5 * coin.fit.thickness.sd_mm:
            return "light_and_thick"
        if best == "more_wear" and str(coin.coins.grade[k]) not in SHARP:
            return "more_worn"
        size_known = np.isfinite(found.z_diameter[k]) or np.isfinite(found.z_thickness[k])
        return "lighter" if size_known else "lighter_only"
    if thick:
        return "thicker" if found.z_thickness[k] > 0 else "thinner"
    if float(found.p_diameter[k]) <= _KIND_SPEAKS:
        return "larger"
    return "jointly"


def _far_out_of_round(coin: Judged) -> bool:
    excess = coin.found.readings.excess_mm[coin.k]
    return bool(np.isfinite(excess) and excess > 0.25 and coin.found.z_diameter[coin.k] < -2)


def _facts(coin: Judged) -> dict[str, object]:
    k, fit = coin.k, coin.fit
    low, high = predictor(fit).reading_quantiles(
        coin.found.placed.standing(k), float(coin.coins.weight_u_g[k]), np.array([0.025, 0.975])
    )
    step = coin.coins.weight_step_g[k]
    decimals = int(np.clip(np.ceil(-np.log10(step)), 0, 4)) if np.isfinite(step) else 2
    wear = float(coin.found.predicted.wear[k])
    return {
        "weight": float(coin.coins.weight_g[k]),
        "wd": decimals,
        "low": float(low),
        "high": float(high),
        "diameter": float(coin.found.readings.diameter_mm[k]),
        "diameter_expected": fit.diameter.reference_mm + fit.diameter.slope_mm * wear,
        "thickness": float(coin.coins.thickness_mm[k]),
        "thickness_expected": fit.thickness.reference_mm + fit.thickness.slope_mm * wear,
        "excess": float(coin.found.readings.excess_mm[k]),
    }
