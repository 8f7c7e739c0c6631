"""Findings that move, in words: for the tables, the pages and the screen."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from lotscreen.records import FLAGGED, FindingKind
from lotscreen.sensitivity import Move, Way
from lotscreen.words import phrase, say

if TYPE_CHECKING:
    from lotscreen.records import Bools
    from lotscreen.screening import Screening


def moves_text(moves: Sequence[Move], group: str) -> str:
    """'without its roll: consistent', findings parted by semicolons; '' where none moves."""
    return "; ".join(
        say("sensitivity.part", ways=ways, finding=finding)
        for finding, ways in _by_finding(moves, group)
    )


def coin_moves(moves: Sequence[Move], group: str) -> str:
    """The sentence that says with what the finding of one coin moves; '' where it is firm."""
    if not moves:
        return ""
    parts = [
        say("sensitivity.coin_part", ways=ways, finding=finding)
        for finding, ways in _by_finding(moves, group)
    ]
    return say("sensitivity.coin", parts="; ".join(parts))


def lot_moves(screening: Screening, lot: str) -> list[str]:
    """What is said of a lot: how many findings move, what was tried, what was not."""
    rows = np.asarray(screening.table.lot == lot, dtype=np.bool_)
    told, group = screening.sensitivity, group_word(screening)
    if not told.types or not rows.any():
        return []
    own = set(screening.table.type_key[rows])
    ways = [way for of_type in told.types if of_type.type_key in own for way in of_type.ways]
    tried = [
        say(f"sensitivity.tried_way.{way}", group=group)
        for way in dict.fromkeys([*ways, *told.allowances])
    ]
    parts = moved_parts(screening, rows)
    counted = say("sensitivity.counted", parts=", ".join(parts)) if parts else ""
    said, words = ", ".join(tried), "sensitivity.tried" if parts else "sensitivity.none"
    sentences = [*([counted] if parts else []), say(words, tried=said)]
    beyond = [of_type.type_key for of_type in told.types
              if of_type.type_key in own and not of_type.ways]  # fmt: skip
    if beyond and told.most_coins:
        most = f"{told.most_coins:,}"
        sentences.append(say("sensitivity.not_left_out", most=most, types=", ".join(beyond)))
    elif beyond:
        sentences.append(phrase("sensitivity.nothing_left_out"))
    return sentences


def moved_parts(screening: Screening, rows: Bools) -> list[str]:
    """Among ``rows`` of the table: how many of those set aside or not consistent move, and
    how many of the consistent; nothing where none does."""
    finding = screening.findings.finding[rows]
    moves = np.array([i in screening.sensitivity.moves for i in screening.table.item_id[rows]])
    parts = []
    for key, kinds in (("departing", FLAGGED), ("consistent", (FindingKind.CONSISTENT.value,))):
        own = np.isin(finding, kinds)
        if (own & moves).any():
            counted = {"n": f"{own.sum():,}", "moved": f"{(own & moves).sum():,}"}
            parts.append(say(f"sensitivity.{key}", **counted))
    return parts


def group_word(screening: Screening) -> str:
    """The sheet's own word for a roll where it is one word, else the house's."""
    for understood in screening.intake.tables:
        for column in understood.columns:
            if column.role == "group" and column.header.strip().isalpha():
                return column.header.strip().lower()
    return phrase("summary.group")


def _by_finding(moves: Sequence[Move], group: str) -> list[tuple[str, str]]:
    """Each other finding with the ways that lead to it, first met first."""
    ways: defaultdict[str, list[str]] = defaultdict(list)
    for move in moves:
        ways[move.finding].append(say(f"sensitivity.way.{Way(move.way)}", group=group))
    return [(finding, ", ".join(words)) for finding, words in ways.items()]
