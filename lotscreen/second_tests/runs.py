"""Runs from results: in which unit they compare, and what their errors share."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lotscreen.instruments import reading_sd
from lotscreen.records import Floats, Quantity
from lotscreen.second_tests.hypotheses import Hypothesis
from lotscreen.second_tests.likelihood import Run, log_likelihood, run_of
from lotscreen.second_tests.predicted import CoinTested, Predicted, predicted
from lotscreen.second_tests.results import (
    CONDUCTIVITY,
    RE_WEIGH,
    RING,
    WATER,
    SecondResult,
    kind_of_test,
)
from lotscreen.second_tests.water import (
    AIR_G_CM3,
    USUAL_TEMPERATURE_C,
    density_from_displaced,
    density_from_immersed,
    water_density,
)
from lotscreen.settings import Settings

BUBBLES = ((0.85, 0.0), (0.06, 0.005), (0.05, 0.012), (0.04, 0.025))
"""Chance and share by which a run displaces too much: bubbles and a wet thread only ever
push a density down (common practice; the figures are assumed)."""
_NO_SHIFT = ((1.0, 0.0),)
_THREAD_SD_G = 0.002
_SCALE_OTHER_BALANCE = 0.001
_OFFSET_BESIDE_REFERENCE = 0.5
_WATER = water_density(USUAL_TEMPERATURE_C)


def number_run(key: str, run: Sequence[SecondResult], coin: CoinTested, settings: Settings) -> Run:
    """The results of one test with one instrument as a run."""
    kind = kind_of_test(key)
    values = [_compared(r, coin) for r in run]
    repeat, offset = _errors(key, run[0], coin, settings)
    if key in (CONDUCTIVITY, RING):
        scale = abs(float(np.mean(values)))
        repeat, offset = repeat * scale, offset * scale
    shifts = BUBBLES if key == WATER else _NO_SHIFT
    width = coin.weight_g / kind.low - coin.weight_g / kind.high if key == WATER else (
        kind.high - kind.low
    )  # fmt: skip
    return run_of(values, repeat, offset, shifts, kind.gross_share, width)


def _errors(
    key: str, result: SecondResult, coin: CoinTested, settings: Settings
) -> tuple[float, float]:
    """One sd of a single result, and of the offset that repeats share."""
    kind = kind_of_test(key)
    repeat, offset = kind.repeat, kind.offset
    if key in (WATER, RE_WEIGH) and np.isfinite(result.step):
        repeat = offset = reading_sd(Quantity.WEIGHT, result.step, settings)
    if key == CONDUCTIVITY and np.isfinite(result.reference):
        offset *= _OFFSET_BESIDE_REFERENCE
    if np.isfinite(result.repeat):
        repeat = result.repeat
    if np.isfinite(result.offset):
        offset = result.offset
    if key == WATER:
        other = 0.0 if result.same_balance else _SCALE_OTHER_BALANCE * coin.weight_g
        offset = float(np.sqrt(offset**2 + coin.weight_u_g**2 + _THREAD_SD_G**2 + other**2))
    return repeat, offset


def _temperature(result: SecondResult) -> float:
    given = np.isfinite(result.temperature_c)
    return result.temperature_c if given else USUAL_TEMPERATURE_C


def density_shown(result: SecondResult, weight_g: float) -> float:
    """The density, g/cm3, that a result of water density comes to."""
    t = _temperature(result)
    if np.isfinite(result.immersed_g):
        return density_from_immersed(weight_g, result.immersed_g - result.thread_g, t)
    if np.isfinite(result.displaced_g):
        return density_from_displaced(weight_g, result.displaced_g - result.thread_g, t)
    return result.value


def _compared(result: SecondResult, coin: CoinTested) -> float:
    """A result in the unit in which hypotheses predict it."""
    if result.test == WATER:
        density = density_shown(result, coin.weight_g)
        return coin.weight_g * _WATER / (density - AIR_G_CM3)
    if result.test == CONDUCTIVITY and np.isfinite(result.reference):
        return result.value * coin.own.conductivity / result.reference
    if result.test == RING:
        return result.value / result.reference
    return result.value


def predictions(
    key: str, first: SecondResult, hypotheses: tuple[Hypothesis, ...], coin: CoinTested
) -> Predicted:
    """What each hypothesis predicts of a run whose ``first`` result is given; water at 20
    degrees, to which every result is reduced."""
    return predicted(
        key, hypotheses, coin, _WATER,
        hanging=bool(np.isfinite(first.immersed_g)),
        has_reference=bool(np.isfinite(first.reference)), other_balance=not first.same_balance,
    )  # fmt: skip


def log_with_skin(runs: Sequence[Run], told: Predicted) -> Floats:
    """Natural log of the likelihood by hypothesis (h,), the skin of plated pieces allowed for."""
    bare = log_likelihood(runs, told.mean, told.sd)
    if not told.skin.any():
        return bare
    width = len(told.mean)
    skin = log_likelihood(runs, np.full(width, told.skin_mean), np.full(width, told.skin_sd))
    with np.errstate(divide="ignore"):
        return np.logaddexp(bare + np.log1p(-told.skin), skin + np.log(told.skin))
