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
    """The number of the coin at a place; 0 where no coin of the plan lies there."""
    if roll_coins == 0:
        return position
    if roll < 1 or not 1 <= position <= roll_coins:
        return 0
    return (roll - 1) * roll_coins + position


def batches(order: Ints, batch_coins: int) -> list[Ints]:
    """The draw cut into batches, each sorted by number so that it can be fetched in one
    walk along the rolls; nothing is concluded inside a batch."""
    return [np.sort(order[i : i + batch_coins]) for i in range(0, len(order), batch_coins)]


def drawn_whole_batches(measured: set[int], order: Ints, batch_coins: int) -> tuple[int, Ints]:
    """How many coins of the draw count, and which coins of the batch begun are still to be
    measured. A batch counts when all of it is measured or a later one was begun (coins
    skipped then count as unsettled); coins measured out of the draw do not count."""
    begun = np.flatnonzero(np.isin(order, list(measured)))
    if not len(begun):
        return 0, np.sort(order[:batch_coins])
    last = int(begun[-1]) // batch_coins
    batch = order[last * batch_coins : (last + 1) * batch_coins]
    missing = np.array([n for n in np.sort(batch) if int(n) not in measured], dtype=np.int64)
    if len(missing):
        return last * batch_coins, missing
    counted = last * batch_coins + len(batch)
    return counted, np.sort(order[counted : counted + batch_coins])
