"""Chances in a lot of known size drawn without replacement (hypergeometric), where each
departing coin that is drawn is noticed with a stated chance.

Valid only when every coin still in the lot is equally likely to be drawn next.
"""

from __future__ import annotations

from functools import lru_cache
from math import ceil, floor, log, log1p, sqrt

import numpy as np
from scipy.special import gammaln

from lotscreen.records import Floats, Ints

_WINDOW_SDS = 12.0  # terms further from the largest one are below 1e-30 of it


def log_chance_in_order(
    departing: Ints, lot_coins: int, drawn: int, found: int, notice: float = 1.0
) -> Floats:
    """Natural log of the chance to draw ``drawn`` coins of which ``found``, at stated places
    of the draw, are noticed: 1-D over ``departing``, the departing coins of the lot.

    ``notice`` in (0, 1] is the chance that a departing coin drawn is noticed; no other coin
    is. -inf where it cannot be. The places do not matter: the chance is the same for all.
    """
    many = np.asarray(departing, dtype=np.int64)
    clean = drawn - found
    table = _log_factorials(lot_coins)
    common = found * log(notice) - (table[lot_coins] - table[lot_coins - drawn])
    if notice == 1.0:
        return np.asarray(
            _log_falling(table, many, found) + _log_falling(table, lot_coins - many, clean) + common
        )
    unnoticed = _window(many, lot_coins, clean, notice)
    left = many[:, None] - found
    terms = (
        _log_choose(table, clean, unnoticed)
        + _log_falling(table, left, unnoticed)
        + _log_falling(table, lot_coins - many[:, None], clean - unnoticed)
        + unnoticed * log1p(-notice)
    )
    return np.asarray(_log_falling(table, many, found) + log_of_sum(terms) + common)


def log_of_sum(logs: Floats, weights: Floats | None = None) -> Floats:
    """Natural log of the weighted sum along the last axis, given the logs; -inf where every
    term is nought (much faster than the general function of SciPy)."""
    top = logs.max(axis=-1, keepdims=True)
    steady = np.where(np.isfinite(top), top, 0.0)
    parts = np.exp(logs - steady)
    total = parts.sum(axis=-1) if weights is None else parts @ weights
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(total) + steady[..., 0])


def chance_at_most(
    allowed: int, departing: int, lot_coins: int, drawn: int, notice: float = 1.0
) -> float:
    """Chance that at most ``allowed`` of ``drawn`` coins are noticed."""
    count = np.arange(min(allowed, drawn) + 1)
    in_order = [
        float(log_chance_in_order(np.array([departing]), lot_coins, drawn, int(x), notice)[0])
        for x in count
    ]
    orders = _log_choose(_log_factorials(lot_coins), drawn, count)
    return float(np.exp(orders + np.array(in_order)).sum())


def _window(many: Ints, lot_coins: int, clean: int, notice: float) -> Ints:
    """Numbers of departing coins among the clean-looking ones drawn, a window wide enough
    about the likeliest for every row; shape (rows, width), values outside are impossible."""
    share = many / lot_coins
    hidden = share * (1.0 - notice) / np.maximum(1.0 - share * notice, 1e-300)
    middle = clean * hidden
    reach = _WINDOW_SDS * (1.0 + sqrt(float(middle.max()))) + 1.0
    width = min(clean, ceil(2.0 * reach)) + 1
    lowest = np.clip(np.floor(middle - reach), 0.0, max(clean - width + 1, 0))
    return np.asarray(lowest.astype(np.int64)[:, None] + np.arange(width)[None, :])


@lru_cache(maxsize=8)
def _log_factorials(most: int) -> Floats:
    """ln of 0!, 1!, 2! ... up to one beyond ``most``."""
    return np.asarray(gammaln(np.arange(most + 2, dtype=np.float64) + 1.0))


def _log_falling(table: Floats, top: Ints, steps: Ints | int) -> Floats:
    """ln of top (top - 1) ... of ``steps`` factors; -inf where a factor is 0 or less."""
    possible = (steps <= top) & (np.asarray(steps) >= 0)
    low = np.where(possible, top - steps, 0)
    return np.where(possible, table[np.maximum(top, 0)] - table[low], -np.inf)


def _log_choose(table: Floats, whole: int, part: Ints) -> Floats:
    possible = (part >= 0) & (part <= whole)
    inside = np.where(possible, part, 0)
    return np.where(possible, table[whole] - table[inside] - table[whole - inside], -np.inf)


def log_hypergeometric(lot_coins: int, departing: Ints, drawn: Ints, found: Ints) -> Floats:
    """Natural log of the chance that ``drawn`` coins hold ``found`` of ``departing`` in the
    lot; the three arrays broadcast, -inf where it cannot be."""
    table = _log_factorials(lot_coins)

    def choose(whole: Ints, part: Ints) -> Floats:
        possible = (part >= 0) & (part <= whole)
        inside = np.where(possible, part, 0)
        value = table[whole] - table[inside] - table[np.where(possible, whole - part, 0)]
        return np.asarray(np.where(possible, value, -np.inf))

    ways = choose(departing, found) + choose(lot_coins - departing, drawn - found)
    total = table[lot_coins] - table[drawn] - table[lot_coins - drawn]
    return np.asarray(ways - total)


def coins_below(lot_coins: int, share: float) -> int:
    """The largest whole number of coins that is less than ``share`` of the lot."""
    return ceil(round(lot_coins * share, 9)) - 1


def coins_up_to(lot_coins: int, share: float) -> int:
    """The largest whole number of coins that is at most ``share`` of the lot."""
    return floor(round(lot_coins * share, 9))
