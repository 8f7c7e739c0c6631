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
from lotscreen.wear.predict import predictor

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
_NOTHING = -600.0
_NONE = SlipEvidence(-690.0, "", "", np.nan)


def slip_evidence(coin: SlipCoin, fit: TypeFit, rate: float) -> SlipEvidence:
    """Evidence of all slips of ``coin`` at ``rate`` wrong cells, on the scale of
    :func:`lotscreen.evidence.points.log_evidence`."""
    if rate <= 0:
        return _NONE
    tried = _weight_slips(coin, fit) + _length_slips(coin, fit) + _column_slips(coin, fit)
    if not tried:
        return _NONE
    logs = np.concatenate([t.log_evidence for t in tried])
    top = float(logs.max())
    if top < _NOTHING:
        return _NONE
    best = max(tried, key=lambda t: float(t.log_evidence.max()))
    place = int(np.argmax(best.log_evidence))
    together = float(np.log(rate) + top + np.log(np.exp(logs - top).sum()))
    return SlipEvidence(together, best.keys[place], best.quantity, float(best.values[place]))


@dataclass(frozen=True, slots=True)
class _Tried:
    """Candidates of one quantity: keys of the slips, the values that would have been
    right, and the natural log of the evidence for each, arrays of one length."""

    keys: list[str]
    quantity: str
    values: Floats
    log_evidence: Floats


def _listed(value: float, step: float, is_weight: bool) -> tuple[list[str], Floats, Floats]:
    """Keys, candidates and natural-log chances of all slips of a typed value."""
    found = [
        (kind.key, candidate, kind.share * chance)
        for kind in SLIPS
        for candidate, chance in kind.candidates(value, step, is_weight)
        if candidate > 0
    ]
    keys, values, chances = zip(*found, strict=True)
    return list(keys), np.array(values), np.log(chances)


def _honest(coin: SlipCoin, fit: TypeFit, weights: Floats) -> tuple[Floats, Floats]:
    """Natural-log probability of the cell and the wear shown, for each candidate weight."""
    half = 0.5 * coin.weight_step_g
    cell, wear = predictor(fit).cells(coin.year, coin.weight_u_g, weights - half, weights + half)
    return np.log(np.maximum(cell, 1e-299)), wear


def log_gauge(value_mm: Floats | float, gauge: GaugeFit, wear: Floats) -> Floats:
    """Natural log density of a length at each wear, broadcast; 0 where it does not speak."""
    if not (gauge.speaks and np.isfinite(value_mm).all()):
        return np.zeros(np.broadcast_shapes(np.shape(value_mm), wear.shape))
    z = (value_mm - gauge.reference_mm - gauge.slope_mm * wear) / gauge.sd_mm
    return np.asarray(np.log(gauge_density(z, gauge.tail_share) / gauge.sd_mm))


def _weight_slips(coin: SlipCoin, fit: TypeFit) -> list[_Tried]:
    if coin.weighings != 1:
        return []  # a weighing repeated is not one slip of the pen
    keys, values, total = _listed(coin.weight_g, coin.weight_step_g, True)
    log_cell, wear = _honest(coin, fit, values)
    total = total + log_cell
    total += log_gauge(coin.diameter_mm, fit.diameter, wear)
    total += log_gauge(coin.thickness_mm, fit.thickness, wear)
    total += _round(coin, coin.diameter_mm)
    return [_Tried(keys, "weight", values, total)]


def _round(coin: SlipCoin, diameter_mm: Floats | float) -> Floats | float:
    """Natural log density of the largest diameter's excess, had the smallest been
    ``diameter_mm``."""
    if not np.isfinite(coin.excess_mm):
        return 0.0
    excess = np.asarray(coin.excess_mm + coin.diameter_mm - diameter_mm)
    return log_excess(excess, np.array(coin.diameter_u_mm))


def _length_slips(coin: SlipCoin, fit: TypeFit) -> list[_Tried]:
    lengths = (
        ("diameter", coin.diameter_mm, fit.diameter, coin.thickness_mm, fit.thickness),
        ("thickness", coin.thickness_mm, fit.thickness, coin.diameter_mm, fit.diameter),
    )
    if not any(np.isfinite(value) and gauge.speaks for _, value, gauge, _, _ in lengths):
        return []
    log_cell, wear = _honest(coin, fit, np.array([coin.weight_g]))
    found = []
    for quantity, value, gauge, other, other_gauge in lengths:
        if not (np.isfinite(value) and gauge.speaks):
            continue
        keys, values, total = _listed(value, _LENGTH_STEP_MM, False)
        total = total + log_cell + log_gauge(other, other_gauge, wear)
        total += log_gauge(values, gauge, wear)
        total += _round(coin, values if quantity == "diameter" else coin.diameter_mm)
        found.append(_Tried(keys, quantity, values, total))
    return found


def _column_slips(coin: SlipCoin, fit: TypeFit) -> list[_Tried]:
    w, d, t = coin.weight_g, coin.diameter_mm, coin.thickness_mm
    if not (fit.diameter.speaks or fit.thickness.speaks):
        return []
    exchanges = np.array([x for x in ((d, w, t), (t, d, w), (w, t, d)) if np.isfinite(x[0])])
    if not len(exchanges):
        return []
    log_cell, wear = _honest(coin, fit, exchanges[:, 0])
    total = log_cell + np.log(_COLUMNS_SHARE / 3)
    for value, gauge in ((exchanges[:, 1], fit.diameter), (exchanges[:, 2], fit.thickness)):
        taken = np.where(np.isfinite(value), value, 0.0)
        total += np.where(np.isfinite(value), log_gauge(taken, gauge, wear), 0.0)
    total += np.nan_to_num(_round(coin, exchanges[:, 1]))
    return [_Tried([COLUMNS_SWAPPED] * len(exchanges), "weight", exchanges[:, 0], total)]
