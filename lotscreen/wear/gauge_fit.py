"""Diameter and thickness of an unworn coin of a type, learned beside its wear.

Diameter is judged against the standard, moved by the lot only within a catalogue
figure's own doubt; thickness only against lot-mates, since a published thickness is a
figure over the rim and no law. Both shrink with the wear that a coin's weight shows.
"""

from __future__ import annotations

import warnings
from dataclasses import replace

import numpy as np
from statsmodels.robust.norms import TukeyBiweight
from statsmodels.robust.robust_linear_model import RLM
from statsmodels.robust.scale import qn_scale

from lotscreen.records import Bools, Floats
from lotscreen.standards.coin_type import CoinType
from lotscreen.wear.surface import diameter_per_wear
from lotscreen.wear.type_fit import TAIL_TIMES, GaugeFit

THICKNESS_PER_WEAR = 0.7
"""Relative loss of thickness over the rim per share of weight lost: on a half 2 x 46 um of
2.15 mm for 6.2 % of weight (geometry)."""
THICKNESS_PER_WEAR_SD = 0.25
_CATALOGUE_DOUBT_MM = 0.10
_NATURAL_SD_MM = 0.03
_WITHIN_TYPE_SD_MM = 0.05
"""Thickness differs by 0.05 to 0.15 mm between designs of a type (common practice)."""
_PRIOR_FREEDOM = 5.0
_FLOOR_OF_U = 0.3
_QN_COINS = 200
_GROSS_SDS = 12.0
_TAIL_SHARE, _TAIL_COINS, _MOST_TAIL_SHARE = 0.005, 25.0, 0.2
"""Share of heavy-tailed readings before the lot is seen, how many coins that is worth, and
the largest: where every length lies to one side, its readings are not all stray (assumed)."""
_COARSE_STEP, _FLOOR_OF_STEP, _RARE_VALUE = 0.7, 0.6, 0.01
"""Against the spread, a step from which readings have no sides; of the step, the least
spread (most coins may read alike); of the coins, fewer than which no step shows (assumed)."""
WEAR_SPREAD, _WEAR_SPREAD_COINS, _LARGEST_WEAR_SPREAD = 0.1, 0.5, 0.4
"""How unequally the rims of coins of like weight have worn, before the lot is seen, and
how many coins worn beyond their spread that is worth (assumed)."""
_RARE_Z2 = 3.1**2
"""Square of the sds beyond which one normal reading in a thousand lies."""


def _spread(residual: Floats, u_mm: Floats, natural_mm: float) -> tuple[float, float]:
    """Spread of a single reading about its reference, and its degrees of freedom."""
    known = float(np.median(u_mm))
    expected2 = known**2 + natural_mm**2
    n = len(residual)
    found = _qn(residual) if n >= 4 else 0.0
    seen = n - 1 if n >= 4 else 0
    variance = (_PRIOR_FREEDOM * expected2 + seen * found**2) / (_PRIOR_FREEDOM + seen)
    floor = _FLOOR_OF_U * known
    return max(float(np.sqrt(variance)), floor), _PRIOR_FREEDOM + seen


def _qn(residual: Floats) -> float:
    """Qn scale; of many residuals, of every so many-th in order of size, for time."""
    stride = max(1, len(residual) // _QN_COINS)
    return float(qn_scale(np.sort(residual)[stride // 2 :: stride]))


def fit_diameter(
    diameter_mm: Floats, u_mm: Floats, wear: Floats, mate: Bools, coin_type: CoinType
) -> GaugeFit:
    """Reference diameter from the standard and at least 8 lot-mates.

    Arrays of one length over the coins with a diameter; ``mate`` marks those whose
    weight is not rare among honest coins; ``wear`` is their share of weight lost.
    """
    standard_mm, per_wear = coin_type.diameter_mm, diameter_per_wear(coin_type)
    unworn = diameter_mm[mate] / (1 - per_wear * wear[mate])
    n = len(unworn)
    if standard_mm is None and n < 8:
        return _silent(n, "no_standard_diameter")
    typical = float(np.median(unworn)) if n >= 8 else np.nan
    reference = typical
    if standard_mm is not None:
        reference = _near_standard(typical if n >= 8 else standard_mm, standard_mm)
    residual = unworn - (typical if n >= 8 else reference)
    typical_u = u_mm[mate] if n else np.array([0.02])
    sd, freedom = _spread(residual, typical_u, _NATURAL_SD_MM)
    if n < 8:
        u_reference = _CATALOGUE_DOUBT_MM / np.sqrt(3)
        residual_note = "diameter_standard_only"
    else:
        u_reference, residual_note = 1.25 * sd / np.sqrt(n), ""
    return GaugeFit(reference, -per_wear * reference, sd, u_reference, freedom, n, residual_note)


def _near_standard(reference_mm: float, standard_mm: float) -> float:
    """A reference that moves from the standard within a catalogue figure's doubt."""
    doubt = _CATALOGUE_DOUBT_MM
    return float(np.clip(reference_mm, standard_mm - doubt, standard_mm + doubt))


def from_references(thickness_mm: Floats, u_mm: Floats, wear: Floats) -> GaugeFit:
    """Reference thickness from pieces known by other means (at least one), where lot-mates
    are too few: their mean unworn thickness, with the spread of a design within a type."""
    unworn = thickness_mm / (1 - THICKNESS_PER_WEAR * wear)
    reference, n = float(np.mean(unworn)), len(unworn)
    sd = float(np.hypot(np.median(u_mm), _WITHIN_TYPE_SD_MM))
    return GaugeFit(
        reference, -THICKNESS_PER_WEAR * reference, sd, sd / np.sqrt(n),
        _PRIOR_FREEDOM + n, n, "reference_pieces",
    )  # fmt: skip


def fit_thickness(
    thickness_mm: Floats, u_mm: Floats, wear: Floats, mate: Bools, mates_needed: int
) -> GaugeFit:
    """Reference thickness from lot-mates alone: robust line of thickness on wear.

    The slope has a prior (0.7 +- 0.25 of the thickness per share of weight) carried as
    one more row of the regression. Arguments as in :func:`fit_diameter`.
    """
    t, w, u = thickness_mm[mate], wear[mate], u_mm[mate]
    n = len(t)
    if n < mates_needed:
        return _silent(n, "too_few_mates")
    level = float(np.median(t / (1 - THICKNESS_PER_WEAR * w)))
    spread = max(_qn(t - level * (1 - THICKNESS_PER_WEAR * w)), 0.3 * float(np.median(u)))
    prior_row = spread / (THICKNESS_PER_WEAR_SD * level)
    design = np.vstack([np.column_stack([np.ones(n), w]), [0.0, prior_row]])
    target = np.append(t, -THICKNESS_PER_WEAR * level * prior_row)
    with warnings.catch_warnings():
        # A lot whose readings tie (a coarse gauge) has MAD 0; its start is then exact.
        warnings.simplefilter("ignore")
        found = RLM(target, design, M=TukeyBiweight()).fit(
            start_params=np.array([level, -THICKNESS_PER_WEAR * level])
        )
    reference, slope = (float(x) for x in found.params)
    if not (np.isfinite(reference) and 0 <= -slope <= 1.6 * level):
        reference, slope = level, -THICKNESS_PER_WEAR * level
    sd, freedom = _spread(t - reference - slope * w, u, _NATURAL_SD_MM)
    return GaugeFit(
        reference, slope, sd, 1.25 * sd / np.sqrt(n), freedom, n, "", True,
        wear_spread=WEAR_SPREAD,
    )  # fmt: skip


def _silent(mates: int, note: str) -> GaugeFit:
    return GaugeFit(np.nan, 0.0, np.nan, np.nan, 1.0, mates, note)


def _step_mm(value_mm: Floats) -> float:
    """The step of the readings: how near the nearest two lie that are not rare (0 where
    all are one)."""
    values, counts = np.unique(np.round(value_mm, 4), return_counts=True)
    usual = values[counts >= _RARE_VALUE * len(value_mm)]
    return float(np.diff(usual).min()) if len(usual) > 1 else 0.0


def _spreads(
    gauge: GaugeFit, residual: Floats, wear: Floats, wear_sd: Floats, honest: Floats, u_mm: float,
    step_mm: float,
) -> GaugeFit:  # fmt: skip
    """The gauge with the spread of the core of the residuals, the share of the
    heavier-tailed ones and, where the slope is its own, how unequally coins wear.

    The tail is learned from the side where departing coins are not: they are thicker or
    smaller, a gauge errs either way. So many thick coins never pass for a gauge's errors.
    Readings in steps about as wide as their spread have no sides: where the two next steps lie is
    chance, and the tail is learned from both.
    """
    expected2 = u_mm**2 + _NATURAL_SD_MM**2
    total = float(honest.sum())
    order = np.argsort(np.abs(residual))
    middle = np.searchsorted(np.cumsum(honest[order]), 0.6827 * total)
    floor = max(_FLOOR_OF_U * u_mm, _FLOOR_OF_STEP * step_mm)
    sd, share = max(float(np.abs(residual)[order][middle]), floor), gauge.tail_share
    unequal, doubt2 = gauge.wear_spread**2, 0.0
    coarse = step_mm > _COARSE_STEP * sd
    side = np.ones(len(residual), np.bool_)
    if not coarse:
        side = residual < 0 if gauge.free_slope else residual > 0
    for _ in range(12):
        both = sd**2 + gauge.slope_mm**2 * (np.square(wear_sd) + unequal * np.square(wear))
        z2 = np.square(residual) / both
        tail = share / TAIL_TIMES * np.exp(-0.5 * z2 / TAIL_TIMES**2)
        in_tail = tail / (tail + (1 - share) * np.exp(-0.5 * z2) + 1e-290)
        on_side = (1 if coarse else 2) * float(honest[side] @ in_tail[side])
        found = (on_side + _TAIL_SHARE * _TAIL_COINS) / (total + _TAIL_COINS)
        share = min(found, _MOST_TAIL_SHARE)
        z2 = z2 * (1 - in_tail + in_tail / TAIL_TIMES**2)
        part = sd**2 / both
        core2 = z2 * part * sd**2 + (1 - part) * sd**2
        if gauge.free_slope:
            per_variance = np.square(gauge.slope_mm * wear) / both
            unequal, doubt2 = _unequal(unequal, per_variance, z2, honest)
        square = float(honest @ core2) + _PRIOR_FREEDOM * expected2
        sd = max(float(np.sqrt(square / (total + _PRIOR_FREEDOM))), floor)
    return replace(
        gauge, sd_mm=sd, tail_share=share, wear_spread=float(np.sqrt(unequal)),
        wear_doubt=float(np.sqrt(gauge.wear_doubt**2 + doubt2)),
    )  # fmt: skip


def _unequal(
    unequal: float, per_variance: Floats, z2: Floats, honest: Floats
) -> tuple[float, float]:
    """One scoring step towards the variance with which coins of like weight have worn
    unequally at the rim, and what to add for its doubt; ``per_variance`` is what a unit of
    it adds to a coin's own."""
    usual = WEAR_SPREAD**2
    prior = _WEAR_SPREAD_COINS / usual**2
    rise = float(honest @ (per_variance * (z2 - 1))) + prior * (usual - unequal)
    information = float(honest @ np.square(per_variance)) + prior
    moved = np.clip(unequal + rise / information, 0.25 * usual, _LARGEST_WEAR_SPREAD**2)
    return float(moved), _more_variance(float(moved), float(np.sqrt(2 / information)))


def _more_variance(variance: float, sd: float) -> float:
    """What to add to a variance known within ``sd``, so that one reading in a thousand lies
    where it does on average over what the variance may be (its second-order expansion), at
    most that sd."""
    return min(sd, _RARE_Z2 / 4 * sd**2 / variance)


def _slope_within_dates(
    gauge: GaugeFit, value_mm: Floats, wear: Floats, weight: Floats, year: Floats
) -> tuple[float, float]:
    """Slope of a length on wear among coins of one date, and its sd, mm."""
    _, date = np.unique(year, return_inverse=True)
    total = np.maximum(np.bincount(date, weight), 1e-12)

    def centred(x: Floats) -> Floats:
        return x - (np.bincount(date, weight * x) / total)[date]

    lost, lower = centred(wear), centred(value_mm)
    usual = -THICKNESS_PER_WEAR * gauge.reference_mm
    prior = (gauge.sd_mm / (THICKNESS_PER_WEAR_SD * gauge.reference_mm)) ** 2
    up = float(np.sum(weight * lost * lower)) + usual * prior
    square = float(np.sum(weight * np.square(lost))) + prior
    return up / square, gauge.sd_mm / float(np.sqrt(square))


def refine(
    gauge: GaugeFit, value_mm: Floats, wear: Floats, wear_sd: Floats, honest: Floats,
    u_mm: float, year: Floats, standard_mm: float | None = None,
) -> GaugeFit:  # fmt: skip
    """The gauge learned again with each coin counted by its chance to be honest.

    1-D arrays over the coins with the reading; ``wear`` and ``wear_sd`` what the
    weight shows, ``honest`` 0..1; ``u_mm`` the uncertainty of a typical reading. A diameter
    keeps its slope, and its reference stays near ``standard_mm``, where there is one. The
    slope of a thickness comes from coins of one date against each other, because designs
    change with the dates as wear does.
    """
    if not gauge.speaks or gauge.note:
        return gauge
    residual = value_mm - gauge.reference_mm - gauge.slope_mm * wear
    honest = honest * (np.abs(residual) < _GROSS_SDS * gauge.sd_mm)
    total = float(honest.sum())
    if total < 8:
        return gauge
    near = honest * (np.abs(residual) < 3 * gauge.sd_mm)
    if near.sum() < 1:  # the standard holds the reference of a lot far off back
        near = honest
    slope, doubt = gauge.slope_mm, 0.0
    if gauge.free_slope:
        slope, slope_sd = _slope_within_dates(gauge, value_mm, wear, near, year)
        doubt = slope_sd / max(abs(slope), slope_sd)
    # A mean, not a median, of readings in steps: a median of them is off by part of a step.
    reference = float(np.average(value_mm - slope * wear, weights=near))
    if standard_mm is not None:
        reference = _near_standard(reference, standard_mm)
    residual = value_mm - reference - slope * wear
    moved = replace(gauge, reference_mm=reference, slope_mm=slope, wear_doubt=doubt)
    step = _step_mm(value_mm[honest > 0])
    found = _spreads(moved, residual, wear, wear_sd, honest, u_mm, step)
    return replace(
        found, u_reference_mm=1.25 * found.sd_mm / float(np.sqrt(total)),
        freedom=_PRIOR_FREEDOM + total,
    )  # fmt: skip
