"""What a second test may show before it is taken, by what the coin is.

From these chances follow what a test is worth: through what one would do otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.evidence.slips import SLIP_KEYS
from lotscreen.records import Floats
from lotscreen.second_tests.hypotheses import Hypothesis
from lotscreen.second_tests.metals import metal_of
from lotscreen.second_tests.predicted import CoinTested, predicted, word_chances
from lotscreen.second_tests.results import (
    CONDUCTIVITY,
    MAGNET,
    RE_WEIGH,
    RING,
    WATER,
    KindOfTest,
)
from lotscreen.second_tests.runs import BUBBLES
from lotscreen.standards import CoinType

_CELLS = 240
_SDS = 4.0
_SEEN_AGAIN = 0.98


@dataclass(frozen=True, slots=True)
class Outcomes:
    """A test's possible outcomes on coins of one type: ``chances`` (h x outcomes), each row
    sums to one."""

    kind: KindOfTest
    chances: Floats


def outcomes(kind: KindOfTest, hypotheses: tuple[Hypothesis, ...], coin_type: CoinType) -> Outcomes:
    """One test, once, with the errors of its kind, on a coin of the standard's weight."""
    if kind.key == MAGNET:
        words = [word_chances(MAGNET, word, hypotheses) for word in ("yes", "weak", "no")]
        return Outcomes(kind, _blurred(np.column_stack(words), kind))
    if kind.key == RE_WEIGH:
        slip = np.array([h.mechanism in SLIP_KEYS for h in hypotheses])
        same = np.where(slip, 1 - _SEEN_AGAIN, _SEEN_AGAIN)
        return Outcomes(kind, _blurred(np.column_stack([same, 1 - same]), kind))
    return Outcomes(kind, _numbers(kind, hypotheses, coin_type))


def _blurred(chances: Floats, kind: KindOfTest) -> Floats:
    """With the chance that the whole run says nothing."""
    found: Floats = (1 - kind.gross_share) * chances + kind.gross_share / chances.shape[1]
    return found


def _numbers(kind: KindOfTest, hypotheses: tuple[Hypothesis, ...], coin_type: CoinType) -> Floats:
    """Chances over cells of the value; a dead tone is an outcome of its own."""
    coin = CoinTested(coin_type.weight_g, 0.01, metal_of(coin_type), coin_type.fine_metal or "",
                      float("nan"), coin_type.weight_g)  # fmt: skip
    told = predicted(kind.key, hypotheses, coin, has_reference=True)
    noise = float(np.hypot(kind.offset, kind.repeat))
    scale = np.abs(told.mean) if kind.key in (CONDUCTIVITY, RING) else np.ones(len(told.mean))
    sd = np.hypot(told.sd, noise * scale)
    low, high = float((told.mean - _SDS * sd).min()), float((told.mean + _SDS * sd).max())
    cells = np.linspace(low, high, _CELLS)
    shifts = BUBBLES if kind.key == WATER else ((1.0, 0.0),)
    found = sum(chance * _density(cells, told.mean * (1 + shift), sd) for chance, shift in shifts)
    skin = _density(cells, np.full(len(sd), told.skin_mean), np.full(len(sd), told.skin_sd))
    found = np.asarray((1 - told.skin)[:, None] * found + told.skin[:, None] * skin)
    if kind.key == RING:
        dead = 1 - word_chances(RING, "right", hypotheses)
        found = np.column_stack([(1 - dead)[:, None] * found, dead])
    return _blurred(found, kind)


def _density(cells: Floats, mean: Floats, sd: Floats) -> Floats:
    """Normal chances over ``cells`` (h x cells), each row sums to one; a spread finer than
    a cell is taken at the cell's width."""
    wide = np.maximum(sd, cells[1] - cells[0])[:, None]
    found = np.exp(-0.5 * np.square((cells[None, :] - mean[:, None]) / wide))
    return np.asarray(found / np.maximum(found.sum(axis=1, keepdims=True), 1e-300))


def value_after(probability: Floats, profit: Floats, test: Outcomes, refusal: Floats) -> Floats:
    """Expected result (n,) of testing first and then paying or refusing, whichever is
    better: ``probability`` (n x h), ``profit`` of paying (n x h), ``refusal`` (n x h) what
    refusing costs (negative) by what the coin is."""
    pay = (probability * profit) @ test.chances
    refuse = (probability * refusal) @ test.chances
    return np.asarray(np.maximum(pay, refuse).sum(axis=1))


def value_now(probability: Floats, profit: Floats, refusal: Floats) -> tuple[Floats, Floats]:
    """Expected result (n,) of paying, and of refusing, without a test."""
    return (probability * profit).sum(axis=1), (probability * refusal).sum(axis=1)
