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
    counts = _counted(screening, rows)
    sentences = [counts + " " + say("sensitivity.tried", tried=", ".join(tried)) if counts
                 else say("sensitivity.none", tried=", ".join(tried))]  # fmt: skip
    beyond = [of_type.type_key for of_type in told.types
              if of_type.type_key in own and not of_type.ways]  # fmt: skip
    if beyond and told.most_coins:
        most = f"{told.most_coins:,}"
        sentences.append(say("sensitivity.not_left_out", most=most, types=", ".join(beyond)))
    elif beyond:
        sentences.append(phrase("sensitivity.nothing_left_out"))
    return sentences


def moved(screening: Screening, rows: Bools) -> tuple[int, int, int]:
    """Among ``rows`` of the table: coins set aside or not consistent, those of them whose
    finding moves, and consistent ones whose finding moves."""
    finding = screening.findings.finding[rows]
    moves = [item in screening.sensitivity.moves for item in screening.table.item_id[rows]]
    departing = np.isin(finding, FLAGGED)
    passed = np.asarray(finding == FindingKind.CONSISTENT)
    return int(departing.sum()), int((departing & moves).sum()), int((passed & moves).sum())


def group_word(screening: Screening) -> str:
    """The sheet's own word for a roll where it is one word, else the house's."""
    for understood in screening.intake.tables:
        for column in understood.columns:
            if column.role == "group" and column.header.strip().isalpha():
                return column.header.strip().lower()
    return phrase("summary.group")


def _counted(screening: Screening, rows: Bools) -> str:
    departing, unfirm, passed = moved(screening, rows)
    parts = []
    if unfirm:
        parts.append(say("sensitivity.departing", n=f"{departing:,}", moved=f"{unfirm:,}"))
    if passed:
        parts.append(say("sensitivity.consistent", moved=f"{passed:,}"))
    return "; ".join([*parts, phrase("sensitivity.column")]) + "." if parts else ""


def _by_finding(moves: Sequence[Move], group: str) -> list[tuple[str, str]]:
    """Each other finding with the ways that lead to it, first met first."""
    ways: defaultdict[str, list[str]] = defaultdict(list)
    for move in moves:
        ways[move.finding].append(say(f"sensitivity.way.{Way(move.way)}", group=group))
    return [(finding, ", ".join(words)) for finding, words in ways.items()]
