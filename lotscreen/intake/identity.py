"""Ids: the item's own, from the row's content, and the coin's, from the sheet's number."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lotscreen.intake.grid import Column
from lotscreen.records import Bools, Texts

Digests = NDArray[np.uint64]


def start_digest(rows: int) -> Digests:
    """A digest a row of nothing yet."""
    return np.full(rows, 0x9E3779B97F4A7C15, dtype=np.uint64)


def digest_with(digest: Digests, name: str, column: Column, mask: Bools | None = None) -> Digests:
    """Each row's digest carried on by ``name`` and its text; rows outside ``mask`` stay.

    Texts are hashed once a level (BLAKE2b, 64 bits) and mixed in with the finaliser of
    splitmix64 (Steele, Lea and Flood, OOPSLA 2014), so that order and place count.
    """
    key = f"{name}\x1f".encode()
    levels = np.fromiter(
        (
            int.from_bytes(
                hashlib.blake2b(
                    key + str(text).encode("utf-8", "surrogatepass"), digest_size=8
                ).digest(),
                "big",
            )
            for text in column.levels
        ),
        np.uint64,
        len(column.levels),
    )
    mixed = digest ^ levels[column.codes]
    mixed = (mixed ^ (mixed >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    mixed = (mixed ^ (mixed >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    mixed = mixed ^ (mixed >> np.uint64(31))
    return mixed if mask is None else np.where(mask, mixed, digest)


def item_ids(digest: Digests) -> list[str]:
    """Sixteen hex digits a row; rows of one content are told apart by a counter."""
    ids = [f"{value:016x}" for value in digest.tolist()]
    if len(set(ids)) == len(ids):
        return ids
    seen: Counter[str] = Counter()
    for place, one in enumerate(ids):
        seen[one] += 1
        if seen[one] > 1:
            ids[place] = f"{one}-{seen[one]}"
    return ids


def coin_ids(
    written: Sequence[str], places: Sequence[str], lots: Texts
) -> tuple[list[str], list[int]]:
    """The sheet's numbers, verbatim where unique in the lot, and the positions of repeats.

    A repeat gets `` (2)`` behind it; a row without a number is called by its place.
    """
    named = [number or place for number, place in zip(written, places, strict=True)]
    pairs = list(zip(lots.tolist(), named, strict=True))
    if len(set(pairs)) == len(pairs):
        return named, []
    taken = set(pairs)
    seen: Counter[tuple[str, str]] = Counter()
    repeats = []
    for i, (lot, name) in enumerate(pairs):
        seen[lot, name] += 1
        if seen[lot, name] == 1:
            continue
        number = seen[lot, name]
        while (lot, f"{name} ({number})") in taken:
            number += 1
        named[i] = f"{name} ({number})"
        taken.add((lot, named[i]))
        repeats.append(i)
    return named, repeats
