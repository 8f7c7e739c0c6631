"""Records made for the eye: what the figures of a report draw, already computed.

``screening`` fills them, ``report`` draws them; the report computes no statistic.
"""

from __future__ import annotations

from dataclasses import dataclass

from lotscreen.records import Floats, Ints


@dataclass(frozen=True, slots=True)
class Direction:
    """A named way in which a coin may depart, from the honest centre, as an arrow."""

    name: str
    weight_g: float
    thickness_mm: float


@dataclass(frozen=True, slots=True)
class SightLine:
    """Chance to notice a departure. ``departure_percent`` and ``chance`` are paired
    arrays; ``readings`` is 'weight only' or 'weight, diameter, thickness'."""

    readings: str
    departure: str
    departure_percent: Floats
    chance: Floats


@dataclass(frozen=True, slots=True)
class SightMark:
    """A known departure to mark on the sight lines: 'brass, same size', -17.0."""

    name: str
    departure_percent: float
    chance_weight_only: float
    chance_all: float


@dataclass(frozen=True, slots=True)
class QuantilePlot:
    """Residuals in order against the normal: paired arrays over the places shown, with a
    band that holds for all of them in 95 of 100 honest lots; ``outside`` of them are not
    in it."""

    normal: Floats
    residual: Floats
    low: Floats
    high: Floats
    outside: int


@dataclass(frozen=True, slots=True)
class Parade:
    """The real lot among honest ones drawn from the fit: ``counts`` (lots x bars) between
    the same ``edges_g``; the real one is the row ``real``."""

    edges_g: Floats
    counts: Ints
    real: int


@dataclass(frozen=True, slots=True)
class TypeDisplay:
    """What is drawn of one type in one lot.

    ``curve_*``: the fitted honest distribution of readings (density per g) for this
    lot's mix of dates. ``limit_*``: where a typical coin's weight stops being called
    consistent. ``year_*``: by year struck, expected loss in per cent of the standard
    with the 95 % interval of one coin. ``cloud_*``: closed contours of the honest
    weight-thickness cloud, one a level (share inside), empty when thickness did not
    speak. ``false_density_per_g``: the part of the fit that is not honest coin, by
    weight alone, at the weights of the curve, ``false_share`` of all coins (None: not told).
    All lengths mm, all weights g.
    """

    type_key: str
    type_name: str
    coins: int
    standard_weight_g: float
    remedy_g: float | None
    least_current_g: float | None
    standard_diameter_mm: float | None
    reference_diameter_mm: float | None
    reference_thickness_mm: float | None
    mean_loss_percent: float
    curve_weight_g: Floats
    curve_density_per_g: Floats
    limit_low_g: float
    limit_high_g: float
    year: Floats
    year_loss_percent: Floats
    year_low_percent: Floats
    year_high_percent: Floats
    cloud_levels: tuple[float, ...]
    cloud_weight_g: tuple[Floats, ...]
    cloud_thickness_mm: tuple[Floats, ...]
    directions: tuple[Direction, ...]
    sight_lines: tuple[SightLine, ...]
    sight_marks: tuple[SightMark, ...]
    false_density_per_g: Floats | None = None
    false_share: float = 0.0
    quantiles: QuantilePlot | None = None
    parade: Parade | None = None
