"""The order in which the coins of a lot are drawn: from a seed, the same everywhere.

Coins are numbered 1, 2, 3 ... as they lie, roll after roll. Each number is hashed with the
seed (SHA-256 of the text "seed,number"), and the coins are drawn in the order of their
hashes: no random generator whose stream a later version might change, and anyone can check
it by hand. Random only if the seed was not known to whoever laid the coins.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

import numpy as np

from lotscreen.records import Ints

_FOLLOWED, _HALF = 0.9, 0.5


@dataclass(frozen=True, slots=True)
class Place:
    """Where a coin lies: its ``number`` in the lot, its ``roll`` (0: loose) and its
    ``position`` in the roll (the number itself for a loose coin), all from 1."""

    number: int
    roll: int
    position: int


def draw_order(lot_coins: int, seed: int) -> Ints:
    """All numbers of the lot in the order in which they are drawn."""
    keys = [
        hashlib.sha256(f"{seed},{number}".encode()).digest() for number in range(1, lot_coins + 1)
    ]
    return np.array(sorted(range(1, lot_coins + 1), key=lambda n: keys[n - 1]), dtype=np.int64)


def place_of(number: int, roll_coins: int) -> Place:
    """Roll and position of a coin where rolls hold ``roll_coins`` each (0: loose)."""
    if roll_coins == 0:
        return Place(number, 0, number)
    return Place(number, (number - 1) // roll_coins + 1, (number - 1) % roll_coins + 1)


def number_of(roll: int, position: int, roll_coins: int) -> int:
    """The number of the coin at a place, or of one whose number in the lot is written in
    place of that; 0 where no coin of the plan lies there."""
    if roll_coins == 0:
        return position
    if position > roll_coins and place_of(position, roll_coins).roll == roll:
        return position
    if roll < 1 or not 1 <= position <= roll_coins:
        return 0
    return (roll - 1) * roll_coins + position


def batches(order: Ints, batch_coins: int) -> list[Ints]:
    """The draw cut into batches, each sorted by number so that it can be fetched in one
    walk along the rolls; nothing is concluded inside a batch."""
    return [np.sort(order[i : i + batch_coins]) for i in range(0, len(order), batch_coins)]


def drawn_whole_batches(measured: set[int], order: Ints, batch_coins: int) -> tuple[int, Ints]:
    """How many coins of the draw count, and which coins to measure next: the rest of the
    batch begun, else the next batch.

    The draw is followed up to the last batch of which half was measured, as far as nine in
    ten of its coins so far were; what was measured beyond that (a roll opened, coins from
    the top) is no part of it. Its last
    batch counts only when whole. Coins of earlier batches that are missing were skipped.
    """
    has = np.isin(order, list(measured))
    ends = np.minimum(np.arange(1, -(-len(order) // batch_coins) + 1) * batch_coins, len(order))
    so_far = np.cumsum(has)[ends - 1]
    sizes, own = np.diff(ends, prepend=0), np.diff(so_far, prepend=0)
    followed = np.flatnonzero((so_far >= _FOLLOWED * ends) & (own >= _HALF * sizes))
    begin = int(followed[-1]) * batch_coins if len(followed) else 0
    batch = slice(begin, begin + batch_coins)
    missing = np.sort(order[batch][~has[batch]])
    if len(missing):
        return begin, missing
    counted = min(begin + batch_coins, len(order))
    later = slice(counted, counted + batch_coins)
    return counted, np.sort(order[later][~has[later]])
