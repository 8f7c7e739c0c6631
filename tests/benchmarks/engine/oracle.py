"""The likelihood ratio under the true generator, each date's true level of wear known.

No ranking of coins has more power at any rate of alarms (Neyman and Pearson, Phil. Trans.
A 231, 1933). A coin's density is the sum over the nodes of ``nodes.py``; given a node, the
small chances and the instruments' noises are normal and are integrated in closed form, a
tilted jaw's exponential too. Rounding: the weight's cell exactly, lengths by Sheppard's
correction, so the gauge must be fine. Known to the ratio: the levels drawn for the lot;
unknown: the small error of each year's issue, integrated over as if drawn for each coin.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import erfcx, ndtr

from lotscreen.records import Floats, ItemTable
from lotscreen.standards import CoinType

from . import makers
from .lots import Lot
from .makers import Date, Small
from .nodes import Nodes, Noise, Truth, honest_nodes, kind_nodes, planchet_nodes

_REMEDY_WHEN_NONE = 0.006
_TINY = 1e-300
_FAR = 8.0


@dataclass(frozen=True, slots=True)
class Coins:
    """The readings of some coins of one date and one set of readings, arrays of one
    length: bounds of the weight's cell, lengths (None: not read)."""

    low_g: Floats
    high_g: Floats
    diameter_mm: Floats | None
    thickness_mm: Floats | None


def log_ratio(lot: Lot) -> Floats:
    """Natural logarithm of the density of each coin under the lot's kinds together, in
    equal parts, over that of an honest coin; shape (coins,)."""
    false, honest = log_densities(lot, *known_of(lot))
    return false - honest


def log_densities(
    lot: Lot, truth: Truth, parts: list[tuple[np.ndarray, Coins, int]]
) -> tuple[Floats, Floats]:
    """Natural logarithms of the densities of each coin under the lot's kinds together and
    under honest coins, the dates' wear being what ``truth`` says; shapes (coins,)."""
    log_false, log_honest = np.full((2, len(lot.table)), np.nan)
    false = [nodes for kind in lot.plan.kinds for nodes in kind_nodes(kind, truth)]
    honest = honest_nodes(truth)
    for rows, coins, date in parts:
        depth_mm = float(truth.dates.depth_mm[date, 0])
        together = sum(density(coins, nodes.at(date, depth_mm), truth.noise) for nodes in false)
        alone = honest_density(coins, honest.at(date, depth_mm), date, truth)
        log_false[rows] = np.log(np.maximum(together / len(lot.plan.kinds), _TINY))
        log_honest[rows] = np.log(np.maximum(alone, _TINY))
    return log_false, log_honest


def known_of(lot: Lot) -> tuple[Truth, list[tuple[np.ndarray, Coins, int]]]:
    """What is true of the lot, and rows, readings and date (a position) of its coins, parted
    by date and set of readings."""
    table, coin = lot.table, lot.levels.coin_type
    years, first, date = np.unique(table.year, return_index=True, return_inverse=True)
    remedies = {_remedy_share(coin, year) for year in years}
    if len(remedies) > 1:
        raise ValueError(f"{coin.key} has several remedies in the years of the lot")
    dates = Date(
        coin.weight_g, coin.diameter_mm or math.nan, coin.density_g_cm3,
        lot.levels.depth_mm[first][:, None], lot.levels.stand_mm[first][:, None],
    )  # fmt: skip
    pattern = 2 * table.diameter_n + table.thickness_n
    parts = []
    for d, has in sorted(set(zip(date.tolist(), pattern.tolist(), strict=True))):
        rows = np.flatnonzero((date == d) & (pattern == has))
        parts.append((rows, _readings(table, rows), d))
    return Truth(dates, remedies.pop(), lot.plan.world, _noise(lot)), parts


def _noise(lot: Lot) -> Noise:
    balance, gauge = lot.plan.balance, lot.plan.gauge
    length = math.hypot(gauge.sd_mm, gauge.step_mm / math.sqrt(12.0))
    return Noise(balance.sd_g, length, gauge.tilt_mm, balance.scale_error)


def _readings(table: ItemTable, rows: np.ndarray) -> Coins:
    return Coins(
        table.weight_low_g[rows],
        table.weight_high_g[rows],
        table.diameter_mm[rows] if table.diameter_n[rows[0]] else None,
        table.thickness_mm[rows] if table.thickness_n[rows[0]] else None,
    )


def _remedy_share(coin_type: CoinType, year: float) -> float:
    return (coin_type.remedy_g(year) or _REMEDY_WHEN_NONE * coin_type.weight_g) / coin_type.weight_g


def honest_density(coins: Coins, nodes: Nodes, date: int, truth: Truth) -> Floats:
    """Density of honest coins of one date: quadrature over wear and planchet; given wear
    and the weight's cell, the planchet left open moves the thickness a little, which
    enters by its first two moments."""
    noise, dates = truth.noise, truth.dates
    planchet, share = planchet_nodes(truth.remedy, 0.8 * noise.weight_g / dates.weight_g)
    cells, cell_of = np.unique(
        np.round(np.stack([coins.low_g, coins.high_g]), 9), axis=1, return_inverse=True
    )
    here = replace(dates, depth_mm=dates.depth_mm[date], stand_mm=dates.stand_mm[date])
    body = makers.honest(here, Small(), nodes.wear[:, None], planchet[None, :])
    shown = body.weight_g * (1.0 + noise.scale)
    given = _cell(cells[0][:, None, None], cells[1][:, None, None], shown, noise.weight_g) * share
    by_wear = given.sum(axis=2)
    weight = given / np.maximum(by_wear, _TINY)[:, :, None]
    rim = (weight * body.rim_mm).sum(axis=2)
    rim_var = np.maximum((weight * body.rim_mm**2).sum(axis=2) - rim**2, 0.0)
    at = cell_of.ravel()
    result = by_wear[at] * nodes.share * _lengths(coins, nodes, rim[at], rim_var[at], noise)
    return np.asarray(result.sum(axis=1))


def _cell(low_g: Floats, high_g: Floats, mean_g: Floats, sd_g: Floats | float) -> Floats:
    """P(low < reading <= high), from the nearer tail."""
    a, b = (low_g - mean_g) / sd_g, (high_g - mean_g) / sd_g
    upper = a > 0
    return np.asarray(ndtr(np.where(upper, -a, b)) - ndtr(np.where(upper, -b, a)))


def _lengths(coins: Coins, nodes: Nodes, rim_mean: Floats, rim_var: Floats, noise: Noise) -> Floats:
    """Density of diameter and thickness, coins x nodes, given each node's wear; the rim's
    mean and further variance given the weight come as coins x nodes."""
    result = np.ones(rim_mean.shape)
    mean, var = rim_mean, rim_var + nodes.cov[:, 2, 2]
    if coins.diameter_mm is not None:
        off = coins.diameter_mm[:, None] - nodes.mean[:, 1]
        across = nodes.cov[:, 1, 1]
        result = result * _normal(off, across)
        mean = mean + nodes.cov[:, 1, 2] / across * off
        var = var - nodes.cov[:, 1, 2] ** 2 / across
    if coins.thickness_mm is not None:
        result = result * _tilted(coins.thickness_mm[:, None] - mean, var, noise.tilt_mm)
    return np.asarray(result)


def _normal(off: Floats, var: Floats) -> Floats:
    return np.asarray(np.exp(-0.5 * off**2 / var) / np.sqrt(2.0 * math.pi * var))


def _tilted(off: Floats, var: Floats, tilt_mm: float) -> Floats:
    """Density of a normal plus an exponential of mean ``tilt_mm``."""
    sd = np.sqrt(var)
    x = np.maximum((sd / tilt_mm - off / sd) / math.sqrt(2.0), -25.0)
    return np.asarray(np.exp(-0.5 * off**2 / var) * erfcx(x) / (2.0 * tilt_mm))


def density(coins: Coins, nodes: Nodes, noise: Noise) -> Floats:
    """Density of a kind's nodes, summed; shape (coins,). Pairs of a coin and a node too far
    apart to add anything (eight standard deviations and more) are left out."""
    coin, node = _near(coins, nodes)
    mean, cov = nodes.mean[node], nodes.cov[node]
    result, weight_mean, rim_mean = nodes.share[node], mean[:, 0], mean[:, 2]
    weight_var, joint, rim_var = cov[:, 0, 0], cov[:, 0, 2], cov[:, 2, 2]
    if coins.diameter_mm is not None:
        off = coins.diameter_mm[coin] - mean[:, 1]
        result = result * _normal(off, cov[:, 1, 1])
        with_weight, with_rim = cov[:, 0, 1] / cov[:, 1, 1], cov[:, 1, 2] / cov[:, 1, 1]
        weight_mean, rim_mean = weight_mean + with_weight * off, rim_mean + with_rim * off
        joint = joint - with_weight * cov[:, 1, 2]
        weight_var = weight_var - with_weight * cov[:, 0, 1]
        rim_var = rim_var - with_rim * cov[:, 1, 2]
    sd = np.sqrt(weight_var)
    low, high = coins.low_g[coin], coins.high_g[coin]
    chance, moved, kept = _weight(low, high, nodes.lost, weight_mean, sd)
    result = result * chance
    if coins.thickness_mm is not None:
        rim = coins.thickness_mm[coin] - rim_mean - joint / sd * moved
        rim_var = rim_var - (joint / sd) ** 2 * (1.0 - kept)
        result = result * _tilted(rim, rim_var, noise.tilt_mm)
    return np.bincount(coin, result, minlength=len(coins.low_g))


def _near(coins: Coins, nodes: Nodes) -> tuple[np.ndarray, np.ndarray]:
    """Coin and node of each pair near enough in weight and in diameter."""
    middle = 0.5 * (coins.low_g + coins.high_g)[:, None]
    weight, sd = nodes.mean[:, 0], np.sqrt(nodes.cov[:, 0, 0])
    least, most = nodes.lost or (0.0, 0.0)
    near = (middle > weight * (1.0 - most) - _FAR * sd) & (
        middle < weight * (1.0 - least) + _FAR * sd
    )
    if coins.diameter_mm is not None:
        reach = _FAR * np.sqrt(nodes.cov[:, 1, 1])
        near &= np.abs(coins.diameter_mm[:, None] - nodes.mean[:, 1]) < reach
    return np.nonzero(near)


def _weight(
    low: Floats, high: Floats, lost: tuple[float, float] | None, mean: Floats, sd: Floats
) -> tuple[Floats, Floats, Floats | float]:
    """P(the weight's cell) with what is lost besides spread evenly; and the mean and
    variance, in standard deviations, that the weight leaves to what it would have been
    without that loss."""
    middle = 0.5 * (low + high)
    if lost is None:
        return _cell(low, high, mean, sd), (middle - mean) / sd, 0.0
    least, most = (part * mean for part in lost)
    a, b = (middle + least - mean) / sd, (middle + most - mean) / sd
    chance = _cell(a, b, 0.0, 1.0)
    safe = np.maximum(chance, 1e-12)
    height_a, height_b = (np.exp(-0.5 * x**2) / math.sqrt(2.0 * math.pi) for x in (a, b))
    moved = np.clip((height_a - height_b) / safe, a, b)
    kept = np.clip(1.0 + (a * height_a - b * height_b) / safe - moved**2, 0.0, 1.0)
    return chance / (most - least) * (high - low), moved, kept
