"""Reading the instruments and writing the cells, with the slips of a hand."""

from __future__ import annotations

import math

import numpy as np

from lotscreen.records import Floats, Texts
from lotscreen.simulate.bodies import Bodies
from lotscreen.simulate.specs import Balance, Gauge

SLIPS = ("decimal slip", "swapped digits", "wrong digit")


def weigh(weight_g: Floats, balance: Balance, rng: np.random.Generator) -> Texts:
    """What the balance shows, as text with the decimals of its step."""
    return _cells(felt_weight(weight_g, balance, rng), balance.step_g)


def felt_weight(weight_g: Floats, balance: Balance, rng: np.random.Generator) -> Floats:
    """What the balance feels before it rounds, in g."""
    noise = rng.normal(0.0, balance.sd_g, len(weight_g))
    return np.asarray(weight_g * (1.0 + balance.scale_error) + noise)


def gauge_thickness(rim_mm: Floats, gauge: Gauge, rng: np.random.Generator) -> Texts:
    """The caliper over the rim, as text with the decimals of its step."""
    return _cells(felt_thickness(rim_mm, gauge, rng), gauge.step_mm)


def felt_thickness(rim_mm: Floats, gauge: Gauge, rng: np.random.Generator) -> Floats:
    """The caliper over the rim before it rounds, in mm; a tilted jaw can only read too much."""
    n = len(rim_mm)
    tilt = rng.exponential(gauge.tilt_mm, n) if gauge.tilt_mm > 0 else np.zeros(n)
    return np.asarray(rim_mm + tilt + rng.normal(0.0, gauge.sd_mm, n))


def gauge_diameter(bodies: Bodies, gauge: Gauge, rng: np.random.Generator) -> Texts:
    """One diameter taken wherever the coin came to hand, as text."""
    return _cells(felt_diameter(bodies, gauge, rng), gauge.step_mm)


def felt_diameter(bodies: Bodies, gauge: Gauge, rng: np.random.Generator) -> Floats:
    """One diameter before it is rounded, in mm: a short place is met in proportion to the
    angle it covers."""
    n = len(bodies.diameter_mm)
    cut = bodies.diameter_mm - bodies.short_mm
    half_angle = np.arccos(np.clip(1.0 - 2.0 * cut / bodies.diameter_mm, -1.0, 1.0))
    from_cut = rng.uniform(0.0, np.pi / 2.0, n)
    across = np.where(
        from_cut < half_angle,
        bodies.diameter_mm / 2.0
        + (bodies.diameter_mm / 2.0 - cut) / np.maximum(np.cos(from_cut), 1e-9),
        bodies.diameter_mm,
    )
    return np.asarray(np.minimum(across, bodies.diameter_mm) + rng.normal(0.0, gauge.sd_mm, n))


def gauge_length(length_mm: Floats, gauge: Gauge, rng: np.random.Generator) -> Texts:
    """A length turned for until found (the largest or smallest diameter)."""
    return _cells(length_mm + rng.normal(0.0, gauge.sd_mm, len(length_mm)), gauge.step_mm)


def to_step(felt: Floats, step: float) -> Floats:
    """The nearest value that an instrument of this step can show."""
    return np.asarray(np.round(np.round(felt / step) * step, _decimals(step)))


def _decimals(step: float) -> int:
    return max(0, round(-math.log10(step)))


def _cells(felt: Floats, step: float) -> Texts:
    return np.char.mod(f"%.{_decimals(step)}f", to_step(felt, step)).astype(object)


def slip(cell: str, kind: str, rng: np.random.Generator) -> str:
    """``cell`` as a tired hand writes it; the cell itself where the slip changes nothing
    (two like digits swapped)."""
    if kind == "decimal slip":
        factor = 10.0 if rng.random() < 0.5 else 0.1
        return f"{float(cell) * factor:.10g}"
    places = [i for i, sign in enumerate(cell) if sign.isdigit()]
    if kind == "swapped digits":
        first = int(rng.integers(len(places) - 1))
        i, j = places[first], places[first + 1]
        return cell[:i] + cell[j] + cell[i + 1 : j] + cell[i] + cell[j + 1 :]
    place = places[int(rng.integers(len(places)))]
    digit = (int(cell[place]) + int(rng.integers(1, 10))) % 10
    return cell[:place] + str(digit) + cell[place + 1 :]
