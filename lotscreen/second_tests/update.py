"""Second tests taken together with a coin's explanations: what is left of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from lotscreen.instruments import reading_sd
from lotscreen.records import Bools, Floats, ItemTable, Quantity
from lotscreen.second_tests.explained import Explained
from lotscreen.second_tests.hypotheses import Hypothesis
from lotscreen.second_tests.likelihood import Run, log_likelihood, run_of, tail_chance
from lotscreen.second_tests.metals import UNNAMED, metal_of
from lotscreen.second_tests.predicted import CoinTested, Predicted, predicted, word_chances
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
from lotscreen.wear import TypeFit

BUBBLES = ((0.85, 0.0), (0.06, 0.005), (0.05, 0.012), (0.04, 0.025))
"""Chance and share by which a run displaces too much: bubbles and a wet thread only ever
push a density down (common practice; the figures are assumed)."""
_NO_SHIFT = ((1.0, 0.0),)
_THREAD_SD_G = 0.002
_SCALE_OTHER_BALANCE = 0.001
_OFFSET_BESIDE_REFERENCE = 0.5
_FITS_NONE = 0.002


@dataclass(frozen=True, slots=True)
class RunSaid:
    """What one test with one instrument said: its results in the unit shown, whether any
    explanation fits, the metals on file that it admits, nearest first, and ``log10_lr``:
    departing explanations against honest ones, from this test alone."""

    test: str
    instrument: str
    who: tuple[str, ...]
    repeats: int
    shown: float
    shown_sd: float
    word: str
    fits: bool
    admits: tuple[str, ...]
    log10_lr: float


@dataclass(frozen=True, slots=True)
class CoinWithTests:
    """A coin after its second tests: shares over the hypotheses of its type before and
    after, at equal start."""

    type_key: str
    place: int
    row: int
    hypotheses: tuple[Hypothesis, ...]
    before: Floats
    after: Floats
    said: tuple[RunSaid, ...]


def tested(
    coins: Explained, place: int, results: Sequence[SecondResult], table: ItemTable,
    type_fit: TypeFit, settings: Settings,
) -> CoinWithTests:  # fmt: skip
    """One coin (``place`` among ``coins``) with all its results, in any order.

    Results of one test with one instrument are one run: they share its offset. Tests are
    taken as independent given the metal; water density rests on the coin's first weight,
    whose error is the run's. A re-weighing tells a slip of the pen, never a metal.
    """
    row = int(coins.rows[place])
    before = coins.shares[place]
    coin = CoinTested(
        float(table.weight_g[row]), float(table.weight_u_g[row]), metal_of(type_fit.coin_type),
        type_fit.coin_type.fine_metal or "", float(coins.slip_g[place]),
        type_fit.coin_type.weight_g * (1 - type_fit.mean_wear()),
    )  # fmt: skip
    log_after = np.log(np.maximum(before, 1e-300))
    said: list[RunSaid] = []
    for key in dict.fromkeys(r.test for r in results):
        own = [r for r in results if r.test == key]
        log_part, parts = _one_test(key, own, coin, coins, before, settings)
        log_after = log_after + log_part
        said += parts
    after = np.exp(log_after - log_after.max())
    return CoinWithTests(coins.type_key, place, row, coins.hypotheses, before, after / after.sum(),
                  tuple(said))  # fmt: skip


def _one_test(
    key: str, results: Sequence[SecondResult], coin: CoinTested, coins: Explained, before: Floats,
    settings: Settings,
) -> tuple[Floats, list[RunSaid]]:  # fmt: skip
    """Natural log of the likelihood of all results of one test, and what each run said."""
    runs: dict[str, list[SecondResult]] = {}
    for result in results:
        runs.setdefault(result.instrument, []).append(result)
    in_words = [r for r in runs.values() if r[0].word]
    in_numbers = [r for r in runs.values() if not r[0].word]
    log_part = np.zeros(len(coins.hypotheses))
    said: list[RunSaid] = []
    for run in in_words:
        own = _words(key, run, coins.hypotheses)
        log_part = log_part + own
        said.append(_said_in_words(key, run, own, coins, before))
    if in_numbers:
        numbers = [_number_run(key, run, coin, settings) for run in in_numbers]
        first = in_numbers[0][0]
        told = _predictions(key, first, coins.hypotheses, coin)
        log_part = log_part + _with_skin(numbers, told)
        for run, number in zip(in_numbers, numbers, strict=True):
            own = _with_skin([number], told)
            said.append(_said_in_numbers(key, run, number, told, own, coins, before, coin))
    return log_part, said


def _words(key: str, run: Sequence[SecondResult], hypotheses: tuple[Hypothesis, ...]) -> Floats:
    """Log chance of the answers with one instrument: saying it twice adds nothing."""
    gross = kind_of_test(key).gross_share
    each = [word_chances(key, r.word, hypotheses) for r in run]
    chance = np.mean(np.log(np.maximum((1 - gross) * np.array(each) + gross / 3, 1e-12)), axis=0)
    return np.asarray(chance)


def _number_run(key: str, run: Sequence[SecondResult], coin: CoinTested, settings: Settings) -> Run:
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
        return coin.weight_g * water_density(_temperature(result)) / (density - AIR_G_CM3)
    if result.test == CONDUCTIVITY and np.isfinite(result.reference):
        return result.value * coin.own.conductivity / result.reference
    if result.test == RING:
        return result.value / result.reference
    return result.value


def _predictions(
    key: str, first: SecondResult, hypotheses: tuple[Hypothesis, ...], coin: CoinTested
) -> Predicted:
    return predicted(
        key, hypotheses, coin, water_density(_temperature(first)),
        hanging=bool(np.isfinite(first.immersed_g)),
        has_reference=bool(np.isfinite(first.reference)), other_balance=not first.same_balance,
    )  # fmt: skip


def _with_skin(runs: Sequence[Run], told: Predicted) -> Floats:
    bare = log_likelihood(runs, told.mean, told.sd)
    if not told.skin.any():
        return bare
    width = len(told.mean)
    skin = log_likelihood(runs, np.full(width, told.skin_mean), np.full(width, told.skin_sd))
    with np.errstate(divide="ignore"):
        return np.logaddexp(bare + np.log1p(-told.skin), skin + np.log(told.skin))


def _log10_lr(log_part: Floats, departing: Bools, before: Floats) -> float:
    """Departing explanations against honest ones, each side by its own shares before."""

    def side(mask: Bools) -> float:
        share = np.where(mask, before, 0.0)
        top = float(log_part.max())
        total = max(float(share.sum()), 1e-300)
        return float(np.log(max(float(share @ np.exp(log_part - top)) / total, 1e-300)) + top)

    return (side(departing) - side(~departing)) / float(np.log(10))


def _said_in_words(
    key: str, run: Sequence[SecondResult], own: Floats, coins: Explained, before: Floats
) -> RunSaid:
    word = run[0].word if len({r.word for r in run}) == 1 else "/".join(
        dict.fromkeys(r.word for r in run)
    )  # fmt: skip
    likely = np.exp(own) >= 0.05
    return RunSaid(
        key, run[0].instrument, _people(run), len(run), np.nan, np.nan, word,
        bool(likely.any()), (), _log10_lr(own, coins.departing, before),
    )  # fmt: skip


def _people(run: Sequence[SecondResult]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(r.who for r in run if r.who))


def _said_in_numbers(
    key: str, run: Sequence[SecondResult], number: Run, told: Predicted, own: Floats,
    coins: Explained, before: Floats, coin: CoinTested,
) -> RunSaid:  # fmt: skip
    named = np.array([h.metal.key != UNNAMED for h in coins.hypotheses], dtype=np.bool_)
    chance = tail_chance(number, told.mean, told.sd)
    on_skin = np.full(len(chance), told.skin_mean), np.full(len(chance), told.skin_sd)
    chance = np.maximum(chance, np.where(told.skin > 0, tail_chance(number, *on_skin), 0.0))
    fits = bool(np.any(named & (chance >= _FITS_NONE)))
    admits = _admitted(coins.hypotheses, named & (chance >= 0.05), chance)
    shown, sd = _shown(key, run, number, coin)
    return RunSaid(
        key, run[0].instrument, _people(run), len(run), shown, sd, "", fits,
        () if key == RE_WEIGH else admits, _log10_lr(own, coins.departing, before),
    )  # fmt: skip


def _admitted(hypotheses: tuple[Hypothesis, ...], where: Bools, chance: Floats) -> tuple[str, ...]:
    """Names of the metals that a result admits, the best first."""
    best: dict[str, float] = {}
    for place in np.flatnonzero(where):
        name = hypotheses[place].metal.name
        best[name] = max(best.get(name, 0.0), float(chance[place]))
    return tuple(sorted(best, key=lambda name: (-round(best[name], 6), name)))


def _shown(
    key: str, run: Sequence[SecondResult], number: Run, coin: CoinTested
) -> tuple[float, float]:
    """The run's mean as a user knows it, with one sd that repeats don't lower below the
    shared offset: a density, a tone against the reference, a reading."""
    if key != WATER:
        return number.mean, number.sd
    density = float(np.mean([density_shown(r, coin.weight_g) for r in run]))
    return density, density * number.sd / number.mean


def by_coin(results: Sequence[SecondResult], rows: Mapping[int, int]) -> dict[int, list[int]]:
    """Indexes of ``results`` by row of the item table; ``rows`` maps one to the other."""
    found: dict[int, list[int]] = {}
    for index in range(len(results)):
        if index in rows:
            found.setdefault(rows[index], []).append(index)
    return found
