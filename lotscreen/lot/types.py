"""What the coins of one type in one lot say together, and whether the lot is off."""

from __future__ import annotations

import numpy as np
from scipy.special import logsumexp, ndtr

from lotscreen.lot.statement import TypeStatement
from lotscreen.records import FindingKind, Findings, Floats, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import TypeFit, grid
from lotscreen.words import say

_TELLS = float(np.log(3.0))
"""Natural log of the evidence ratio from which date is said to explain wear, or not."""
_OFF_P = 0.01
_BELOW_P = 0.05


def type_statement(
    coins: ItemTable, findings: Findings, fit: TypeFit, settings: Settings
) -> TypeStatement:
    """The statement on the coins of one type and lot; ``coins`` and ``findings`` are rows
    of one length, all with a weight."""
    kept = np.isin(findings.finding, [FindingKind.CONSISTENT, FindingKind.SET_ASIDE])
    weights = coins.weight_g[kept] if kept.any() else coins.weight_g
    loss, half = _mean_loss(coins, fit, settings)
    explains = date_explains(fit)
    shift = float(np.mean(weights) / fit.coin_type.weight_g - 1)
    shift_p, smallest = _off(weights, fit, settings)
    per_year = _per_year(coins, fit) if explains else None
    mates = fit.thickness.mates
    notes = [_date_note(fit, explains, per_year)]
    notes += _shift_notes(weights, shift, shift_p, explains, fit)
    notes.append(
        say("lot.note.worn_against_allowance", loss=100 * loss,
            low=100 * max(loss - half, 0), high=100 * (loss + half))
    )  # fmt: skip
    if np.isfinite(coins.thickness_mm).any():
        notes.append(
            say("lot.note.all_thickness", mates=mates) if fit.thickness.speaks
            else say("lot.note.few_mates", mates=mates, needed=settings.thickness_mates)
        )  # fmt: skip
    return TypeStatement(
        type_key=fit.coin_type.key,
        type_name=fit.coin_type.name,
        coins=len(coins),
        mean_loss_percent=100 * loss,
        mean_loss_low_percent=100 * max(loss - half, 0.0),
        mean_loss_high_percent=100 * (loss + half),
        loss_per_year_percent=None if per_year is None else 100 * per_year,
        date_explains_wear=explains,
        shift_percent=100 * shift,
        shift_p=shift_p,
        smallest_shift_percent=100 * smallest,
        thickness_mates=mates if fit.thickness.speaks else 0,
        notes=tuple(notes),
    )


def date_explains(fit: TypeFit) -> bool | None:
    """Whether date explains wear: True or False where the evidence is three to one or
    more, None where it cannot be told (or there is one date only)."""
    if np.isfinite(fit.date_years).sum() < 2:
        return None
    growing = logsumexp(fit.slope_evidence[1:]) - np.log(len(fit.slope_evidence) - 1)
    ratio = float(growing - fit.slope_evidence[0])
    return True if ratio > _TELLS else False if ratio < -_TELLS else None


def _by_date(coins: ItemTable, fit: TypeFit) -> tuple[Floats, Floats, Floats]:
    """Coins, mean wear and years in use at each date of the fit that this lot holds."""
    year = np.nan_to_num(coins.year, nan=-1.0)
    dates = np.nan_to_num(fit.date_years, nan=-1.0)
    counts = np.array([np.count_nonzero(year == d) for d in dates], dtype=np.float64)
    return counts, fit.wear_by_date(), fit.years_in_use(fit.date_years)


def _mean_loss(coins: ItemTable, fit: TypeFit, settings: Settings) -> tuple[float, float]:
    counts, wear, _ = _by_date(coins, fit)
    if counts.sum() == 0:
        return float(np.mean(wear)), float(np.mean(wear))
    mean = float(np.average(wear, weights=counts))
    spread = float(np.hypot(fit.struck.sd_g / fit.coin_type.weight_g, mean))
    known = fit.belief.sd**2 + settings.mint_bias_width**2
    return mean, float(1.96 * np.sqrt(spread**2 / counts.sum() + known))


def _per_year(coins: ItemTable, fit: TypeFit) -> float:
    counts, wear, years = _by_date(coins, fit)
    dated = np.isfinite(years)
    return float(np.sum(counts[dated] * wear[dated]) / np.sum(counts[dated] * years[dated]))


def _date_note(fit: TypeFit, explains: bool | None, per_year: float | None) -> str:
    if per_year is not None:
        return say("lot.note.wear_by_date", per_year=100 * per_year)
    if explains is False:
        return say("lot.note.no_wear_by_date")
    many = np.isfinite(fit.date_years).sum() >= 2
    return say("lot.note.date_open") if many else say("lot.note.one_date")


def _off(weights: Floats, fit: TypeFit, settings: Settings) -> tuple[float, float]:
    """How rare the lot's centre is under what was declared before, two-sided, and the
    smallest lot-wide shift (share of the weight) that would have been noticed."""
    standard = fit.coin_type.weight_g
    seen = 1 - float(np.median(weights)) / standard + fit.belief.error
    spread = float(np.std(weights) / standard) if len(weights) > 1 else 0.01
    sd = np.sqrt(fit.belief.sd**2 + settings.mint_bias_width**2 + spread**2 / max(len(weights), 1))
    z = (np.log(grid.LEVEL) - fit.prior.log_level) / fit.prior.log_sd
    prior = np.exp(-0.5 * z**2)
    prior /= prior.sum()
    lighter = float(prior @ ndtr((grid.LEVEL - seen) / sd))
    p = 2 * min(lighter, 1 - lighter)
    shifts = np.linspace(0, 0.3, 3001)
    middle = float(np.interp(0.5, np.cumsum(prior), grid.LEVEL))
    chance = prior @ ndtr((grid.LEVEL[:, None] - middle - shifts[None, :]) / sd)
    smallest = shifts[int(np.argmax(2 * chance < _OFF_P))]
    return min(p, 1.0), float(smallest)


def rarity(p: float) -> str:
    """How rare a lot is, in words."""
    if p < 1e-5:
        return say("lot.rate.more")
    return say("lot.rate.thousand", n=round(1 / p))


def _shift_notes(
    weights: Floats, shift: float, shift_p: float, explains: bool | None, fit: TypeFit
) -> list[str]:
    notes = []
    n = len(weights)
    if shift_p < _OFF_P:
        notes.append(say("lot.note.off", rare=rarity(shift_p)))
    if n >= 5 and explains is not True:
        z = shift * fit.coin_type.weight_g / (float(np.std(weights, ddof=1)) / np.sqrt(n) + 1e-12)
        if 2 * float(ndtr(-abs(z))) < _BELOW_P:
            side = "below" if shift < 0 else "above"
            checked = "_checked" if fit.belief.from_checks else ""
            notes.append(say(f"lot.note.{side}{checked}", shift=100 * abs(shift)))
    return notes
