"""The consignor's letter: what was found, the reasons, the decision, and how to appeal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from lotscreen.report.blocks import Block, Column, Heading, Items, Paragraph, SignLines, Table
from lotscreen.report.cuts.paper import Paper
from lotscreen.report.cuts.shared import kept_apart, measured, more, received
from lotscreen.report.numerals import counted, whole
from lotscreen.report.pages.readings import expected, readings
from lotscreen.report.printable import sentence, shortened
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say, table

MOST_ROWS = 60


def build(paper: Paper) -> list[Block]:
    """A letter to a code; no coin is called anything but what was read of it."""
    consignor = paper.opened().get("consignor", phrase("cuts.letter.consignor"))
    title = say("cuts.title.letter", lot=paper.lot, version=paper.version)
    replaced = [say("cuts.letter.replaces", replaces=paper.replaces)] if paper.replaces else []
    return [
        Heading(title, level=1, new_page=True),
        Paragraph(say("cuts.letter.to", consignor=consignor, at=paper.at.partition("T")[0])),
        Paragraph(" ".join([received(paper), measured(paper), *replaced])),
        *_coins(paper),
        *_lot_decision(paper),
        Heading(phrase("cuts.letter.means")),
        Items(tuple(table("cuts")["letter"]["limits"])),
        Heading(phrase("cuts.letter.appeal")),
        Paragraph(phrase("cuts.letter.how_to_appeal")),
        SignLines(tuple(table("cuts")["letter"]["lines"])),
    ]


def _coins(paper: Paper) -> list[Block]:
    apart = kept_apart(paper)
    agree = len(paper.coins) - len(apart)
    if not apart:
        return [Paragraph(say("cuts.letter.all_agree", coins=counted(agree, "coin")))]
    decided = paper.history.dispositions()
    rows = tuple(
        _row(lot, coin, decided.get(str(coin["coin_id"]))) for lot, coin in apart[:MOST_ROWS]
    )
    heads = table("cuts")["columns"]["letter"]
    columns = tuple(Column(head, share=(0, 1, 2, 1.4)[place]) for place, head in enumerate(heads))
    return [
        Paragraph(say("cuts.letter.apart", n=whole(len(apart)), rest=whole(agree))),
        Table(columns, rows, phrase("cuts.summary.letter"), small=True),
        *more(len(apart) - MOST_ROWS),
    ]


def _row(lot: LotView, coin: pd.Series, decided: Mapping[str, Any] | None) -> tuple[str, ...]:
    told = phrase("cuts.letter.undecided") if decided is None else _decision(decided)
    read = say("cuts.letter.read", read=readings(lot, coin), expected=expected(lot, coin))
    return (shortened(str(coin["coin_id"]), 24), read, sentence(str(coin["reason"])), told)


def _decision(said: Mapping[str, Any]) -> str:
    return f"{said['disposition']}: {shortened(str(said['reasons']), 200)}"


def _lot_decision(paper: Paper) -> list[Block]:
    decided = paper.history.dispositions().get("")
    if decided is None:
        return []
    told = say("cuts.letter.lot_decision", disposition=decided["disposition"],
               reasons=sentence(str(decided["reasons"])))  # fmt: skip
    return [Paragraph(told, "alert")]
