"""Sentences and tables that several papers share."""

from __future__ import annotations

import pandas as pd

from lotscreen.report.cuts.paper import Paper
from lotscreen.report.numerals import counted, fixed, whole
from lotscreen.report.view import MARKED, LotView
from lotscreen.words import phrase, say


def received(paper: Paper) -> str:
    """When and by whom the lot was opened, and how many coins were claimed and counted."""
    opened = paper.opened()
    entries = paper.history.of_kind("lot")
    when = entries[0].at.replace("T", ", ") if entries else phrase("cuts.not_said")
    by = entries[0].by if entries else phrase("cuts.not_said")
    return say("cuts.shared.received", lot=paper.lot, at=when, by=by,
               described=opened.get("description", phrase("cuts.not_said")),
               claimed=opened.get("count_claimed", phrase("cuts.not_said")),
               counted=opened.get("count_counted", phrase("cuts.not_said")))  # fmt: skip


def measured(paper: Paper) -> str:
    """How many coins were weighed, what they weigh together, and with what."""
    coins = paper.coins
    weighed = coins["weight_g"].dropna()
    instruments = [str(said["instrument"]) for _, said in paper.said("instrument")]
    return say("cuts.shared.measured", coins=counted(len(weighed), "coin"),
               total=fixed(float(weighed.sum()), 2), people=", ".join(paper.codes) or
               phrase("cuts.not_said"),
               instruments=", ".join(instruments) or phrase("cuts.not_said"))  # fmt: skip


def kept_apart(paper: Paper) -> list[tuple[LotView, pd.Series]]:
    """Coins whose readings ask for another look, with the view that tells of them."""
    return [(lot, coin) for lot in paper.view.lots for _, coin in lot.found(MARKED).iterrows()]


def numbers_of(paper: Paper, most: int) -> str:
    """The numbers of the coins kept apart, in the order of the sheet, so many at most."""
    apart = sorted(kept_apart(paper), key=lambda pair: int(pair[1]["order"]))
    shown = [str(coin["coin_id"]) for _, coin in apart[:most]]
    rest = len(apart) - len(shown)
    return ", ".join(shown) + (say("cuts.shared.more", n=whole(rest)) if rest else "")
