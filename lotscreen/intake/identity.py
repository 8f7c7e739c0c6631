"""Ids: the item's own, from the row's content, and the coin's, from the sheet's number."""

from __future__ import annotations

import hashlib
from collections import Counter

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lotscreen.intake.grid import Column
from lotscreen.records import Bools, Floats, Texts

Digests = NDArray[np.uint64]


def start_digest(rows: int) -> Digests:
    """A digest a row of nothing yet."""
    return np.full(rows, 0x9E3779B97F4A7C15, dtype=np.uint64)


def digest_with(digest: Digests, name: str, column: Column) -> Digests:
    """Each row's digest carried on by ``name`` and its text; blank rows stay.

    A text of digits counts as its number, so that 12.50 and 12.5 are the same entry.
    Other texts are hashed with BLAKE2b (64 bits), once a level.
    """
    if column.all_numbers:
        return digest_with_numbers(digest, name, column.number(float))
    numbers = [_plain_number(text) for text in column.levels]
    words = [_hashed(t) if n is None else 0 for n, t in zip(numbers, column.levels, strict=True)]
    bits = _bits(np.array([0.0 if n is None else n for n in numbers]))
    levels = np.where([n is None for n in numbers], np.array(words, dtype=np.uint64), bits)
    return _carried_on(digest, name, levels[column.codes], column.filled())


def digest_with_numbers(digest: Digests, name: str, numbers: Floats) -> Digests:
    """Each row's digest carried on by ``name`` and a number; rows of NaN stay."""
    return _carried_on(digest, name, _bits(numbers), ~np.isnan(numbers))


def _plain_number(text: str) -> float | None:
    bare = text.strip()
    return float(bare) if bare.isdecimal() and len(bare) < 16 else None


def _bits(numbers: Floats) -> Digests:
    return np.ascontiguousarray(numbers, dtype=np.float64).view(np.uint64)


def _hashed(text: str) -> int:
    content = text.strip().encode("utf-8", "surrogatepass")
    return int.from_bytes(hashlib.blake2b(content, digest_size=8).digest(), "big")


def carried_on(digest: Digests, content: Digests) -> Digests:
    """Each digest carried on by another; the order of what was carried on counts."""
    return _mixed(digest ^ _mixed(content))


def _carried_on(digest: Digests, name: str, content: Digests, mask: Bools) -> Digests:
    """Mixed with the finaliser of splitmix64 (Steele, Lea and Flood, OOPSLA 2014), so
    that the name of a field, its content and their order all count."""
    mixed = _mixed(_mixed(digest ^ np.uint64(_hashed(name))) ^ content)
    return np.where(mask, mixed, digest)


def _mixed(bits: Digests) -> Digests:
    bits = (bits ^ (bits >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    bits = (bits ^ (bits >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return bits ^ (bits >> np.uint64(31))


def item_ids(digest: Digests) -> list[str]:
    """Sixteen hex digits a row; rows of one content are told apart by a counter."""
    digits = digest.astype(">u8").tobytes().hex()
    ids = [digits[at : at + 16] for at in range(0, len(digits), 16)]
    if len(pd.unique(digest)) == len(ids):
        return ids
    seen: Counter[str] = Counter()
    for place, one in enumerate(ids):
        seen[one] += 1
        if seen[one] > 1:
            ids[place] = f"{one}-{seen[one]}"
    return ids


def coin_ids(named: list[str], lots: Texts) -> tuple[list[str], list[int]]:
    """Names verbatim where unique in the lot, and the positions of repeats, which get
    `` (2)`` behind them."""
    if len(set(named)) == len(named):
        return named, []
    pairs = list(zip(lots.tolist(), named, strict=True))
    if len(set(pairs)) == len(pairs):
        return named, []
    taken = set(pairs)
    seen: Counter[tuple[str, str]] = Counter()
    unique, repeats = list(named), []
    for i, (lot, name) in enumerate(pairs):
        seen[lot, name] += 1
        if seen[lot, name] == 1:
            continue
        number = seen[lot, name]
        while (lot, f"{name} ({number})") in taken:
            number += 1
        unique[i] = f"{name} ({number})"
        taken.add((lot, unique[i]))
        repeats.append(i)
    return unique, repeats
