"""Exact operating characteristic and average sample number of a sequential test of a lot.

Given how many of the coins drawn so far are set aside, every order of them is equally
likely, whatever the lot holds. So that the chance not to have stopped yet, given that
number, is computed once for all lots (one pass), and then weighed with the
hypergeometric (a lot of known size) or binomial (an endless one) chance of the number.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.special import gammaln, xlog1py, xlogy

from lotscreen.records import Bools, Floats, Ints
from lotscreen.sequential.finite import log_hypergeometric
from lotscreen.sequential.lines import Lines

_AT_ONCE = 2_000_000  # chances held in memory at a time


@dataclass(frozen=True, slots=True)
class Curve:
    """At each true state of the lot (``departing`` coins of it, or their share): chances to
    accept, to measure all and to be undecided when the lines end, and the mean number of
    coins drawn. 1-D arrays of one length."""

    departing: Floats
    accept: Floats
    measure_all: Floats
    undecided: Floats
    average_coins: Floats


@dataclass(frozen=True, slots=True)
class _Stops:
    """Where the test can stop: coins drawn, coins set aside, the chance to stop there given
    these two, and whether it accepts there."""

    drawn: Ints
    found: Ints
    chance: Floats
    accepts: Bools


def curve_in_lot(lines: Lines, lot_coins: int, departing: Ints) -> Curve:
    """The curve for a lot of ``lot_coins`` with each of ``departing`` coins in it (1-D)."""

    def log_chance(true: Floats, drawn: Ints, found: Ints) -> Floats:
        return log_hypergeometric(lot_coins, true.astype(np.int64), drawn, found)

    return _curve(lines, np.asarray(departing, dtype=np.float64), log_chance)


def curve_of_shares(lines: Lines, share: Floats) -> Curve:
    """The curve where each coin drawn is set aside with chance ``share`` (1-D, [0, 1])."""
    table = gammaln(np.arange(lines.most_coins + 2, dtype=np.float64) + 1.0)

    def log_chance(true: Floats, drawn: Ints, found: Ints) -> Floats:
        ways = table[drawn] - table[found] - table[drawn - found]
        return np.asarray(ways + xlogy(found, true) + xlog1py(drawn - found, -true))

    return _curve(lines, np.asarray(share, dtype=np.float64), log_chance)


def _curve(lines: Lines, true: Floats, log_chance: Callable[[Floats, Ints, Ints], Floats]) -> Curve:
    stops = _stops(lines)
    accept, measure_all, average = (np.zeros(len(true)) for _ in range(3))
    rows = max(_AT_ONCE // max(len(stops.drawn), 1), 1)
    for start in range(0, len(true), rows):
        part = slice(start, start + rows)
        chance = np.exp(log_chance(true[part, None], stops.drawn[None], stops.found[None]))
        chance = chance * stops.chance
        accept[part] = chance[:, stops.accepts].sum(axis=1)
        measure_all[part] = chance[:, ~stops.accepts].sum(axis=1)
        average[part] = chance @ stops.drawn
    undecided = np.clip(1.0 - accept - measure_all, 0.0, 1.0)
    average += undecided * lines.most_coins
    return Curve(true, accept, measure_all, undecided, average)


def _stops(lines: Lines) -> _Stops:
    """One pass over the coins drawn; the state is the chance not to have stopped, for each
    number set aside that is still open."""
    low = 0
    open_chance: Floats = np.ones(1)
    found: list[tuple[int, int, Floats, bool]] = []
    for n in range(1, lines.most_coins + 1):
        count = low + np.arange(len(open_chance) + 1, dtype=np.float64)
        moved: Floats = np.append(open_chance, 0.0) * ((n - count) / n)
        moved[1:] += open_chance * (count[1:] / n)
        first_open = max(int(lines.accept[n]) + 1 - low, 0)
        first_refused = min(int(lines.measure_all[n]) - low, len(moved))
        if first_open:
            found.append((n, low, moved[:first_open], True))
        if first_refused < len(moved):
            found.append((n, low + first_refused, moved[first_refused:], False))
        open_chance = moved[first_open:first_refused]
        low += first_open
        if not len(open_chance):
            break
    sizes = [len(chance) for _, _, chance, _ in found]
    counts = [np.arange(first, first + len(chance)) for _, first, chance, _ in found]
    return _Stops(
        drawn=np.repeat(np.array([n for n, *_ in found], dtype=np.int64), sizes),
        found=np.concatenate([np.zeros(0, np.int64), *counts]),
        chance=np.concatenate([np.zeros(0), *(chance for _, _, chance, _ in found)]),
        accepts=np.repeat(np.array([accepts for *_, accepts in found], dtype=np.bool_), sizes),
    )
