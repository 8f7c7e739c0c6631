"""The day of measuring, and the alarms about the lot as a whole."""

from __future__ import annotations

import math

import numpy as np

from lotscreen.lot.alarms import blind_sentences, budget_sentence
from lotscreen.lot.day import Day, day_of
from lotscreen.report.blocks import Block, Column, Heading, Items, Paragraph, Table, Together
from lotscreen.report.figures.day_strip import day_strip, people_of
from lotscreen.report.numerals import fixed, rarity, whole
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say, table


def build(view: LotView) -> list[Block]:
    """Strip and sentences; then the questions with their budget. Nothing for a lot that is
    taken in at a glance."""
    if view.small:
        return []
    return [*_day(view), *_alarms(view)]


def _day(view: LotView) -> list[Block]:
    coins = view.coins
    day = day_of(
        coins["order"].to_numpy(np.int64),
        coins["z_weight"].to_numpy(np.float64),
        coins["group"].tolist(),
        coins["item_id"].tolist(),
        view.screening.intake.readings,
        view.statement.checks,
    )
    if day is None:
        return []
    said = Items(tuple(_said(day)), small=True)
    return [Together((Heading(phrase("report_plan.day.heading")), said, day_strip(day)))]


def _said(day: Day) -> list[str]:
    said = []
    what = "rolls" if day.grouped else "coins"
    if day.signal_at:
        said.append(say(f"report_plan.day.signal_{what}", at=whole(day.signal_at)))
    else:
        said.append(phrase("report_plan.day.no_signal"))
    sums = {"at": whole(day.sums.signal_at), "limit": fixed(day.sums.scheme.limit_sd, 1)}
    passed = "sums_signal_" + what if day.sums.signal_at else "no_sums_signal"
    said.append(say(f"report_plan.day.{passed}", **sums))
    if day.grouped:
        said.append(phrase("report_plan.day.grouped"))
    delay, length = math.ceil(day.delay), round(day.run_length)
    facts = {"length": whole(length), "delay": whole(delay)}
    said.append(say(f"report_plan.day.run_length_{what}", **facts))
    if any(stretch.person for stretch in day.stretches):
        said.append(say("report_plan.day.people", people=people_of(day)))
    return said


def _alarms(view: LotView) -> list[Block]:
    alarms = view.statement.alarms
    if not alarms:
        return []
    heads = table("report_plan")["columns"]["alarms"]
    columns = (Column(heads[0], share=1), Column(heads[1], "right"), Column(heads[2], "right"))
    rows = tuple(
        (
            alarm.said,
            phrase("report_plan.alarms.not_asked")
            if alarm.rate is None
            else rarity(alarm.rate, short=True),
            rarity(alarm.allowed, short=True),
        )
        for alarm in alarms
    )
    return [
        Heading(phrase("report_plan.alarms.heading")),
        Table(columns, rows, phrase("report_plan.alarms.summary"), small=True),
        *(Paragraph(said, "note") for said in blind_sentences(alarms)),
        Paragraph(budget_sentence(alarms), "note"),
    ]
