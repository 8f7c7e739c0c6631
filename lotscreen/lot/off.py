"""Whether a lot as a whole is off: how rare its mean is when all is as declared, and the
smallest shift that would have been noticed.

Four things are unknown and have one mean between them: the error of the balance, the bias
of the mint, the rate of wear, and the year in which circulation ended. Each has a width
declared before the lot is seen (settings and the type's wear allowance). The mean weight
of a lot is compared with its distribution under all of these together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import gammainc, ndtr

from lotscreen.records import Floats, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import TypeFit, grid
from lotscreen.wear.levels import SLOPES, SPREADS, prior_line
from lotscreen.wear.struck import VARIANCE_FACTOR

OFF_P = 0.01
"""A lot rarer than this, when all is as declared, is said to be off."""

SEEN = 0.95
"""The smallest shift printed is noticed in this share of lots."""

_POINTS = 240
_TAIL_SDS = 7.0
_MOST_WORN = 0.5
_MOST_HONEST = 0.5
DEFAULT_GAMMA_SHAPE = 2.0  # of the wear of coins of one date, before the lot is seen


@dataclass(frozen=True, slots=True)
class Off:
    """``p`` is how rare the lot's mean is, two-sided; ``lighter`` and ``heavier`` are
    the smallest shifts of all weights (shares, both positive) noticed in :data:`SEEN` of
    lots."""

    p: float
    lighter: float
    heavier: float


@dataclass(frozen=True, slots=True)
class Allowance:
    """What is declared of the lot's wear before it is seen: sd of the logarithm of its
    level (``log_sd``), ``chance`` of each level of
    the grid at the typical years in use, of each of :data:`SLOPES` (``slope_chance``), and
    the years in use of each distinct date relative to the typical, with its share of the
    coins."""

    log_sd: float
    chance: Floats
    slope_chance: Floats
    relative_years: Floats
    coin_share: Floats


def off(coins: ItemTable, honest: Floats, fit: TypeFit, settings: Settings) -> Off:
    """How far ``coins`` (one type, all with a weight) are off as a lot, each counted by its
    chance ``honest`` (n,) to be a coin of the type."""
    loss, below = _mean_losses(coins, fit, settings)
    seen = mean_loss(coins, honest, fit)
    at_most = float(np.interp(seen, loss, below))
    low, first, last, high = np.interp([0.5 * OFF_P, 1 - SEEN, SEEN, 1 - 0.5 * OFF_P], below, loss)
    return Off(
        p=min(2 * min(at_most, 1 - at_most), 1.0),
        lighter=float(1 - (1 - high) / (1 - first)),
        heavier=float((1 - low) / (1 - last) - 1),
    )


def mean_loss(coins: ItemTable, honest: Floats, fit: TypeFit) -> float:
    """Mean loss against the standard, the error that check weights showed taken off. Where
    most coins speak against the type all count alike: a lot wholly off is no honest rest."""
    counts = honest if honest.sum() > _MOST_HONEST * len(honest) else np.ones(len(honest))
    mean = float(np.average(coins.weight_g, weights=np.maximum(counts, 1e-9)))
    return 1 - mean / (fit.coin_type.weight_g * (1 + fit.belief.error))


def allowance(coins: ItemTable, fit: TypeFit, settings: Settings) -> Allowance:
    """The wear allowance of a lot: the type's own width, the luck of its dates, and the
    years by which the end of circulation may be wrong."""
    years, counts = np.unique(np.nan_to_num(coins.year, nan=-1.0), return_counts=True)
    used = fit.years_in_use(np.where(years < 0, np.nan, years))
    relative = np.nan_to_num(used / fit.prior.reference_years, nan=1.0)
    share = counts / counts.sum()
    dates = 1 / float(np.sum(np.square(share)))
    line = prior_line(fit.prior)
    luck = float(line.sum(axis=(0, 2)) @ np.square(SPREADS)) / dates
    end = settings.circulation_end_width / (float(share @ relative) * fit.prior.reference_years)
    sd = float(np.sqrt(fit.prior.log_sd**2 + luck + min(end, 1.0) ** 2))
    chance = np.exp(-0.5 * np.square((np.log(grid.LEVEL) - fit.prior.log_level) / sd))
    return Allowance(sd, chance / chance.sum(), line.sum(axis=(1, 2)), relative, share)


def _mean_losses(coins: ItemTable, fit: TypeFit, settings: Settings) -> tuple[Floats, Floats]:
    """Distribution of the mean loss of the lot, declared widths included: losses (shares of
    the weight, rising) and the chance of each or less. The wear of single coins is as
    spread as the shape assumed before the lot is seen (a gamma, whose sums are gammas)."""
    declared = allowance(coins, fit, settings)
    noise = noise_share(coins, fit.struck_prior_sd_g, fit) / float(np.sqrt(len(coins)))
    width = float(np.hypot(noise, np.hypot(fit.belief.sd, settings.mint_bias_width)))
    loss = np.concatenate([
        np.linspace(-_TAIL_SDS * width - 0.01, 0.0, _POINTS, endpoint=False),
        np.linspace(0.0, 0.05, 2 * _POINTS, endpoint=False),
        np.geomspace(0.05, _MOST_WORN, _POINTS),
    ])  # fmt: skip
    below = np.zeros(len(loss))
    for slope, weight in zip(SLOPES, declared.slope_chance, strict=True):
        each = np.power(declared.relative_years, slope)
        level = float(declared.coin_share @ each)
        alike = level**2 / float(declared.coin_share @ np.square(each))
        degree = DEFAULT_GAMMA_SHAPE * len(coins) * alike
        ratio = np.maximum(loss, 0.0)[:, None] / (level * grid.LEVEL[None, :])
        below += weight * (gammainc(degree, degree * ratio) @ declared.chance)
    return loss, _widened(loss, below, width)


def noise_share(coins: ItemTable, struck_sd_g: float, fit: TypeFit) -> float:
    """Spread of struck weights (``struck_sd_g``: of their core) and of the balance together,
    a share of the weight."""
    step = np.nan_to_num(coins.weight_step_g)
    balance = float(np.median(np.square(coins.weight_u_g) + np.square(step) / 12))
    struck = VARIANCE_FACTOR * struck_sd_g**2
    return float(np.sqrt(struck + balance) / fit.coin_type.weight_g)


def _widened(loss: Floats, below: Floats, width: float) -> Floats:
    """A distribution over rising losses with a normal error of sd ``width`` added."""
    middle = 0.5 * (loss[1:] + loss[:-1])
    return np.asarray(ndtr((loss[:, None] - middle[None, :]) / width) @ np.diff(below))
