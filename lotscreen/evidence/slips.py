"""Slips of the pen as rival explanations: what was typed against what was read.

A slip never hides a coin by itself: each candidate value is judged as an honest coin's
reading and divided by the number of such slips that were possible, and the whole is
weighed against the other explanations at the declared rate of wrong cells.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import isfinite

import numpy as np

from lotscreen.evidence.points import log_excess
from lotscreen.evidence.readings import log_length
from lotscreen.quantities import DWT_G, GRAIN_G, INCH_MM, TROY_OUNCE_G
from lotscreen.records import Floats, Ints, ItemTable
from lotscreen.wear import TypeFit
from lotscreen.wear.predict import predictor
from lotscreen.wear.standing import Standing

Candidates = Iterator[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class SlipKind:
    """One kind of slip: ``key`` of its words, its share of all slips, and the candidates
    (value that would have been right, chance of what was typed given that value)."""

    key: str
    share: float
    candidates: Callable[[float, float, bool], Candidates]


def decimal_slip(value: float, _step: float, _is_weight: bool) -> Candidates:
    """The decimal sign one or two places off."""
    yield from ((value * factor, 0.25) for factor in (10.0, 0.1, 100.0, 0.01))


def _digits(value: float, step: float) -> tuple[str, int]:
    """The digits typed and how many are decimals; of a number below ten a nought before it,
    which was typed or might have been ('30.55' with two digits exchanged is '03.55'). None
    of a number with more decimals than its column has: no digit of it stands where it did.
    """
    decimals = max(0, round(-float(np.log10(step))))
    if abs(round(value, decimals) - value) > _SAME:
        return "", decimals
    digits = f"{value:.{decimals}f}".replace(".", "")
    return ("0" + digits if 1 <= value < 10 else digits), decimals


def _number(digits: str, decimals: int) -> float:
    return float(int(digits)) / float(10**decimals)


def swapped_digits(value: float, step: float, _is_weight: bool) -> Candidates:
    """Two neighbouring digits exchanged."""
    digits, decimals = _digits(value, step)
    for i in range(len(digits) - 1):
        if digits[i] != digits[i + 1]:
            swapped = digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :]
            yield _number(swapped, decimals), 1 / (len(digits) - 1)


def wrong_digit(value: float, step: float, _is_weight: bool) -> Candidates:
    """One digit mistaken for another."""
    digits, decimals = _digits(value, step)
    if not digits:
        return
    whole, scale, chance = int(digits), float(10**decimals), 1 / (9 * len(digits))
    for i, present in enumerate(digits):
        unit, digit = 10 ** (len(digits) - 1 - i), int(present)
        for other in range(10):
            if other != digit:
                yield (whole + (other - digit) * unit) / scale, chance


def wrong_unit(value: float, _step: float, is_weight: bool) -> Candidates:
    """Written in another unit than the column's."""
    factors = (GRAIN_G, DWT_G, TROY_OUNCE_G, 1 / GRAIN_G) if is_weight else (INCH_MM, 1 / INCH_MM)
    yield from ((value * factor, 1 / len(factors)) for factor in factors)


def two_on_the_pan(value: float, _step: float, is_weight: bool) -> Candidates:
    """Two coins weighed as one."""
    if is_weight:
        yield value / 2, 1.0


SLIPS: list[SlipKind] = [
    SlipKind("decimal_slip", 0.25, decimal_slip),
    SlipKind("swapped_digits", 0.20, swapped_digits),
    SlipKind("wrong_digit", 0.25, wrong_digit),
    SlipKind("wrong_unit", 0.12, wrong_unit),
    SlipKind("two_on_the_pan", 0.08, two_on_the_pan),
]
COLUMNS_SWAPPED = "columns_swapped"
NOT_TARED = "not_tared"
"""Shows only where several coins in a row are heavier by the same: see
:mod:`lotscreen.evidence.blocks`."""
SLIP_KEYS = (*(s.key for s in SLIPS), COLUMNS_SWAPPED, NOT_TARED)
_COLUMNS_SHARE = 0.1
"""Rate of rows with two columns exchanged, as a share of the rate of wrong cells. The shares
of all slips together are one; they are assumed, for want of a count by kind."""


@dataclass(frozen=True, slots=True)
class SlipEvidence:
    """The likeliest slip of one coin: natural log of the evidence of all slips together
    (rates included), the likeliest one's key, quantity, and proposed value."""

    log_evidence: float
    key: str
    quantity: str
    proposed: float


@dataclass(frozen=True, slots=True)
class SlipCoin:
    """Readings of one coin for the slips: single values, NaN where not read; ``at`` is its
    year, or where it stands in its lot."""

    weight_g: float
    weight_step_g: float
    weight_u_g: float
    weighings: int
    diameter_mm: float
    diameter_u_mm: float
    excess_mm: float
    thickness_mm: float
    at: float | Standing


_LENGTH_STEP_MM = 0.01
_LOG_COLUMNS: Floats = np.full(1, np.log(_COLUMNS_SHARE / 3))
_SAME = 1e-7
_LEAST = -25.0  # no honest coin reads so: the slip would explain nothing
_NONE = SlipEvidence(-690.0, "", "", np.nan)


def slip_coins(
    coins: ItemTable, diameter_mm: Floats, excess_mm: Floats, at: Sequence[Standing]
) -> list[SlipCoin]:
    """The readings of all ``coins``; ``diameter_mm`` to judge and by how much the largest
    exceeds it, and where each coin stands (n)."""
    columns = (
        coins.weight_g, coins.weight_step_g, coins.weight_u_g, coins.weight_n, diameter_mm,
        coins.diameter_u_mm, excess_mm, coins.thickness_mm,
    )  # fmt: skip
    return [
        SlipCoin(weight, step, u, n, across, across_u, excess, thick, of)
        for weight, step, u, n, across, across_u, excess, thick, of in zip(
            *(column.tolist() for column in columns), at, strict=True
        )
    ]


def slip_evidence(coins: Sequence[SlipCoin], fit: TypeFit, rate: float) -> list[SlipEvidence]:
    """Evidence of all slips of each coin (one type) at ``rate`` wrong cells, on the scale of
    :func:`lotscreen.evidence.points.log_evidence`."""
    if rate <= 0:
        return [_NONE] * len(coins)
    possible = [
        _weight_slips(coin) + _length_slips(coin, fit) + _column_slips(coin, fit) for coin in coins
    ]
    if not any(possible):
        return [_NONE] * len(coins)
    every = [part for parts in possible for part in parts]
    sizes = np.array([sum(len(part.keys) for part in parts) for parts in possible])
    of = np.repeat(np.arange(len(coins)), sizes)
    logs = np.concatenate([part.log_chance for part in every])
    logs = logs + log_honest(coins, of, fit, *_readings(coins, every, of).T)
    return _by_coin(possible, sizes, logs, rate)


def _readings(coins: Sequence[SlipCoin], every: Sequence[_Slips], of: Ints) -> Floats:
    """Weight, diameter and thickness (n x 3) of coins ``of`` the slips in ``every``."""
    typed = np.array([[coin.weight_g, coin.diameter_mm, coin.thickness_mm] for coin in coins])
    proposed = np.concatenate([part.proposed for part in every])
    source = np.repeat([part.source for part in every], [len(part.keys) for part in every], axis=0)
    return np.take_along_axis(np.column_stack([typed[of], proposed]), source, axis=1)


def _by_coin(
    possible: Sequence[list[_Slips]], sizes: Ints, logs: Floats, rate: float
) -> list[SlipEvidence]:
    """What the ``possible`` slips of each coin, ``sizes`` in number, say together."""
    found, ends, some = [_NONE] * len(possible), np.cumsum(sizes), np.flatnonzero(sizes)
    starts = ends - sizes
    top = np.maximum.reduceat(logs, starts[some])
    for k in some[top >= _LEAST]:
        found[k] = _likeliest(possible[k], logs[starts[k] : ends[k]], rate)
    return found


def _likeliest(parts: list[_Slips], logs: Floats, rate: float) -> SlipEvidence:
    """What the slips in ``parts`` of one coin say together; ``logs`` are theirs in order."""
    best = int(np.argmax(logs))
    top = float(logs[best])
    together = float(np.log(rate) + top + np.log(np.exp(logs - top).sum()))
    for part in parts:
        if best < len(part.keys):
            break
        best -= len(part.keys)
    return SlipEvidence(together, part.keys[best], part.quantity, float(part.proposed[best]))


@dataclass(frozen=True, slots=True)
class _Slips:
    """Possible slips in one quantity: keys, the values that would have been right (n,), the
    natural log of the chance of what was typed, and the ``source`` of the coin's readings:
    which of weight, diameter and thickness as typed (0, 1, 2), or the right value (3)."""

    keys: tuple[str, ...]
    quantity: str
    proposed: Floats
    log_chance: Floats
    source: tuple[int, int, int]


@lru_cache(maxsize=4096)
def _candidates(value: float, step: float, is_weight: bool) -> tuple[tuple[str, ...], Floats]:
    """Keys of the possible slips, and in two rows the values that would have been right and
    the natural logs of their chances; the same for all cells of one value."""
    found = [
        (kind.key, candidate, kind.share * chance)
        for kind in SLIPS
        for candidate, chance in kind.candidates(value, step, is_weight)
        if candidate > 0
    ]
    keys, values, chances = zip(*found, strict=True)
    return keys, np.array([values, np.log(chances)])


def _weight_slips(coin: SlipCoin) -> list[_Slips]:
    if coin.weighings != 1:
        return []  # a weighing repeated is not one slip of the pen
    keys, (proposed, log_chance) = _candidates(coin.weight_g, coin.weight_step_g, True)
    return [_Slips(keys, "weight", proposed, log_chance, (3, 1, 2))]


def _length_slips(coin: SlipCoin, fit: TypeFit) -> list[_Slips]:
    found = []
    for quantity, value, gauge, source in (
        ("diameter", coin.diameter_mm, fit.diameter, (0, 3, 2)),
        ("thickness", coin.thickness_mm, fit.thickness, (0, 1, 3)),
    ):
        if gauge.speaks and isfinite(value):
            keys, (proposed, log_chance) = _candidates(value, _LENGTH_STEP_MM, False)
            found.append(_Slips(keys, quantity, proposed, log_chance, source))
    return found


def _column_slips(coin: SlipCoin, fit: TypeFit) -> list[_Slips]:
    if not (fit.diameter.speaks or fit.thickness.speaks):
        return []
    return [
        _Slips((COLUMNS_SWAPPED,), quantity, np.array([shows]), _LOG_COLUMNS, source)
        for quantity, shows, source in (
            ("weight", coin.diameter_mm, (1, 0, 2)),
            ("diameter", coin.thickness_mm, (0, 2, 1)),
            ("weight", coin.thickness_mm, (2, 1, 0)),
        )
        if isfinite(shows)
    ]


def log_honest(
    coins: Sequence[SlipCoin], of: Ints, fit: TypeFit, weight_g: Floats, diameter_mm: Floats,
    thickness_mm: Floats,
) -> Floats:  # fmt: skip
    """Natural log density of each set of readings of an honest coin of the date (n,); ``of``
    says which of the coins each set might be (n,, in rising order)."""
    half = np.array([0.5 * coin.weight_step_g for coin in coins])[of]
    low, high = weight_g - half, weight_g + half
    cell, wear = np.empty(len(of)), np.empty(len(of))
    for coin, here in _by_place(coins, of):
        found = predictor(fit).cells(coin.at, coin.weight_u_g, low[here], high[here])
        cell[here], wear[here] = found
    total = np.log(np.maximum(cell, 1e-299))
    total += log_length(diameter_mm, fit.diameter, wear, np.zeros(len(wear)))
    total += log_length(thickness_mm, fit.thickness, wear, np.zeros(len(wear)))
    excess = np.array([coin.excess_mm for coin in coins])[of]
    # The largest diameter stands: another smallest one changes how far it is exceeded.
    excess += np.array([coin.diameter_mm for coin in coins])[of] - diameter_mm
    return total + log_excess(excess, np.array([coin.diameter_u_mm for coin in coins])[of])


def _by_place(coins: Sequence[SlipCoin], of: Ints) -> Iterator[tuple[SlipCoin, Ints]]:
    """The sets of readings of coins that stand together and were read alike, with one of
    those coins; ``of`` as in :func:`log_honest`."""
    first: dict[tuple[float | Standing, float], int] = {}
    place = np.array([first.setdefault((c.at, c.weight_u_g), k) for k, c in enumerate(coins)])[of]
    order = np.argsort(place, kind="stable")
    edges = np.flatnonzero(np.diff(place[order])) + 1
    for here in np.split(order, edges):
        yield coins[int(place[here[0]])], here
