"""The insurer's list: count, weights, seals, places. It holds no finding at all."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from lotscreen.report.blocks import Block, Column, Heading, Paragraph, SignLines, Table
from lotscreen.report.cuts.ledger_pages import records
from lotscreen.report.cuts.paper import Paper
from lotscreen.report.cuts.shared import measured, more, received
from lotscreen.report.numerals import as_read, fixed, whole
from lotscreen.report.pages.readings import across, date
from lotscreen.report.printable import shortened
from lotscreen.words import phrase, say, table

MOST_ROWS = 2_000


def build(paper: Paper) -> list[Block]:
    """Seals and hand-overs first, then one line a coin, then the sum."""
    title = say("cuts.title.list", lot=paper.lot, version=paper.version)
    return [
        Heading(title, level=1, new_page=True),
        Paragraph(received(paper)),
        Paragraph(measured(paper)),
        *_kept(paper),
        *records(paper, "custody"),
        *_coins(paper),
        SignLines(tuple(table("cuts")["list"]["lines"])),
    ]


def _kept(paper: Paper) -> list[Block]:
    opened = paper.opened()
    seals = [str(said["seal"]) for said in (opened, *_bodies(paper)) if "seal" in said]
    places = [str(said["place"]) for said in (opened, *_bodies(paper)) if "place" in said]
    unsaid = phrase("cuts.not_said")
    told = say("cuts.list.kept", seals=", ".join(dict.fromkeys(seals)) or unsaid,
               place=places[-1] if places else unsaid,
               condition=opened.get("condition", unsaid))  # fmt: skip
    return [Paragraph(told)]


def _bodies(paper: Paper) -> list[dict[str, object]]:
    return [said for _, said in paper.said("custody")]


def _coins(paper: Paper) -> list[Block]:
    coins = paper.coins
    decimals = max(lot.decimals for lot in paper.view.lots)
    names = {key: name for lot in paper.view.lots for key, name in lot.type_names.items()}
    heads = table("cuts")["columns"]["list"]
    columns = tuple(
        Column(head, "right" if place > 2 else "left", share=float(place == 1))
        for place, head in enumerate(heads)
    )
    rows = tuple(_row(coin, decimals, names) for _, coin in coins.iloc[:MOST_ROWS].iterrows())
    total = fixed(float(coins["weight_g"].sum()), decimals)
    return [
        Heading(phrase("cuts.list.coins")),
        Table(columns, rows, phrase("cuts.summary.list"), small=True),
        Paragraph(say("cuts.list.sum", n=whole(len(coins)), total=total)),
        *more(len(coins) - MOST_ROWS),
    ]


def _row(coin: pd.Series, decimals: int, names: Mapping[str, str]) -> tuple[str, ...]:
    key = str(coin["type_key"])
    declared = names.get(key, key) or str(coin["type_text"])
    return (
        shortened(str(coin["coin_id"]), 20), shortened(declared, 60), shortened(date(coin), 14),
        as_read(coin["weight_g"], decimals), across(coin), fixed(coin["thickness_mm"], 2),
    )  # fmt: skip
