"""What each hypothesis predicts of each second test, in the unit in which results compare."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from lotscreen.evidence.slips import SLIP_KEYS
from lotscreen.records import Floats
from lotscreen.second_tests.hypotheses import Hypothesis
from lotscreen.second_tests.metals import UNNAMED, Metal
from lotscreen.second_tests.results import ASSAY, CONDUCTIVITY, RE_WEIGH, RING, WATER, X_RAY
from lotscreen.second_tests.water import AIR_G_CM3

_TONE_SD, _TONE_SD_OTHER = 0.035, 0.10
"""Tones within a type spread by a few per cent, and fall with wear; stiffness of another
metal is known to a tenth (common practice and handbooks from memory)."""
_OWN_BESIDE_REFERENCE = 0.03
_SKIN, _SKIN_SD = 0.95, 0.05
_SKIN_SEEN = 0.5
_BALANCE_OFF = 0.007
_FINENESS_SD = 0.003
_USUAL_SD = 0.02


@dataclass(frozen=True, slots=True)
class CoinTested:
    """What is known of the coin before the test: weight as read with one sd, the type's own
    metal and fine metal, the weight that a slip stands for (NaN: not known), and what such
    coins usually weigh."""

    weight_g: float
    weight_u_g: float
    own: Metal
    fine_metal: str
    slip_g: float
    usual_g: float


@dataclass(frozen=True, slots=True)
class Predicted:
    """By hypothesis (h,): what the coin itself shows and one sd. ``skin`` is the chance that
    a run sees the skin of a plated piece instead, with ``skin_mean`` and ``skin_sd``."""

    mean: Floats
    sd: Floats
    skin: Floats
    skin_mean: float = _SKIN
    skin_sd: float = _SKIN_SD


def predicted(
    test: str, hypotheses: tuple[Hypothesis, ...], coin: CoinTested, water: float = 0.9982,
    hanging: bool = False, has_reference: bool = False, other_balance: bool = False,
) -> Predicted:  # fmt: skip
    """The predictions of a test that gives a number. ``water`` is its density; ``hanging``
    results rest on the weight typed in; ``has_reference`` a known piece was read with it."""
    given = _Given(coin, water, hanging, has_reference, other_balance)
    pairs = [_OF_TEST[test](h, given) for h in hypotheses]
    mean, sd = (np.array(column, dtype=np.float64) for column in zip(*pairs, strict=True))
    sees_skin = test == X_RAY
    skin = np.array([_SKIN_SEEN if sees_skin and h.plated else 0.0 for h in hypotheses])
    return Predicted(mean, sd, skin)


@dataclass(frozen=True, slots=True)
class _Given:
    coin: CoinTested
    water: float
    hanging: bool
    has_reference: bool
    other_balance: bool


def _displaced(h: Hypothesis, given: _Given) -> tuple[float, float]:
    """Grams of water displaced, as reckoned from the weight typed in."""
    density = h.metal.density_g_cm3 * h.body.density
    relative = float(np.hypot(h.metal.density_sd / h.metal.density_g_cm3, h.body.density_sd))
    weight = given.coin.weight_g
    if h.mechanism in SLIP_KEYS and np.isfinite(given.coin.slip_g) and given.hanging:
        displaced = given.coin.slip_g * given.water / (density - AIR_G_CM3)
        return weight - given.coin.slip_g + displaced, displaced * relative
    displaced = weight * given.water / (density - AIR_G_CM3)
    return displaced, displaced * relative


def _conductivity(h: Hypothesis, given: _Given) -> tuple[float, float]:
    metal = h.metal
    if given.has_reference and metal.key == given.coin.own.key and not h.plated:
        return metal.conductivity, _OWN_BESIDE_REFERENCE * metal.conductivity
    return metal.conductivity, metal.conductivity_sd


def _tone(h: Hypothesis, given: _Given) -> tuple[float, float]:
    if h.metal.key == UNNAMED:
        return 1.0, 0.5
    own = h.metal.key == given.coin.own.key
    return h.pitch, h.pitch * (_TONE_SD if own else _TONE_SD_OTHER)


def _fineness(h: Hypothesis, given: _Given) -> tuple[float, float]:
    if h.metal.key == UNNAMED:
        return 0.4, 0.4
    return h.metal.fine.get(given.coin.fine_metal, 0.0), _FINENESS_SD


def _weight(h: Hypothesis, given: _Given) -> tuple[float, float]:
    coin = given.coin
    if h.mechanism in SLIP_KEYS:
        known = np.isfinite(coin.slip_g)
        return (coin.slip_g, coin.weight_u_g) if known else (
            coin.usual_g, _USUAL_SD * coin.usual_g
        )  # fmt: skip
    off = _BALANCE_OFF * coin.weight_g if h.mechanism == "scale_error" else 0.0
    return coin.weight_g, float(np.hypot(coin.weight_u_g, off if given.other_balance else 0.0))


_OF_TEST: Mapping[str, Callable[[Hypothesis, _Given], tuple[float, float]]] = {
    WATER: _displaced,
    CONDUCTIVITY: _conductivity,
    RING: _tone,
    X_RAY: _fineness,
    ASSAY: _fineness,
    RE_WEIGH: _weight,
}


def word_chances(test: str, word: str, hypotheses: tuple[Hypothesis, ...]) -> Floats:
    """Chance of an answer in words by hypothesis (h,): a magnet draws (yes, weak, no), a
    tone is right, dull or dead."""
    if test == RING:
        none = np.array([max(h.metal.no_tone, h.body.no_tone) for h in hypotheses])
        return {"right": 1 - none, "dull": 0.6 * none, "dead": 0.4 * none}[word]
    drawn = np.array([h.metal.attracted for h in hypotheses])
    weak = 0.02 + 0.28 * drawn
    return {"weak": weak, "yes": drawn * (1 - weak), "no": (1 - drawn) * (1 - weak)}[word]
