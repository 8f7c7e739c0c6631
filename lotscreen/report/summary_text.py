"""The result of a run as one screen of text: at most 80 columns and 22 lines.

Two lines of a 24-line terminal are left to the command and the prompt. Every section
says how many coins it holds; what does not fit is counted and the file that has it named.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import pandas as pd

from lotscreen.records import FindingKind, ItemKind
from lotscreen.report import tables
from lotscreen.report.screen_lines import clean, listing, tied, wrap
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.lot.statement import LotStatement
    from lotscreen.screening import Screening

HEIGHT = 22
_EASY = 2  # lines a section; where all have them, blank lines come before further ones
_FOUND_ORDER = (
    FindingKind.CONSISTENT,
    FindingKind.RE_MEASURE,
    FindingKind.SET_ASIDE,
    FindingKind.NOT_CONSISTENT,
    FindingKind.NOT_JUDGED,
)


@dataclass(frozen=True, slots=True)
class _Section:
    """Lines that may be cut short: ``lines(n)`` gives at most n of them, n >= ``least``."""

    lines: Callable[[int], list[str]]
    least: int
    most: int


def summary_text(screening: Screening, version: str, written: Sequence[str]) -> str:
    """The screen for ``screening`` (already cut where one lot was asked for).

    ``written`` are the lines that say where the files are; they are printed whole.
    """
    coins = _coins(screening)
    head = [
        *wrap(_title(screening, version), 1),
        *wrap(_read(screening), 2),
        *wrap(_found(screening), 2),
        *wrap(_probably_honest(screening), 1),
    ]
    foot = [*written, *wrap(say("summary.caution"), 1)]
    sections = _sections(screening, coins)
    room = HEIGHT - len(head) - len(foot)
    airy = sum(len(section.lines(_EASY)) for section in sections) <= room - 2
    middle = _fitted(sections, room - 2 if airy else room)
    gap = [""] if airy else []
    return "\n".join([*head, *gap, *middle, *(gap if middle else []), *foot]) + "\n"


def counted(n: int, what: str) -> str:
    """``n`` of something in words: '1 row', '2,010 rows'."""
    return (
        say(f"summary.count.{what}.one")
        if n == 1
        else say(f"summary.count.{what}.many", n=f"{n:,}")
    )


def _coins(screening: Screening) -> pd.DataFrame:
    """The coins that may be named, with their place in words; the others are counted."""
    coins = tables.coins_frame(screening)[["coin_id", "item_id", "lot", "group", "finding"]]
    other = {i for lot in screening.lots.values() for o in lot.other_types for i in o.coin_ids}
    named = (coins["finding"] != FindingKind.CONSISTENT) | coins["coin_id"].isin(other)
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


def _title(screening: Screening, version: str) -> str:
    sources = ", ".join(clean(source.name) for source in screening.intake.sources)
    if len(screening.lots) == 1 and (lot := next(iter(screening.lots))):
        return say("summary.title_lot", version=version, sources=sources, lot=clean(lot))
    return say("summary.title", version=version, sources=sources)


def _read(screening: Screening) -> str:
    intake, kinds = screening.intake, screening.table.kind
    coins, checks = (int((kinds == kind).sum()) for kind in (ItemKind.COIN, ItemKind.CHECK))
    groups = len(kinds) - coins - checks
    numbers = {"group": groups, "check": checks, "left_out": len(intake.left_out)}
    parts = [counted(coins, "coin")]
    parts += [counted(n, what) for what, n in numbers.items() if n]
    text = say("summary.read", rows=counted(intake.rows_read, "row"), parts=", ".join(parts))
    if intake.doubts:
        text += " " + say("summary.doubts", cells=counted(len(intake.doubts), "cell"))
    return text


def _found(screening: Screening) -> str:
    of_coins = screening.findings.finding[screening.table.kind == ItemKind.COIN]
    numbers = {kind: int((of_coins == kind).sum()) for kind in _FOUND_ORDER}
    counts = [
        tied(say(f"summary.found_count.{kind}", n=f"{n:,}"))
        for kind, n in numbers.items()
        if n or kind is FindingKind.CONSISTENT
    ]
    limit = f"{1 / screening.settings.limit:,.0f}"
    return say("summary.found", counts=", ".join(counts), limit=limit)


def _probably_honest(screening: Screening) -> str:
    lots = screening.lots.values()
    pulled = sum(_pulled(lot) for lot in lots)
    if not pulled:
        return ""
    honest = round(sum(lot.expected_honest_set_aside for lot in lots))
    words = counted(honest, "honest") if honest else say("summary.no_honest")
    return say("summary.probably_honest", coins=counted(pulled, "coin"), honest=words)


def _pulled(lot: LotStatement) -> int:
    return lot.counts.get(FindingKind.SET_ASIDE, 0) + lot.counts.get(FindingKind.NOT_CONSISTENT, 0)


def _sections(screening: Screening, coins: pd.DataFrame) -> list[_Section]:
    """The middle of the screen, most pressing first: they get spare lines in this order."""
    sections = []
    alerts = _alerts_of(screening)
    if alerts:
        sections.append(_Section(partial(_alerts, alerts), 2, 2 * len(alerts)))
    if len(screening.lots) > 1:
        sections.append(_Section(partial(_lots, screening), 1, 2))
    for key, kind in (
        ("summary.again", FindingKind.RE_MEASURE),
        ("summary.not_consistent", FindingKind.NOT_CONSISTENT),
        ("summary.set_aside", FindingKind.SET_ASIDE),
    ):
        found = coins[coins["finding"] == kind]
        if len(found):
            sections.append(_Section(partial(_places, key, found), 1, 4))
    others = _other_types(screening)
    if others:
        sections.append(_Section(partial(_others, others, coins), 1, 2 * len(others)))
    fine = _fine(screening)
    if fine:
        sections.append(_Section(partial(wrap, fine), 1, 2))
    return sections


def _fitted(sections: Sequence[_Section], height: int) -> list[str]:
    """Each section's least first, then spare lines one by one in the order of sections."""
    shares = [section.least for section in sections]
    spare = height - sum(shares)
    for turn in range(max((section.most for section in sections), default=0)):
        for place, section in enumerate(sections):
            if spare > 0 and section.least + turn < section.most:
                needed = len(section.lines(section.most))
                if shares[place] < needed:
                    shares[place] += 1
                    spare -= 1
    return [line for section, n in zip(sections, shares, strict=True) for line in section.lines(n)]


def _places(key: str, coins: pd.DataFrame, lines: int) -> list[str]:
    entries = list(zip(coins["place"], coins["mark"], strict=True))
    return listing(partial(say, key, n=f"{len(coins):,}"), entries, lines)


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
        return -_pulled(lot), -lot.counts.get(FindingKind.RE_MEASURE, 0)

    lots = [
        say(
            "summary.lot",
            lot=clean(lot.lot) or say("summary.no_lot"),
            pull=_pulled(lot),
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


def _other_types(screening: Screening) -> dict[str, list[str]]:
    """Coin ids by the name of the other type they read like, most coins first."""
    found: dict[str, list[str]] = {}
    for lot in screening.lots.values():
        for other in lot.other_types:
            found.setdefault(clean(other.other_name), []).extend(other.coin_ids)
    return dict(sorted(found.items(), key=lambda item: -len(item[1])))


def _others(others: Mapping[str, list[str]], coins: pd.DataFrame, lines: int) -> list[str]:
    """At least a line each while there is room, then the number of the rest."""
    shown = len(others) if len(others) <= lines else max(lines - 1, 0)
    share = max(lines // len(others), 1)
    printed = []
    for name, ids in list(others.items())[:shown]:
        own = coins[coins["coin_id"].isin(ids)]
        sentence = partial(say, "summary.other_type", n=f"{len(ids):,}", other=name)
        entries = list(zip(own["place"], own["mark"], strict=True))
        printed += listing(sentence, entries, share, more="summary.more_briefly")
    if shown < len(others):
        rest = sum(len(ids) for ids in list(others.values())[shown:])
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
