"""Curves, bands and clouds for the eye, computed here and drawn by the report."""

from __future__ import annotations

from dataclasses import dataclass

import contourpy
import numpy as np
from scipy.stats import norm

from lotscreen.display import Direction, QuantilePlot, TypeDisplay
from lotscreen.lot.parade import parade
from lotscreen.lot.quantiles import quantile_plot
from lotscreen.lot.sight import sight
from lotscreen.records import FindingKind, Findings, Floats, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import TypeFit, false_part, grid
from lotscreen.wear.blank import thicker
from lotscreen.wear.predict import predictor
from lotscreen.wear.standing import distinct_standings
from lotscreen.words import say

_LEVELS = (0.5, 0.95, 0.998)
_CLOUD_POINTS = 90
_BRASS_OF_SILVER = 0.83
_SAME_SIZE = {"gold": 0.55}


def type_display(
    coins: ItemTable, fit: TypeFit, settings: Settings, findings: Findings | None = None
) -> TypeDisplay:
    """What is drawn of the coins of one type in one lot (rows with a weight); ``findings``
    of the same rows add the residuals in order."""
    tables = predictor(fit)
    u, step = float(np.median(coins.weight_u_g)), float(np.nanmedian(coins.weight_step_g))
    points = tables.reading_points()
    places, which = distinct_standings(coins, fit)
    counts = np.bincount(which)
    cdf = counts @ np.stack([tables.reading_cdf(of, u) for of in places]) / counts.sum()
    density = np.diff(cdf) / np.diff(points)
    low, high = np.interp([settings.limit / 2, 1 - settings.limit / 2], cdf, points)
    year, loss, year_low, year_high = _by_year(coins.year, u, fit)
    clouds = _cloud(coins, fit, u)
    typical = float(np.nanmedian(coins.year)) if np.isfinite(coins.year).any() else float("nan")
    lines, marks = sight(
        fit, typical, u, step if np.isfinite(step) else 0.01, settings,
        diameter=bool(coins.diameter_n.any()), thickness=bool(coins.thickness_n.any()),
    )  # fmt: skip
    coin_type = fit.coin_type
    mean_wear = fit.mean_wear()
    return TypeDisplay(
        type_key=coin_type.key,
        type_name=coin_type.name,
        coins=len(coins),
        standard_weight_g=coin_type.weight_g,
        remedy_g=coin_type.remedy_g(typical),
        least_current_g=coin_type.least_current_g,
        standard_diameter_mm=coin_type.diameter_mm,
        reference_diameter_mm=fit.diameter.reference_mm if fit.diameter.speaks else None,
        reference_thickness_mm=fit.thickness.reference_mm if fit.thickness.speaks else None,
        mean_loss_percent=100 * mean_wear,
        curve_weight_g=0.5 * (points[1:] + points[:-1]),
        curve_density_per_g=density,
        limit_low_g=float(low),
        limit_high_g=float(high),
        year=year,
        year_loss_percent=loss,
        year_low_percent=year_low,
        year_high_percent=year_high,
        cloud_levels=_LEVELS if clouds else (),
        cloud_weight_g=tuple(c.weight_g for c in clouds),
        cloud_thickness_mm=tuple(c.thickness_mm for c in clouds),
        directions=_directions(fit, mean_wear),
        sight_lines=lines,
        sight_marks=marks,
        false_density_per_g=_false_density(fit, points),
        false_share=fit.false_share,
        quantiles=None if findings is None else _quantiles(findings),
        parade=parade(coins, fit),
    )


def _false_density(fit: TypeFit, points: Floats) -> Floats:
    """The strips of the part that is not honest coin, in the share that the fit gives them."""
    standard, middle = fit.coin_type.weight_g, 0.5 * (points[1:] + points[:-1])
    low, high = false_part.LOW * standard, false_part.HIGH * standard
    inside = (middle[:, None] >= low) & (middle[:, None] < high)
    return np.asarray(fit.false_share * (inside @ (fit.strips / (high - low))))


def _quantiles(findings: Findings) -> QuantilePlot | None:
    """Residuals of the weights, entries in doubt left out."""
    settled = findings.finding != FindingKind.RE_MEASURE
    return quantile_plot(findings.z_weight[settled])


def _by_year(year: Floats, u_g: float, fit: TypeFit) -> tuple[Floats, Floats, Floats, Floats]:
    """Loss of coins of each date, whatever their groups and grades: mean and ends, %."""
    years = np.unique(year[np.isfinite(year)])
    standard = fit.coin_type.weight_g
    tables = predictor(fit)
    mean = np.array([tables.expected_reading_g(float(y)) for y in years])
    ends = np.array([0.025, 0.975])
    quantiles = np.array([tables.reading_quantiles(float(y), u_g, ends) for y in years])
    quantiles = quantiles.reshape(-1, 2)

    def loss(weight: Floats) -> Floats:
        return np.asarray(100 * (1 - weight / standard))

    return years, loss(mean), loss(quantiles[:, 1]), loss(quantiles[:, 0])


@dataclass(frozen=True, slots=True)
class _Contour:
    weight_g: Floats
    thickness_mm: Floats


def _cloud(coins: ItemTable, fit: TypeFit, u_g: float) -> list[_Contour]:
    """Contours of the honest density of weight and thickness at the lot's mix of dates."""
    if not fit.thickness.speaks:
        return []
    tables = predictor(fit)
    places, which = distinct_standings(coins, fit)
    counts = np.bincount(which)
    wear = counts @ np.stack([tables.wear(of) for of in places]) / counts.sum()
    gauge = fit.thickness
    centre_w = fit.struck.mean_g(grid.WEAR)
    centre_t = gauge.reference_mm + gauge.slope_mm * grid.WEAR
    sd_w = np.hypot(fit.struck.sd_g, u_g)
    sd_t = np.hypot(gauge.sd_mm, gauge.u_reference_mm)
    keep = np.cumsum(wear) < 0.9999
    low_w, high_w = float(centre_w[keep].min() - 5 * sd_w), float(centre_w[0] + 5 * sd_w)
    low_t, high_t = float(centre_t[keep].min() - 5 * sd_t), float(centre_t[0] + 5 * sd_t)
    w = np.linspace(low_w, high_w, _CLOUD_POINTS)
    t = np.linspace(low_t, high_t, _CLOUD_POINTS)
    by_w = norm.pdf(w[:, None], centre_w[None, :], sd_w) * wear
    by_t = norm.pdf(t[:, None], centre_t[None, :], sd_t)
    density = by_t @ by_w.T
    return [_contour(w, t, density, level) for level in _LEVELS]


def _contour(w: Floats, t: Floats, density: Floats, level: float) -> _Contour:
    ranked = np.sort(density.ravel())[::-1]
    inside = np.cumsum(ranked) / ranked.sum()
    height = float(ranked[int(np.searchsorted(inside, level))])
    lines = [np.asarray(x) for x in contourpy.contour_generator(w, t, density).lines(height)]
    longest: Floats = max(lines, key=len, default=np.empty((0, 2)))
    return _Contour(np.asarray(longest[:, 0]), np.asarray(longest[:, 1]))


def _directions(fit: TypeFit, mean_wear: float) -> tuple[Direction, ...]:
    """Arrows from the honest centre: what each kind of change does to weight, thickness."""
    weight = fit.coin_type.weight_g
    family = fit.coin_type.fine_metal or fit.coin_type.metal
    ratio = _SAME_SIZE.get(family, _BRASS_OF_SILVER)
    thickness = fit.thickness.reference_mm if fit.thickness.speaks else 0.0
    worn = max(mean_wear, 0.01)
    return (
        Direction(say("lot.direction.wear"), -worn * weight, worn * fit.thickness.slope_mm),
        Direction(say("lot.direction.same_size"), (ratio - 1) * weight, 0.0),
        Direction(say("lot.direction.same_weight"), 0.0, thicker(ratio) * thickness),
        Direction(say("lot.direction.smaller"), -0.05 * weight, 0.0),
    )
