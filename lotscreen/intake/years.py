"""Years in which no coin of the row's type was struck: mostly the year is mistyped."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from lotscreen.intake.dates import FIRST_YEAR, LAST_YEAR
from lotscreen.records import Doubt, Intake, ItemKind
from lotscreen.standards import StandardsTable
from lotscreen.standards.coin_type import CoinType
from lotscreen.words import say

_MOST_NAMED = 20
_MOST_PROPOSED = 3


@dataclass(frozen=True, slots=True)
class _Odd:
    """A type text and a year that do not go together, and what was struck of the type."""

    text: str
    year: int
    struck: str
    proposal: str


def with_year_doubts(intake: Intake, standards: StandardsTable) -> Intake:
    """The intake with the doubts of :func:`year_doubts` behind its own."""
    more = year_doubts(intake, standards)
    return replace(intake, doubts=(*intake.doubts, *more)) if more else intake


def year_doubts(intake: Intake, standards: StandardsTable) -> tuple[Doubt, ...]:
    """A doubt a coin whose year lies outside the years of every type its words may mean;
    one for all rows of a year where they are many. Nothing is changed."""
    coins = intake.items[(intake.items["kind"] == ItemKind.COIN) & intake.items["year"].notna()]
    if coins.empty:
        return ()
    pairs = coins[["type_text", "year", "mint_mark"]].drop_duplicates()
    found = [
        odd
        for text, year, mark in pairs.itertuples(index=False, name=None)
        if (odd := _odd(str(text), int(year), str(mark), coins, standards)) is not None
    ]
    doubts: list[Doubt] = []
    for odd in dict.fromkeys(found):
        rows = coins[(coins["type_text"] == odd.text) & (coins["year"] == odd.year)]
        doubts += _doubts(odd, rows, intake)
    return tuple(doubts)


def _odd(
    text: str, year: int, mark: str, coins: pd.DataFrame, standards: StandardsTable
) -> _Odd | None:
    if not text or standards.resolve(text, year, mark).key:
        return None
    meant = standards.resolve(text, None, mark)
    keys = meant.candidates or ((meant.key,) if meant.key else ())
    types = [standards.get(key) for key in keys]
    if not types or any(coin.struck_in(year) for coin in types):
        return None
    years = coins.loc[coins["type_text"] == text, "year"].to_numpy(np.float64)
    own = {int(y) for y in np.unique(years) if any(coin.struck_in(y) for coin in types)}
    return _Odd(text, year, _struck(types), " / ".join(map(str, _meant(year, own, types))))


def _struck(types: Iterable[CoinType]) -> str:
    spans = sorted({(coin.first_year, coin.last_year or 0) for coin in types})
    return ", ".join(f"{a}-{b or ''}" if a != b else str(a) for a, b in spans)


def _meant(year: int, own: set[int], types: list[CoinType]) -> list[int]:
    """Years one slip away that the type was struck in, likeliest slip first, those between
    the years of its lot-mates only."""
    struck = [y for y in dict.fromkeys(_one_slip_away(year)) if any(t.struck_in(y) for t in types)]
    near = [y for y in struck if own and min(own) <= y <= max(own)]
    return (near or struck)[:_MOST_PROPOSED]


def _one_slip_away(year: int) -> Iterator[int]:
    """The century mistyped, two neighbouring digits swapped, another digit mistyped."""
    digits = f"{year:04d}"
    places = [1, *(i for i in range(len(digits)) if i != 1)]
    changed = [[digits[:i] + d + digits[i + 1 :] for d in _nearest(digits[i])] for i in places]
    swapped = [digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :] for i in range(3)]
    for text in (*changed[0], *swapped, *(text for texts in changed[1:] for text in texts)):
        if text != digits and FIRST_YEAR <= int(text) <= LAST_YEAR:
            yield int(text)


def _nearest(digit: str) -> list[str]:
    return sorted("0123456789", key=lambda other: (abs(int(other) - int(digit)), other))


def _doubts(odd: _Odd, rows: pd.DataFrame, intake: Intake) -> Iterator[Doubt]:
    many = len(rows) > _MOST_NAMED
    key = "year_outside_often" if many else "year_outside"
    for row in rows.head(1 if many else _MOST_NAMED).to_dict("records"):
        yield Doubt(
            source_file=str(row["source_file"]),
            sheet=str(row["source_sheet"]),
            row=int(row["source_row"]),
            column=_date_header(intake, row),
            raw=str(row["date_text"]),
            kind=say(f"intake.doubt.{key}.kind"),
            proposal=odd.proposal,
            why=say(f"intake.doubt.{key}.why", text=odd.text, struck=odd.struck, count=len(rows)),
            item_id="" if many else str(row["item_id"]),
        )


def _date_header(intake: Intake, row: dict[object, object]) -> str:
    """The header of the date column of the table that the row stands in."""
    for table in intake.tables:
        same = (table.source_file, table.sheet) == (row["source_file"], row["source_sheet"])
        if same and table.first_row <= int(str(row["source_row"])) <= table.last_row:
            return next((c.header for c in table.columns if c.role == "date"), "")
    return ""
