"""Sentences and tables that several papers share."""

from __future__ import annotations

import pandas as pd

from lotscreen.report.blocks import Block, Paragraph
from lotscreen.report.cuts.paper import Paper
from lotscreen.report.numerals import counted, fixed, whole
from lotscreen.report.printable import shortened
from lotscreen.report.view import MARKED, LotView
from lotscreen.words import say


def moment(at: str) -> str:
    """A day or a time of the ledger as it stands in a sentence."""
    return at.replace("T", ", ")


def in_column(at: str) -> str:
    """A day or a time of the ledger in a table: no line ends within it."""
    return at.replace("T", "\u00a0")


def more(n: int, key: str = "cuts.changes.more") -> list[Block]:
    """A line below a table that leaves out ``n`` rows; nothing where it leaves out none."""
    return [Paragraph(say(key, n=whole(n)), "note")] if n > 0 else []


def received(paper: Paper) -> str:
    """When and by whom the lot was opened, and how many coins were claimed and counted."""
    opened, entries = paper.opened(), paper.history.of_kind("lot")
    told = [say("cuts.shared.lot", lot=paper.lot)]
    if entries:
        at, by = moment(entries[0].at), entries[0].by
        told = [say("cuts.shared.received", lot=paper.lot, at=at, by=by,
                    described=opened["description"])]  # fmt: skip
    for name in ("count_claimed", "count_counted"):
        if name in opened:
            told.append(say(f"cuts.shared.{name}", n=whole(opened[name])))
    return " ".join(told)


def measured(paper: Paper) -> str:
    """How many coins were weighed, what they weigh together, by whom and with what."""
    weighed = paper.coins["weight_g"].dropna()
    instruments = dict.fromkeys(str(said["instrument"]) for _, said in paper.said("instrument"))
    by = say("cuts.shared.by", people=", ".join(paper.codes)) if paper.codes else ""
    using = say("cuts.shared.using", names=", ".join(instruments)) if instruments else ""
    total = fixed(float(weighed.sum()), 2)
    return say("cuts.shared.measured", coins=counted(len(weighed), "coin"), total=total, by=by,
               using=using)  # fmt: skip


def kept_apart(paper: Paper) -> list[tuple[LotView, pd.Series]]:
    """Coins whose readings ask for another look, with the view that tells of them."""
    return [(lot, coin) for lot in paper.view.lots for _, coin in lot.found(MARKED).iterrows()]


def numbers_of(paper: Paper, most: int) -> str:
    """The numbers of the coins kept apart, in the order of the sheet, three or more in a row
    as '7–9'; ``most`` of those at most."""
    apart = sorted(kept_apart(paper), key=lambda pair: int(pair[1]["order"]))
    runs: list[list[str]] = []
    for _, coin in apart:
        number = shortened(str(coin["coin_id"]), 20)
        last = runs[-1][-1] if runs else ""
        if last.isdecimal() and number.isdecimal() and int(number) == int(last) + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    texts = [f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs]
    rest = sum(len(run) for run in runs[most:])
    return ", ".join(texts[:most]) + (say("cuts.shared.more", n=whole(rest)) if rest else "")
