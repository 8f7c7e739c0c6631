"""Second tests taken together with a coin's explanations: what is left of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lotscreen.records import Bools, Floats, ItemTable
from lotscreen.second_tests.explained import Explained
from lotscreen.second_tests.hypotheses import Hypothesis
from lotscreen.second_tests.likelihood import Run, tail_chance
from lotscreen.second_tests.metals import UNNAMED, metal_of
from lotscreen.second_tests.predicted import CoinTested, Predicted, word_chances
from lotscreen.second_tests.results import RE_WEIGH, WATER, SecondResult, kind_of_test
from lotscreen.second_tests.runs import density_shown, log_with_skin, number_run, predictions
from lotscreen.settings import Settings
from lotscreen.wear import TypeFit

_FITS_NONE = 0.002
_ADMITTED = 0.05
_WORD_FITS = 0.02
_SETTLED_SHARE = 1e-3


@dataclass(frozen=True, slots=True)
class RunSaid:
    """What one test with one instrument said: its results in the unit shown, whether any
    explanation fits, the metals on file that it admits, nearest first, and ``log10_lr``:
    departing explanations against honest ones, from this test alone (NaN where the readings
    had left one side only)."""

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
    after, at equal start; ``fits_together``: some one explanation named here fits every result
    (else each may fit one of its own)."""

    type_key: str
    place: int
    row: int
    hypotheses: tuple[Hypothesis, ...]
    before: Floats
    after: Floats
    said: tuple[RunSaid, ...]
    fits_together: bool


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
    fitting = np.array([h.metal.key != UNNAMED for h in coins.hypotheses], dtype=np.bool_)
    for key in dict.fromkeys(r.test for r in results):
        own = [r for r in results if r.test == key]
        log_part, parts, fits = _one_test(key, own, coin, coins, before, settings)
        log_after = log_after + log_part
        said += parts
        fitting &= fits
    after = np.exp(log_after - log_after.max())
    return CoinWithTests(coins.type_key, place, row, coins.hypotheses, before, after / after.sum(),
                  tuple(said), bool(fitting.any()))  # fmt: skip


def _one_test(
    key: str, results: Sequence[SecondResult], coin: CoinTested, coins: Explained, before: Floats,
    settings: Settings,
) -> tuple[Floats, list[RunSaid], Bools]:  # fmt: skip
    """Natural log of the likelihood of all results of one test, what each run said, and
    which hypotheses (h,) fit every run."""
    runs: dict[tuple[str, bool], list[SecondResult]] = {}
    for result in results:
        runs.setdefault((result.instrument, bool(result.word)), []).append(result)
    in_words = [r for r in runs.values() if r[0].word]
    in_numbers = [r for r in runs.values() if not r[0].word]
    log_part = np.zeros(len(coins.hypotheses))
    said: list[RunSaid] = []
    fits = np.ones(len(coins.hypotheses), dtype=np.bool_)
    for run in in_words:
        own = _words(key, run, coins.hypotheses)
        log_part = log_part + own
        fits &= np.exp(own) >= _WORD_FITS
        said.append(_said_in_words(key, run, own, coins, before))
    if in_numbers:
        numbers = [number_run(key, run, coin, settings) for run in in_numbers]
        first = in_numbers[0][0]
        told = predictions(key, first, coins.hypotheses, coin)
        log_part = log_part + log_with_skin(numbers, told)
        for run, number in zip(in_numbers, numbers, strict=True):
            own = log_with_skin([number], told)
            chance = _tail(number, told)
            fits &= chance >= _FITS_NONE
            said.append(_said_in_numbers(key, run, number, chance, own, coins, before, coin))
    return log_part, said, fits


def _tail(number: Run, told: Predicted) -> Floats:
    """How rare a run as far off is under each hypothesis (h,), by its metal or its skin."""
    chance = tail_chance(number, told.mean, told.sd)
    on_skin = np.full(len(chance), told.skin_mean), np.full(len(chance), told.skin_sd)
    by_skin = np.where(told.skin > 0, tail_chance(number, *on_skin), 0.0)
    return np.asarray(np.maximum(chance, by_skin))


def _words(key: str, run: Sequence[SecondResult], hypotheses: tuple[Hypothesis, ...]) -> Floats:
    """Log chance of the answers with one instrument: saying it twice adds nothing."""
    gross = kind_of_test(key).gross_share
    each = [word_chances(key, r.word, hypotheses) for r in run]
    chance = np.mean(np.log(np.maximum((1 - gross) * np.array(each) + gross / 3, 1e-12)), axis=0)
    return np.asarray(chance)


def _log10_lr(log_part: Floats, departing: Bools, before: Floats) -> float:
    """Departing explanations against honest ones, each side by its own shares before; NaN
    where the readings had left one side only, for then it tells between its explanations."""
    of_departing = float(before[departing].sum() / before.sum())
    if min(of_departing, 1 - of_departing) < _SETTLED_SHARE:
        return float("nan")

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
    likely = np.exp(own) >= _WORD_FITS
    return RunSaid(
        key, run[0].instrument, _people(run), len(run), np.nan, np.nan, word,
        bool(likely.any()), (), _log10_lr(own, coins.departing, before),
    )  # fmt: skip


def _people(run: Sequence[SecondResult]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(r.who for r in run if r.who))


def _said_in_numbers(
    key: str, run: Sequence[SecondResult], number: Run, chance: Floats, own: Floats,
    coins: Explained, before: Floats, coin: CoinTested,
) -> RunSaid:  # fmt: skip
    named = np.array([h.metal.key != UNNAMED for h in coins.hypotheses], dtype=np.bool_)
    fits = bool(np.any(named & (chance >= _FITS_NONE)))
    admits = _admitted(coins.hypotheses, named & (chance >= _ADMITTED), chance)
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
