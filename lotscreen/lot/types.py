"""What the coins of one type in one lot say together, and whether the lot is off."""

from __future__ import annotations

import numpy as np
from scipy.special import logsumexp, ndtr

from lotscreen.instruments import ScaleBelief
from lotscreen.lot.assumed import assumptions
from lotscreen.lot.false_share import false_share
from lotscreen.lot.off import OFF_P, Off, off
from lotscreen.lot.own_levels import level_notes
from lotscreen.lot.picked import PICKED_P, picked_by_weight
from lotscreen.lot.rate_of_wear import RateOfWear, rate_of_wear
from lotscreen.lot.ridge import ridge
from lotscreen.lot.shares import honest_chances
from lotscreen.lot.statement import FalseShare, Ridge, TypeStatement, WearRate
from lotscreen.records import Bools, FindingKind, Findings, Floats, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import TypeFit
from lotscreen.wear.lengths import with_length
from lotscreen.words import say

_MOST_KEPT = 0.5
_TELLS = float(np.log(3.0))
"""Natural log of the evidence ratio from which date is said to explain wear, or not."""
_BELOW_P = 0.05
_AGREE_SDS = 3.0
RIDGE_NOTES = 3
"""So many notes at the end tell the ridge, what tells it apart, and what would be seen."""


def type_statement(
    coins: ItemTable, findings: Findings, fit: TypeFit, settings: Settings,
    pieces: ItemTable | None = None,
) -> TypeStatement:  # fmt: skip
    """The statement on the coins of one type and lot; ``coins`` and ``findings`` are rows
    of one length, all with a weight; ``pieces`` the reference pieces of the type."""
    kept = np.isin(findings.finding, [FindingKind.CONSISTENT, FindingKind.SET_ASIDE])
    if np.mean(kept) < _MOST_KEPT:  # a fault of all readings is no reason to be silent on it
        kept = np.ones(len(coins), np.bool_)
    chances = honest_chances(findings.log10_lr)
    some, honest = coins.rows(kept), chances[kept]
    pieces = coins.rows(slice(0, 0)) if pieces is None else pieces
    rate = rate_of_wear(some, honest, fit, settings)
    per_year = _wear_rate(rate)
    explains = date_explains(fit)
    shift = float(np.mean(some.weight_g) / fit.coin_type.weight_g - 1)
    lot_off = _off(coins, findings, kept, chances, fit, settings)
    one_mean = ridge(some, honest, pieces, fit, settings)
    share = _share(coins, fit)
    date_note = _date_note(fit, explains, per_year)
    notes = [
        date_note,
        *level_notes(fit),
        *_shift_notes(some.weight_g, shift, lot_off.p, explains, fit),
    ]
    notes += _loss_notes(rate, per_year)
    notes.append(say("lot_types.share.told", **_facts(share)))
    notes += _thickness_notes(coins, findings.z_weight, fit, settings)
    notes += _ridge_notes(one_mean, lot_off)
    return TypeStatement(
        type_key=fit.coin_type.key,
        type_name=fit.coin_type.name,
        coins=len(coins),
        mean_loss_percent=100 * rate.loss.value,
        mean_loss_low_percent=100 * rate.loss.low,
        mean_loss_high_percent=100 * rate.loss.high,
        loss_per_year_percent=None if per_year is None else per_year.percent,
        date_explains_wear=explains,
        shift_percent=100 * shift,
        shift_p=lot_off.p,
        smallest_shift_percent=100 * lot_off.lighter,
        thickness_mates=fit.thickness.mates if fit.thickness.speaks else 0,
        notes=tuple(notes),
        smallest_heavier_percent=100 * lot_off.heavier,
        ridge=one_mean,
        wear_rate=per_year,
        false_share=share,
        assumed=assumptions(fit, settings, one_mean, per_year, date_note),
    )


def _off(
    coins: ItemTable, findings: Findings, kept: Bools, chances: Floats, fit: TypeFit,
    settings: Settings,
) -> Off:  # fmt: skip
    """Whether the lot is off. A coin of which a length was read counts by its chance to be
    honest (``chances``); one of which only the weight is known counts in full: to leave out
    the light ones and ask then whether the lot is light would be a circle."""
    judged = with_length(coins, fit)
    honest = np.where(judged, chances, 1.0)
    some = kept | ((findings.finding == FindingKind.NOT_CONSISTENT) & ~judged)
    return off(coins.rows(some), honest[some], fit, settings)


def date_explains(fit: TypeFit) -> bool | None:
    """Whether date explains wear: True or False where the evidence is three to one or
    more, None where it cannot be told (or there is one date only)."""
    if np.isfinite(fit.date_years).sum() < 2:
        return None
    growing = logsumexp(fit.slope_evidence[1:]) - np.log(len(fit.slope_evidence) - 1)
    ratio = float(growing - fit.slope_evidence[0])
    return True if ratio > _TELLS else False if ratio < -_TELLS else None


def _wear_rate(rate: RateOfWear) -> WearRate | None:
    if rate.a_year is None or rate.a_year_wide is None:
        return None
    return WearRate(
        100 * rate.a_year.value, 100 * rate.a_year.low, 100 * rate.a_year.high,
        100 * rate.a_year_wide.low, 100 * rate.a_year_wide.high, rate.mean_years,
    )  # fmt: skip


def _share(coins: ItemTable, fit: TypeFit) -> FalseShare:
    told = false_share(coins, fit)
    figures = (told.value, told.low, told.high, told.wide_low, told.wide_high)
    return FalseShare(*(100 * figure for figure in figures))


def _facts(told: WearRate | FalseShare) -> dict[str, float]:
    return {
        "value": told.percent, "low": told.low_percent, "high": told.high_percent,
        "wide_low": told.wide_low_percent, "wide_high": told.wide_high_percent,
    }  # fmt: skip


def _loss_notes(rate: RateOfWear, per_year: WearRate | None) -> list[str]:
    loss = rate.loss
    fitted = say("lot.note.worn_against_allowance", loss=100 * loss.value, low=100 * loss.low,
                 high=100 * loss.high)  # fmt: skip
    if per_year is None:
        return [fitted, say("lot_types.rate.no_date")]
    years = per_year.mean_years
    return [fitted, say("lot_types.rate.a_year", years=years, **_facts(per_year))]


def _thickness_notes(
    coins: ItemTable, z_weight: Floats, fit: TypeFit, settings: Settings
) -> list[str]:
    measured = np.isfinite(coins.thickness_mm)
    if not measured.any():
        return []
    mates = fit.thickness.mates
    if not fit.thickness.speaks:
        return [say("lot.note.few_mates", mates=mates, needed=settings.thickness_mates)]
    notes = [say("lot.note.all_thickness", mates=mates)]
    rare = picked_by_weight(z_weight, measured)
    if rare is not None and rare < PICKED_P:
        percent = 100 * float(np.mean(measured))
        notes.append(say("lot.note.picked", percent=percent, rare=rarity(rare, "draw")))
    return notes


def _ridge_notes(told: Ridge, lot_off: Off) -> list[str]:
    seen = say("lot_types.seen.shift", lighter=100 * lot_off.lighter, heavier=100 * lot_off.heavier)
    return [told.said, "; ".join(told.told_apart_by), seen]


def _date_note(fit: TypeFit, explains: bool | None, rate: WearRate | None) -> str:
    if explains and rate is not None:
        return say("lot.note.wear_by_date", per_year=rate.percent)
    if explains is False:
        return say("lot.note.no_wear_by_date")
    many = np.isfinite(fit.date_years).sum() >= 2
    return say("lot.note.date_open") if many else say("lot.note.one_date")


def rarity(p: float, of: str = "lot") -> str:
    """How rare a lot, or a blind draw (``of`` "draw"), is in words."""
    return say(f"lot.rate.{of}_more") if p < 1e-5 else say(f"lot.rate.{of}", n=round(1 / p))


def _shift_notes(
    weights: Floats, shift: float, shift_p: float, explains: bool | None, fit: TypeFit
) -> list[str]:
    notes = []
    n = len(weights)
    if shift_p < OFF_P:
        notes.append(say("lot.note.off", rare=rarity(shift_p)))
    if n >= 5 and explains is not True:
        z = shift * fit.coin_type.weight_g / (float(np.std(weights, ddof=1)) / np.sqrt(n) + 1e-12)
        if 2 * float(ndtr(-abs(z))) < _BELOW_P:
            side = "below" if shift < 0 else "above"
            key = f"lot.note.{side}{_by_what(fit.belief)}"
            notes.append(say(key, shift=100 * abs(shift), error=100 * fit.belief.error))
    return notes


def _by_what(belief: ScaleBelief) -> str:
    """Which words tell what a shift may come from, by what check weights said of the balance."""
    if not belief.from_checks:
        return ""
    return "_checked" if abs(belief.error) <= _AGREE_SDS * belief.sd else "_scale"
