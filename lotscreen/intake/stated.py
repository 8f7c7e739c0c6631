"""How many coins somebody says there are, against the rows that are there."""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from lotscreen.intake.grid import plain_words
from lotscreen.intake.noted import Noted, block_doubt
from lotscreen.intake.rows import counts_of
from lotscreen.intake.vocabulary import cell_words
from lotscreen.intake.whole_table import WholeTable
from lotscreen.records import Bools, ItemKind

_NUMBER = r"(?P<number>\d{1,3}(?:[ ,.'\u2019\u00a0]\d{3})+|\d{1,9})"
_SHORTEST_PHRASE = 4


def count_against_rows(whole: WholeTable) -> Iterator[Noted]:
    """A doubt where a line above or below the table states a number of coins, and neither
    the table, nor its rows of the type named, nor those since the last total are as many."""
    words = _words(whole)
    known = "|".join(re.escape(w) for w in sorted(words, key=lambda w: (-len(w), w)))
    pattern = re.compile(rf"(?<![\w.,/]){_NUMBER}\s*(?P<of>{known})(?!\w)")
    since = 0
    for row, text in _lines(whole):
        for match in pattern.finditer(plain_words(text)):
            stated = int(re.sub(r"\D", "", match["number"]))
            counts = _counts(whole, words[match["of"]], slice(since, row if row >= 0 else None))
            if counts and stated not in counts:
                header = whole.table.columns[0].header
                yield block_doubt(
                    "count_differs", max(row, 0), header, "", words=match[0], found=counts[0]
                )
        since = max(row, 0)


def _lines(whole: WholeTable) -> Iterator[tuple[int, str]]:
    """Lines that may state a number, with their row (-1: above the table)."""
    yield -1, whole.table.title
    for row in np.flatnonzero(np.isin(whole.reason, ["note", "total"])).tolist():
        texts = (str(c.levels[c.codes[row]]).strip() for c in whole.table.columns)
        yield row, " ".join(filter(None, texts))


def _words(whole: WholeTable) -> dict[str, str]:
    """Words that may follow a number of coins: those for any coin, those of the types."""
    found = dict.fromkeys(cell_words("coins"), "")
    for text in whole.named.type_text.levels:
        parts = plain_words(str(text)).split()
        for phrase in (" ".join(parts), " ".join(parts[1:]), " ".join(parts[-2:])):
            if len(phrase) >= _SHORTEST_PHRASE:
                found |= {phrase: phrase, f"{phrase}s": phrase}
    return found


def _counts(whole: WholeTable, of_type: str, part: slice) -> list[int]:
    """Numbers of coins that the words may mean; none where no coin is listed singly."""
    if not whole.coins.any():
        return []
    types = whole.named.type_text
    named = types.where(lambda text: plain_words(text).endswith(of_type))
    exactly = types.where(lambda text: plain_words(text) == of_type)
    everything = np.ones(len(named), dtype=np.bool_)
    masks = (named, exactly, everything) if of_type else (everything,)
    ways = [(ItemKind.COIN,), (ItemKind.COIN, ItemKind.GROUP)]  # rolls weighed singly too, or not
    return [
        _coins(whole, mask & np.isin(whole.kind, kinds), rows)
        for kinds in ways
        for mask in masks
        for rows in (slice(None), part)
    ]


def _coins(whole: WholeTable, things: Bools, part: slice) -> int:
    """Coins of the rows of ``things``: one a single coin, as many as counted of a group."""
    counts = np.nan_to_num(counts_of(whole.layout, len(things)), nan=1.0)
    return int(np.where(whole.coins, 1.0, counts)[part][things[part]].sum())
