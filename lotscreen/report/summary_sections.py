"""What the screen of a run says between its head and its foot, in sections that can be cut."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from lotscreen.records import FindingKind
from lotscreen.report import tables
from lotscreen.report.moves import moved_parts
from lotscreen.report.screen_lines import clean, listing, shown_width, tied, wrap
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.lot.statement import LotStatement
    from lotscreen.screening import Screening

_LONGEST_OTHER = 52  # columns that the name of a type may take before the coins' places
_OTHERS_AT_LEAST = 3
_PULLED = (FindingKind.NOT_CONSISTENT, FindingKind.SET_ASIDE)


@dataclass(frozen=True, slots=True)
class Section:
    """Lines that may be cut short: ``lines(n)`` gives at most n of them, n >= ``least``."""

    lines: Callable[[int], list[str]]
    least: int
    most: int


@dataclass(frozen=True, slots=True)
class _OtherType:
    """A type that coins read like, and those coins as (place, mark)."""

    key: str
    name: str
    entries: tuple[tuple[str, str], ...]


def sections_of(screening: Screening) -> list[Section]:
    """The middle of the screen, most pressing first: they get spare lines in this order."""
    sections = []
    coins = _coins(screening)
    alerts = _alerts_of(screening)
    if alerts:
        sections.append(Section(partial(_alerts, alerts), 2, 2 * len(alerts)))
    if len(screening.lots) > 1:
        sections.append(Section(partial(_lots, screening), 1, 2))
    for key, kind in (
        ("summary.again", FindingKind.RE_MEASURE),
        ("summary.not_consistent", FindingKind.NOT_CONSISTENT),
        ("summary.set_aside", FindingKind.SET_ASIDE),
    ):
        found = coins[coins["finding"] == kind]
        if len(found):
            sections.append(Section(partial(_places, key, found), 1, 3))
    unfirm = coins[coins["item_id"].isin(list(screening.sensitivity.moves))]
    if len(unfirm):
        parts = moved_parts(screening, np.ones(len(screening.table), np.bool_))
        sections.append(Section(partial(_not_firm, unfirm, ", ".join(parts)), 1, 2))
    groups = _groups_to_open(screening)
    if groups:
        sections.append(Section(partial(_groups, groups), 1, 2))
    others = _other_types(screening, coins)
    if others:
        least = min(len(others), _OTHERS_AT_LEAST)
        sections.append(Section(partial(_others, others), least, len(others)))
    fine = _fine(screening)
    if fine:
        sections.append(Section(partial(wrap, fine), 1, 2))
    return sections


def _coins(screening: Screening) -> pd.DataFrame:
    """The coins that may be named, with their place in words; the others are counted."""
    coins = tables.coins_frame(screening)[["coin_id", "item_id", "lot", "group", "finding"]]
    other = {
        (name, coin_id)
        for name, lot in screening.lots.items()
        for found in lot.other_types
        for coin_id in found.coin_ids
    }
    pairs = zip(coins["lot"], coins["coin_id"], strict=True)
    like_another = pd.Series([pair in other for pair in pairs], coins.index, dtype=bool)
    unfirm = coins["item_id"].isin(list(screening.sensitivity.moves))
    named = (coins["finding"] != FindingKind.CONSISTENT) | like_another | unfirm
    coins = coins[named].reset_index(drop=True)
    positions = tables.aligned_items(screening).set_index("item_id")["position"]
    position = positions.reindex(coins["item_id"]).astype("Float64").astype("Int64")
    mark = position.astype("string").fillna("").to_numpy(dtype=object)
    coins["mark"] = [clean(m or c) for m, c in zip(mark, coins["coin_id"], strict=True)]
    word, many = _group_word(screening), len(screening.lots) > 1
    coins["place"] = [
        _place(word, group, lot if many else "")
        for group, lot in zip(coins["group"], coins["lot"], strict=True)
    ]
    return coins


def _place(word: str, group: str, lot: str) -> str:
    named = f"{word} {group}" if group[:1].isdigit() else group
    return clean(" ".join(part for part in (lot, named) if part))


def _group_word(screening: Screening) -> str:
    for understood in screening.intake.tables:
        for column in understood.columns:
            if column.role == "group" and column.header.strip():
                return column.header.strip().lower()
    return say("summary.group")


def pulled_in(lot: LotStatement) -> int:
    """How many coins of ``lot`` are set aside or not consistent."""
    return sum(lot.counts.get(kind, 0) for kind in _PULLED)


def _places(key: str, coins: pd.DataFrame, lines: int) -> list[str]:
    entries = list(zip(coins["place"], coins["mark"], strict=True))
    return listing(partial(say, key, n=f"{len(coins):,}"), entries, lines)


def _not_firm(coins: pd.DataFrame, parts: str, lines: int) -> list[str]:
    entries = list(zip(coins["place"], coins["mark"], strict=True))
    return listing(partial(say, "sensitivity.short", parts=parts), entries, lines)


def _alerts_of(screening: Screening) -> list[str]:
    """Each alert once, with the lots it was said of where there are several."""
    lots: dict[str, list[str]] = {}
    for name, lot in screening.lots.items():
        for alert in lot.alerts:
            lots.setdefault(alert, []).append(clean(name) or say("summary.no_lot"))
    if len(screening.lots) == 1:
        return list(lots)
    return [
        say("summary.alert_of", lots=", ".join(names), sentence=alert)
        for alert, names in lots.items()
    ]


def _alerts(alerts: Sequence[str], lines: int) -> list[str]:
    """Whole sentences while there is room for them and for the count of the rest."""
    printed: list[str] = []
    for number, sentence in enumerate(alerts):
        more = len(alerts) - number
        room = lines - len(printed)
        block = wrap(say("summary.alert", sentence=clean(sentence)))
        if len(block) > room - (more > 1) and printed:
            return [*printed, *wrap(say("summary.more_alerts", n=more), 1)]
        printed += wrap(say("summary.alert", sentence=clean(sentence)), room - (more > 1))
    return printed


def _lots(screening: Screening, lines: int) -> list[str]:
    def pressing(lot: LotStatement) -> tuple[int, int]:
        return -pulled_in(lot), -lot.counts.get(FindingKind.RE_MEASURE, 0)

    lots = [
        say(
            "summary.lot",
            lot=clean(lot.lot) or say("summary.no_lot"),
            pull=pulled_in(lot),
            again=lot.counts.get(FindingKind.RE_MEASURE, 0),
        )
        for lot in sorted(screening.lots.values(), key=pressing)
    ]
    for shown in range(len(lots), 0, -1):
        rest = [say("summary.more_lots", n=len(lots) - shown)] if shown < len(lots) else []
        printed = wrap(say("summary.lots", lots=", ".join([*lots[:shown], *rest])))
        if len(printed) <= lines:
            return printed
    return wrap(say("summary.lots", lots=say("summary.more_lots", n=len(lots))), lines)


def _groups_to_open(screening: Screening) -> list[str]:
    """Groups and bags that do not weigh, or stand as high, as their coins should, by their
    place, with which of the two."""
    groups = tables.groups_frame(screening)
    groups = groups[groups["finding"].isin(_PULLED)]
    word, many = _group_word(screening), len(screening.lots) > 1
    return [
        say("summary.odd", place=_place(word, group or coin_id, lot if many else ""), odd=odd)
        for group, coin_id, lot, odd in zip(
            groups["group"], groups["coin_id"], groups["lot"], groups["odd"], strict=True
        )
    ]


def _groups(groups: Sequence[str], lines: int) -> list[str]:
    sentence = partial(say, "summary.groups", n=f"{len(groups):,}")
    return listing(sentence, [("", tied(group)) for group in groups], lines)


def _other_types(screening: Screening, coins: pd.DataFrame) -> list[_OtherType]:
    """The other types that coins read like, most coins first."""
    found: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for name, lot in screening.lots.items():
        for other in lot.other_types:
            own = coins[(coins["lot"] == name) & coins["coin_id"].isin(other.coin_ids)]
            named = (clean(other.other_key), clean(other.other_name))
            found.setdefault(named, []).extend(zip(own["place"], own["mark"], strict=True))
    types = [_OtherType(key, name, tuple(entries)) for (key, name), entries in found.items()]
    return sorted(types, key=lambda other: -len(other.entries))


def _others(others: Sequence[_OtherType], lines: int) -> list[str]:
    """A line each while there is room, then the number of the rest. A long name gives way
    to the short key, so that the line can say where the coins are."""
    shown = others if len(others) <= lines else others[: max(lines - 1, 0)]
    printed = []
    for other in shown:
        sentence = partial(say, "summary.other_type", n=f"{len(other.entries):,}")
        fits = shown_width(sentence(other=other.name, places="")) <= _LONGEST_OTHER
        named = partial(sentence, other=other.name if fits else other.key)
        printed += listing(named, other.entries, 1, more="summary.more_briefly")
    if len(shown) < len(others):
        rest = sum(len(other.entries) for other in others[len(shown) :])
        printed += wrap(say("summary.more_others", n=f"{rest:,}"), 1)
    return printed


def _fine(screening: Screening) -> str:
    ounces: dict[str, float] = {}
    for lot in screening.lots.values():
        for metal, amount in lot.fine_ounces.items():
            ounces[metal] = ounces.get(metal, 0.0) + amount
    metals = [
        say("summary.fine_metal", ounces=f"{amount:,.2f}", metal=metal)
        for metal, amount in ounces.items()
    ]
    return say("summary.fine", metals=", ".join(metals)) if metals else ""
