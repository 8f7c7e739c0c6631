"""How many coins to draw so that a share would show: zero-acceptance sample sizes."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, comb


def coins_of_share(lot_coins: int, share: float) -> int:
    """The smallest whole number of coins that is at least ``share`` of the lot."""
    return ceil(Fraction(str(share)) * lot_coins)


def zero_acceptance_coins(lot_coins: int, bad_coins: int, risk: float) -> int:
    """The smallest draw without replacement that misses all of ``bad_coins`` of the lot's
    ``lot_coins`` with chance at most ``risk``.

    Whole numbers throughout (hypergeometric): a draw that hits the risk exactly counts.
    ``1 <= bad_coins <= lot_coins``, ``0 < risk < 1``. Valid only when the coins are drawn
    at random from the whole lot.
    """
    if not 1 <= bad_coins <= lot_coins:
        raise ValueError(f"bad_coins is {bad_coins}; it must lie between 1 and {lot_coins}")
    allowed = Fraction(str(risk))
    high = 1
    while not _missed_within(lot_coins, bad_coins, high, allowed):
        high = min(2 * high, lot_coins)
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        if _missed_within(lot_coins, bad_coins, middle, allowed):
            high = middle
        else:
            low = middle
    return high


def _missed_within(lot_coins: int, bad_coins: int, drawn: int, allowed: Fraction) -> bool:
    # The chance is the same with the roles of drawn and bad coins exchanged; the smaller
    # of the two keeps the numbers short.
    few, many = sorted((bad_coins, drawn))
    missed, all_ways = comb(lot_coins - many, few), comb(lot_coins, few)
    return missed * allowed.denominator <= all_ways * allowed.numerator
