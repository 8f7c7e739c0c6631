"""Robust z of each reading and the joint rate among honest coins."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri, stdtr

from lotscreen.evidence.points import CoinReadings, log_excess
from lotscreen.records import Bools, Floats, Ints, ItemTable
from lotscreen.wear import GaugeFit, TypeFit
from lotscreen.wear.allowance import slick_wear
from lotscreen.wear.distinct import distinct_rows
from lotscreen.wear.joint import (
    Lengths,
    by_date,
    component_terms,
    gauge_density,
    honest_terms,
    left_out,
    weight_terms,
)
from lotscreen.wear.lengths import judged_diameter
from lotscreen.wear.null import Readings
from lotscreen.wear.predict import predictor
from lotscreen.wear.predicted import Predicted
from lotscreen.wear.standing import CoinRows, coin_rows

_LARGEST_Z = 37.0
_CLASS_STEPS = 1.5
_ENOUGH_COINS = 20
_BEYOND_SLICK = 1.3
_MANY_BEYOND = 0.35
_BEYOND_DOUBT = 1e-30
_P_DECIMALS = 9
_STANDARD_SPEAKS = float(np.log(0.01))


@dataclass(frozen=True, slots=True)
class Departures:
    """Departure of n coins of one type from honest ones, arrays (n,).

    ``z_*`` normal deviates (NaN: did not speak), ``p_*`` the two-sided rate of honest
    coins as far off in that reading alone (thickness and diameter given the wear that
    the weight shows). ``log10_lr``: all readings together, departures against honest, the
    departures as the lot has them; ``score`` the same with every kind of departure worth
    something, so that one the lot does not hold is seen too; ``log10_p`` and ``p_joint``:
    how rare such a score is among honest coins. Where the standard alone says rarer than
    lot and standard together, the standard's word counts.
    """

    z_weight: Floats
    z_diameter: Floats
    z_thickness: Floats
    p_weight: Floats
    p_diameter: Floats
    p_thickness: Floats
    p_joint: Floats
    log10_p: Floats
    score: Floats
    log10_lr: Floats
    predicted: Predicted
    readings: CoinReadings
    placed: CoinRows

    def rows(self, index: Ints) -> Departures:
        """The coins at ``index``."""
        return Departures(
            self.z_weight[index], self.z_diameter[index], self.z_thickness[index],
            self.p_weight[index], self.p_diameter[index], self.p_thickness[index],
            self.p_joint[index], self.log10_p[index], self.score[index], self.log10_lr[index],
            self.predicted.rows(index), self.readings.rows(index), self.placed.rows(index),
        )  # fmt: skip


def departures(coins: ItemTable, fit: TypeFit, in_fit: Bools) -> Departures:
    """Departures of ``coins`` (one type, all with a weight) from honest coins."""
    rows = coin_rows(coins, fit, in_fit)
    seen = predictor(fit).predict(rows)
    diameter, excess = judged_diameter(coins)
    thickness = by_date(coins.thickness_mm, fit, rows, seen.wear)
    readings = CoinReadings(
        coins.weight_low_g, coins.weight_high_g, coins.weight_u_g, diameter, coins.diameter_u_mm,
        excess, thickness, seen.wear_points,
    )  # fmt: skip
    diameter = left_out(diameter, fit.diameter, seen.wear, in_fit)
    thickness = left_out(thickness, fit.thickness, seen.wear, in_fit)
    by_standard = _standards_word(rows, fit, seen)
    z_weight, p_weight = _weight(seen, by_standard)
    z_diameter = gauge_z(diameter, fit.diameter, seen.wear, seen.wear_sd)
    z_thickness = gauge_z(thickness, fit.thickness, seen.wear, seen.wear_sd)
    score, ratio = _log_ratios(rows, Lengths(diameter, thickness), fit, seen)
    log_p = _log_null_rate(score, coins, z_diameter, z_thickness, fit, seen)
    by_standard = np.minimum(by_standard, _by_itself(p_weight, z_diameter, z_thickness))
    # Rounded before it is compared with a limit: the same finding on every machine.
    log10_p = np.round(np.minimum(log_p, by_standard) / np.log(10), _P_DECIMALS)
    off_standard = by_standard < np.minimum(log_p, _STANDARD_SPEAKS)
    score, ratio = (
        np.where(off_standard, np.maximum(log_ratio, -by_standard), log_ratio) / np.log(10)
        for log_ratio in (score, ratio)
    )
    return Departures(
        z_weight, z_diameter, z_thickness, p_weight, _two_sided(z_diameter),
        _two_sided(z_thickness), np.power(10.0, np.maximum(log10_p, -290.0)), log10_p,
        score, ratio, seen, readings, rows,
    )  # fmt: skip


def _by_itself(p_weight: Floats, z_diameter: Floats, z_thickness: Floats) -> Floats:
    """Natural log of the rate by the farthest single reading (Bonferroni over three), 0 but
    where it is beyond doubt: there the densities of both sides are too small to be told
    apart, and their ratio says nothing."""
    alone = np.fmin(np.fmin(p_weight, _two_sided(z_diameter)), _two_sided(z_thickness))
    return np.where(alone < _BEYOND_DOUBT, np.log(3 * np.maximum(alone, 1e-299)), 0.0)


def _standards_word(rows: CoinRows, fit: TypeFit, seen: Predicted) -> Floats:
    """Natural log of the rate by standard and wear allowance alone, up to slick; 0 where
    the lot itself shows what its coins have lost and most are not lighter than slick ones."""
    slick = slick_wear(fit.coin_type)
    unsure = fit.coins < _ENOUGH_COINS or fit.beyond_slick_share > _MANY_BEYOND
    counts = np.flatnonzero(unsure | (seen.date_wear > _BEYOND_SLICK * slick))
    result = np.zeros(len(rows.low_g))
    if len(counts):
        rate = predictor(fit).standard_rate(rows.rows(counts))
        result[counts] = np.log(np.clip(rate, 1e-290, 1.0))
    return result


def _log_ratios(
    rows: CoinRows, lengths: Lengths, fit: TypeFit, seen: Predicted
) -> tuple[Floats, Floats]:
    """Natural log of departures against honest: at the score's shares of the departures,
    and at the fitted ones."""
    ground = predictor(fit).ground
    weight = weight_terms(ground, rows.low_g, rows.high_g, rows.u_g, seen.date)
    terms = component_terms(ground, weight, lengths)
    honest = honest_terms(ground, seen.cell, lengths, seen.wear, seen.wear_sd)[:, None]
    shares = np.column_stack([predictor(fit).score_shares, fit.component_shares])
    score, ratio = np.log(terms @ shares / honest).T
    return score, ratio


def _log_null_rate(
    score: Floats, coins: ItemTable, z_diameter: Floats, z_thickness: Floats, fit: TypeFit,
    seen: Predicted,
) -> Floats:  # fmt: skip
    """Natural log of the rate of honest coins scoring as high, by the readings taken."""
    result: Floats = np.log(
        np.minimum(np.maximum(2 * np.minimum(seen.p_low, seen.p_high), 1e-290), 1.0)
    )
    step = coins.weight_high_g - coins.weight_low_g
    # A published class is no step of a balance: its two-sided rate stands.
    single = np.isfinite(step) & (step < _CLASS_STEPS * coins.weight_step_g)
    places = np.flatnonzero(single)
    kinds = np.array([np.isfinite(z_diameter), np.isfinite(z_thickness),
                      coins.weight_u_g.round(6), step.round(7),
                      coins.grade != ""]).T[places]  # fmt: skip
    distinct, which, _ = distinct_rows(kinds)
    for k, (across, thick, u_g, step_g, graded) in enumerate(distinct):
        rows = places[which == k]
        taken = Readings(bool(across), bool(thick), float(u_g), float(step_g))
        tables = predictor(fit)
        result[rows] = tables.null_rate(score[rows], seen.date_wear[rows], taken, bool(graded))
    return result


def _weight(seen: Predicted, by_standard: Floats) -> tuple[Floats, Floats]:
    below, above = seen.p_low - 0.5 * seen.cell, seen.p_high - 0.5 * seen.cell
    z = np.where(below < above, ndtri(np.maximum(below, 1e-299)), -ndtri(np.maximum(above, 1e-299)))
    by_lot = 2 * np.minimum(seen.p_low, seen.p_high)
    p = np.maximum(np.minimum(np.minimum(by_lot, np.exp(by_standard)), 1.0), 1e-299)
    return _within_largest(z), p


def gauge_z(value_mm: Floats, gauge: GaugeFit, wear: Floats, wear_sd: Floats) -> Floats:
    """Normal deviate of a length from lot and standard given the coin's wear, NaN where
    it was not read or has no reference."""
    if not gauge.speaks:
        return np.full(len(value_mm), np.nan)
    mean = gauge.reference_mm + gauge.slope_mm * wear
    t = (value_mm - mean) / _length_sd(gauge, wear, wear_sd)
    tail = stdtr(gauge.freedom, -np.abs(t))
    z = -ndtri(np.maximum(tail, 1e-299)) * np.sign(t)
    return _within_largest(z)


def _length_sd(gauge: GaugeFit, wear: Floats, wear_sd: Floats) -> Floats:
    known = np.hypot(gauge.sd_mm, gauge.u_reference_mm)
    return np.hypot(known, gauge.doubt_of_wear_mm(wear, wear_sd))


def _within_largest(z: Floats) -> Floats:
    return np.asarray(np.minimum(np.maximum(z, -_LARGEST_Z), _LARGEST_Z))


def _two_sided(z: Floats) -> Floats:
    return np.asarray(2 * ndtr(-np.abs(z)))


def log_gauge_given(found: Departures, fit: TypeFit) -> Floats:
    """Natural log density of diameter, its excess and thickness of honest coins given
    the wear that each coin's weight shows, n; nothing for what did not speak."""
    read, wear, wear_sd = found.readings, found.predicted.wear, found.predicted.wear_sd
    total = log_length(read.diameter_mm, fit.diameter, wear, wear_sd)
    total += log_length(read.thickness_mm, fit.thickness, wear, wear_sd)
    return total + log_excess(read.excess_mm, read.diameter_u_mm)


def log_length(value_mm: Floats, gauge: GaugeFit, wear: Floats, wear_sd: Floats) -> Floats:
    """Natural log density of a length of honest coins of each wear (n,), 0 where it was not
    read or has no reference."""
    if not gauge.speaks:
        return np.zeros(len(wear))
    mean = gauge.reference_mm + gauge.slope_mm * wear
    sd = _length_sd(gauge, wear, wear_sd)
    log_density = np.log(gauge_density((value_mm - mean) / sd, gauge.tail_share) / sd)
    return np.where(np.isfinite(value_mm), log_density, 0.0)
