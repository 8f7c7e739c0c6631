"""Slips of the pen as rival explanations: what was typed against what was read.

A slip never hides a coin by itself: each candidate value is judged as an honest coin's
reading and divided by the number of such slips that were possible, and the whole is
weighed against the other explanations at the declared rate of wrong cells.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from lotscreen.evidence.points import log_excess
from lotscreen.quantities import DWT_G, GRAIN_G, INCH_MM, TROY_OUNCE_G
from lotscreen.records import Floats
from lotscreen.wear import GaugeFit, TypeFit
from lotscreen.wear.joint import gauge_density
from lotscreen.wear.predict import CoinRows, predictor

Candidates = Iterator[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class SlipKind:
    """One kind of slip: ``key`` of its words, its share of all slips, and the candidates
    (value that would have been right, chance of what was typed given that value)."""

    key: str
    share: float
    candidates: Callable[[float, float, bool], Candidates]


def decimal_slip(value: float, _step: float, _is_weight: bool) -> Candidates:
    """The decimal sign one or two places off."""
    for factor in (10.0, 0.1, 100.0, 0.01):
        yield value * factor, 0.25


def _digits(value: float, step: float) -> tuple[str, int]:
    decimals = max(0, round(-float(np.log10(step))))
    return f"{value:.{decimals}f}".replace(".", ""), decimals


def _number(digits: str, decimals: int) -> float:
    return float(int(digits)) / float(10**decimals)


def swapped_digits(value: float, step: float, _is_weight: bool) -> Candidates:
    """Two neighbouring digits exchanged."""
    digits, decimals = _digits(value, step)
    for i in range(len(digits) - 1):
        if digits[i] != digits[i + 1]:
            swapped = digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :]
            yield _number(swapped, decimals), 1 / (len(digits) - 1)


def wrong_digit(value: float, step: float, _is_weight: bool) -> Candidates:
    """One digit mistaken for another."""
    digits, decimals = _digits(value, step)
    for i, present in enumerate(digits):
        for other in "0123456789":
            if other != present:
                changed = digits[:i] + other + digits[i + 1 :]
                yield _number(changed, decimals), 1 / (9 * len(digits))


def wrong_unit(value: float, _step: float, is_weight: bool) -> Candidates:
    """Written in another unit than the column's."""
    factors = (GRAIN_G, DWT_G, TROY_OUNCE_G, 1 / GRAIN_G) if is_weight else (INCH_MM, 1 / INCH_MM)
    for factor in factors:
        yield value * factor, 1 / len(factors)


def two_on_the_pan(value: float, _step: float, is_weight: bool) -> Candidates:
    """Two coins weighed as one."""
    if is_weight:
        yield value / 2, 1.0


SLIPS: list[SlipKind] = [
    SlipKind("decimal_slip", 0.25, decimal_slip),
    SlipKind("swapped_digits", 0.25, swapped_digits),
    SlipKind("wrong_digit", 0.30, wrong_digit),
    SlipKind("wrong_unit", 0.12, wrong_unit),
    SlipKind("two_on_the_pan", 0.08, two_on_the_pan),
]
COLUMNS_SWAPPED = "columns_swapped"
SLIP_KEYS = (*(s.key for s in SLIPS), COLUMNS_SWAPPED)
_COLUMNS_SHARE = 0.1
"""Rate of rows with two columns exchanged, as a share of the rate of wrong cells."""


@dataclass(frozen=True, slots=True)
class SlipEvidence:
    """The likeliest slip of one coin: natural log of the evidence of all slips together
    (rates included), the likeliest one's key, quantity, and proposed value."""

    log_evidence: float
    key: str
    quantity: str
    proposed: float


@dataclass(frozen=True, slots=True)
class SlipCoin:
    """Readings of one coin for the slips: single values, NaN where not read."""

    weight_g: float
    weight_step_g: float
    weight_u_g: float
    weighings: int
    diameter_mm: float
    diameter_u_mm: float
    excess_mm: float
    thickness_mm: float
    year: float


_LENGTH_STEP_MM = 0.01
_NONE = SlipEvidence(-690.0, "", "", np.nan)


def slip_evidence(coin: SlipCoin, fit: TypeFit, rate: float) -> SlipEvidence:
    """Evidence of all slips of ``coin`` at ``rate`` wrong cells, on the scale of
    :func:`lotscreen.evidence.points.log_evidence`."""
    if rate <= 0:
        return _NONE
    tried = _weight_slips(coin, fit) + _length_slips(coin, fit) + _column_slips(coin, fit)
    tried = [t for t in tried if t.log_evidence > -600]
    if not tried:
        return _NONE
    logs = np.array([t.log_evidence for t in tried])
    best = tried[int(np.argmax(logs))]
    together = float(np.log(rate) + logs.max() + np.log(np.exp(logs - logs.max()).sum()))
    return SlipEvidence(together, best.key, best.quantity, best.proposed)


def _listed(value: float, step: float, is_weight: bool) -> list[tuple[str, float, float]]:
    return [
        (kind.key, candidate, kind.share * chance)
        for kind in SLIPS
        for candidate, chance in kind.candidates(value, step, is_weight)
        if candidate > 0
    ]


def _honest(coin: SlipCoin, fit: TypeFit, weights: Floats, step_g: float) -> tuple[Floats, Floats]:
    """Probability of the cell and the wear shown, for each candidate weight."""
    half = np.full(len(weights), 0.5 * step_g)
    rows = CoinRows(
        weights - half, weights + half, np.full(len(weights), coin.weight_u_g),
        np.full(len(weights), coin.year), np.zeros(len(weights), np.bool_),
    )  # fmt: skip
    seen = predictor(fit).predict(rows)
    return np.log(np.maximum(seen.cell, 1e-299)), seen.wear


def log_gauge(value: float, gauge: GaugeFit, wear: Floats) -> Floats:
    """Natural log density of a length at each wear, 0 where it does not speak."""
    if not (gauge.speaks and np.isfinite(value)):
        return np.zeros(len(wear))
    z = (value - gauge.reference_mm - gauge.slope_mm * wear) / gauge.sd_mm
    return np.asarray(np.log(gauge_density(z, gauge.tail_share) / gauge.sd_mm))


def _weight_slips(coin: SlipCoin, fit: TypeFit) -> list[SlipEvidence]:
    if coin.weighings != 1:
        return []  # a weighing repeated is not one slip of the pen
    listed = _listed(coin.weight_g, coin.weight_step_g, True)
    values = np.array([v for _, v, _ in listed])
    log_cell, wear = _honest(coin, fit, values, coin.weight_step_g)
    log_cell = log_cell + log_gauge(coin.diameter_mm, fit.diameter, wear)
    log_cell = log_cell + log_gauge(coin.thickness_mm, fit.thickness, wear)
    log_cell = log_cell + _round(coin, coin.diameter_mm)
    return [
        SlipEvidence(float(lc + np.log(chance)), key, "weight", value)
        for lc, (key, value, chance) in zip(log_cell, listed, strict=True)
    ]


def _round(coin: SlipCoin, diameter_mm: float) -> float:
    """Natural log density of the largest diameter's excess, had the smallest been
    ``diameter_mm``."""
    excess = coin.excess_mm + coin.diameter_mm - diameter_mm
    return float(log_excess(np.array(excess), np.array(coin.diameter_u_mm)))


def _length_slips(coin: SlipCoin, fit: TypeFit) -> list[SlipEvidence]:
    log_cell, wear = _honest(coin, fit, np.array([coin.weight_g]), coin.weight_step_g)
    found = []
    for quantity, value, gauge, other in (
        ("diameter", coin.diameter_mm, fit.diameter,
         log_gauge(coin.thickness_mm, fit.thickness, wear)),
        ("thickness", coin.thickness_mm, fit.thickness,
         log_gauge(coin.diameter_mm, fit.diameter, wear)),
    ):  # fmt: skip
        if not (np.isfinite(value) and gauge.speaks):
            continue
        for key, candidate, chance in _listed(value, _LENGTH_STEP_MM, False):
            log_this = log_gauge(candidate, gauge, wear)
            typed = candidate if quantity == "diameter" else coin.diameter_mm
            log_this = log_this + _round(coin, typed)
            total = float(log_cell[0] + other[0] + log_this[0] + np.log(chance))
            found.append(SlipEvidence(total, key, quantity, candidate))
    return found


def _column_slips(coin: SlipCoin, fit: TypeFit) -> list[SlipEvidence]:
    w, d, t = coin.weight_g, coin.diameter_mm, coin.thickness_mm
    exchanges = [(d, w, t), (t, d, w), (w, t, d)]
    found = []
    for weight, diameter, thickness in exchanges:
        if not (np.isfinite(weight) and (fit.diameter.speaks or fit.thickness.speaks)):
            continue
        log_cell, wear = _honest(coin, fit, np.array([weight]), coin.weight_step_g)
        total = log_cell[0] + log_gauge(diameter, fit.diameter, wear)[0]
        total += log_gauge(thickness, fit.thickness, wear)[0] + np.log(_COLUMNS_SHARE / 3)
        total += _round(coin, diameter)
        found.append(SlipEvidence(float(total), COLUMNS_SWAPPED, "weight", weight))
    return found
