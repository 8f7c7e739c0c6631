"""The annex for a court: method, limits, raw readings, evidence without any prior.

Facts come before opinions. Nothing here rests on a rate that somebody expected: the
evidence is a ratio of likelihoods, and a rate among honest coins.
"""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from lotscreen.report.blocks import Block, Column, Heading, Items, Paragraph, SignLines, Table
from lotscreen.report.cuts.full import facts
from lotscreen.report.cuts.ledger_pages import again, records
from lotscreen.report.cuts.paper import Paper
from lotscreen.report.cuts.shared import more, received
from lotscreen.report.cuts.tested import tests_alone
from lotscreen.report.numerals import MISSING, counted, fixed, rarity, whole
from lotscreen.report.pages import cautions, method, sign_off, standards
from lotscreen.report.pages.readings import expected
from lotscreen.report.printable import shortened
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say, table

MOST_READINGS = 4_000
MOST_COINS = 2_000
_RIGHT = frozenset({2, 3})


def build(paper: Paper) -> list[Block]:
    """Facts, evidence, opinions and decisions apart, method, limits, how to repeat it."""
    title = say("cuts.title.annex", lot=paper.lot, version=paper.version)
    return [
        Heading(title, level=1, new_page=True),
        Paragraph(phrase("cuts.annex.lead"), "lead"),
        *facts(paper),
        Heading(phrase("cuts.annex.facts"), level=1),
        Paragraph(received(paper)),
        *records(paper, "custody"),
        *records(paper, "instrument"),
        *records(paper, "check"),
        *_readings(paper),
        *records(paper, "test"),
        *records(paper, "correction"),
        *_evidence(paper),
        *tests_alone(paper),
        Heading(phrase("cuts.annex.opinions"), level=1, new_page=True),
        Paragraph(phrase("cuts.annex.opinions_intro")),
        *records(paper, "decision"),
        *method.build(paper.view),
        Heading(phrase("report.answer.cannot_see")),
        Items(tuple(dict.fromkeys(t for lot in paper.view.lots for t in lot.statement.cannot_see))),
        *cautions.build(paper.view),
        *standards.build(paper.view),
        *sign_off.build(paper.view),
        SignLines(tuple(table("cuts")["annex"]["lines"])),
        *again(paper),
    ]


def _readings(paper: Paper) -> list[Block]:
    """Every reading as it was written, withdrawn ones too."""
    intake = paper.view.screening.intake
    names = dict(zip(intake.items["item_id"], intake.items["coin_id"], strict=True))
    in_order = intake.readings.sort_values("order", kind="stable")
    rows = tuple(_reading_rows(in_order.iloc[:MOST_READINGS], names))
    heads = table("cuts")["columns"]["readings"]
    columns = tuple(
        Column(head, "right" if place in _RIGHT else "left", share=float(place == 7))
        for place, head in enumerate(heads)
    )
    n = len(intake.readings)
    return [
        Heading(phrase("cuts.annex.readings"), level=1, new_page=True),
        Paragraph(say("cuts.annex.readings_intro", n=whole(n)), "intro"),
        Table(columns, rows, phrase("cuts.summary.readings"), small=True),
        *more(n - MOST_READINGS, "cuts.annex.more"),
    ]


def _reading_rows(readings: pd.DataFrame, names: dict[str, str]) -> Iterator[tuple[str, ...]]:
    columns = ("item_id", "quantity", "raw", "value", "instrument", "person", "status", "why")
    for item, quantity, raw, value, instrument, person, status, why in zip(
        *(readings[name].tolist() for name in columns), strict=True
    ):
        unit = "g" if quantity == "weight" else "mm"
        yield (
            shortened(str(names[item]), 20), quantity.replace("_", " "), shortened(raw, 16),
            f"{value:.5g} {unit}", shortened(instrument, 16) or MISSING,
            shortened(person, 16) or MISSING, status, shortened(why, 80),
        )  # fmt: skip


def _evidence(paper: Paper) -> list[Block]:
    """The ratio of likelihoods and the rate among honest coins, all coins, no prior."""
    heads = table("cuts")["columns"]["evidence"]
    columns = tuple(
        Column(head, "right" if 0 < place < 5 else "left", share=float(place == 5))
        for place, head in enumerate(heads)
    )
    rows = tuple(row for lot in paper.view.lots for row in _evidence_rows(lot))
    return [
        Heading(phrase("cuts.annex.evidence"), level=1, new_page=True),
        Paragraph(say("cuts.annex.evidence_intro", coins=counted(len(paper.coins), "coin"))),
        Table(columns, rows[:MOST_COINS], phrase("cuts.summary.evidence"), small=True),
        *more(len(rows) - MOST_COINS),
    ]


def _evidence_rows(lot: LotView) -> Iterator[tuple[str, ...]]:
    for _, coin in lot.coins.iterrows():
        yield (
            shortened(str(coin["coin_id"]), 20), fixed(coin["weight_g"], lot.decimals),
            expected(lot, coin).removesuffix(" g"), rarity(coin["p_value"], short=True),
            fixed(coin["log10_lr"], 1, signed=True), str(coin["finding"]),
        )  # fmt: skip
