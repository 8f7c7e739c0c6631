"""What to do next, as sentences: the balance first, then coins by roll and position."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import pandas as pd

from lotscreen.records import FindingKind
from lotscreen.report.numerals import counted, whole
from lotscreen.report.printable import shortened
from lotscreen.report.tables import odd_words
from lotscreen.report.view import DEPARTING, LotView
from lotscreen.words import phrase, say

MOST_PLACES = 8
MOST_NUMBERS = 16


def to_do(view: LotView) -> Iterator[str]:
    """One sentence a thing to do, in the order in which to do it."""
    before = False
    for sentence in _things(view):
        before = True
        yield sentence
    if not before:
        yield phrase("report.answer.do_nothing")


def _things(view: LotView) -> Iterator[str]:
    told = view.statement
    if any(not check.passes for check in told.checks):
        yield phrase("report.answer.do_scale")
    again = view.found([FindingKind.RE_MEASURE.value])
    if len(again):
        yield say(
            "report.answer.do_remeasure",
            coins=counted(len(again), "coin"),
            places=places(view, again),
        )
    apart = view.found(DEPARTING)
    if len(apart):
        yield say(
            "report.answer.do_pull", coins=counted(len(apart), "coin"), places=places(view, apart)
        )
    for other in told.other_types:
        yield say(
            "report.answer.do_other", count=counted(len(other.coin_ids), "coin"),
            declared=view.type_name(other.declared_key), other=other.other_name,
            coins=some(other.coin_ids),
        )  # fmt: skip
    odd = [
        say("summary.odd", place=view.weighed_together(g), odd=odd_words(g))
        for g in told.group_statements
        if g.finding in DEPARTING
    ]
    if odd:
        yield say("report.answer.do_groups", groups=some(odd))


def places(view: LotView, coins: pd.DataFrame) -> str:
    """Where the coins lie, roll by roll: 'Roll 3, no. 7, 12; Roll 9, no. 1'; the sheet's own
    numbers where it has no rolls."""
    ordered = view.in_sheet_places(coins)
    if not view.has_groups:
        ids = [str(coin) for coin in ordered["coin_id"]]
        return say("report.place.numbers", numbers=some(ids, most=MOST_NUMBERS))
    return some(view.places(ordered), "; ")


def some(names: Sequence[str], separator: str = ", ", most: int = MOST_PLACES) -> str:
    """The first names of a long list and how many more there are."""
    shown = [shortened(name, 60) for name in names[:most]]
    if len(names) > most:
        shown.append(say("report.answer.and_more", n=whole(len(names) - most)))
    return separator.join(shown)
