"""Repeats and drift in words: doubts for the outputs, lines for the screen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from lotscreen.instruments import CheckReading, balances_of
from lotscreen.records import Doubt, Intake, Quantity
from lotscreen.repeats.drift import Drift, drifts, suspended
from lotscreen.repeats.study import Offset, Repeats, study_repeats
from lotscreen.words import say

_TOLD_BELOW = 0.01  # p of offsets that are told as a doubt


def with_repeats(
    intake: Intake, checks: Sequence[CheckReading]
) -> tuple[Intake, tuple[Repeats, ...]]:
    """The intake with weighings suspended where check weights failed and with doubts about
    them and about repeats that disagree; and what the repeats say."""
    studies = study_repeats(intake.items, intake.readings)
    found = drifts(intake.items, checks, balances_of(intake.readings))
    doubts = (*intake.doubts, *repeat_doubts(intake, studies, found))
    return replace(intake, readings=suspended(intake.readings, found), doubts=doubts), studies


def repeat_doubts(
    intake: Intake, studies: Sequence[Repeats], found: Sequence[Drift]
) -> tuple[Doubt, ...]:
    """Doubts about coins whose repeats disagree, people who differ, balances that drift."""
    rows = intake.items.set_index("item_id")
    slips = {
        (item, study.quantity): _slip(intake, rows, item, study.quantity)
        for study in studies
        for item in study.slips
    }
    offsets = [_offset(intake, s) for s in studies if s.offsets and s.p_value < _TOLD_BELOW]
    return (*slips.values(), *offsets, *(_drift(rows, drift) for drift in found))


def _slip(intake: Intake, rows: pd.DataFrame, item: str, quantity: str) -> Doubt:
    readings = intake.readings
    own = readings[(readings["item_id"] == item) & (readings["quantity"] == quantity)]
    row = rows.loc[item]
    return Doubt(
        source_file=str(row["source_file"]),
        sheet=str(row["source_sheet"]),
        row=int(str(row["source_row"])),
        column=str(own["column"].iloc[-1]),
        raw=" / ".join(str(raw) for raw in own["raw"]),
        kind=say("repeats.doubt.slip.kind"),
        proposal="",
        why=say("repeats.doubt.slip.why"),
        item_id=item,
    )


def _offset(intake: Intake, study: Repeats) -> Doubt:
    table = intake.tables[0]
    return Doubt(
        source_file=table.source_file,
        sheet=table.sheet,
        row=table.first_row,
        column=say(f"repeats.factor.{study.factor}"),
        raw="",
        kind=say("repeats.doubt.offset.kind"),
        proposal="",
        why=say("repeats.doubt.offset.why", said="; ".join(_offsets(study))),
    )


def _drift(rows: pd.DataFrame, drift: Drift) -> Doubt:
    row = rows.loc[drift.at_item]
    points = [f"{over:+.3g} g" for _, over in drift.points]
    first, last = (f"{add:+.3g}" for add in drift.add_g)
    proposal = say("repeats.doubt.drift.proposal", first=first, last=last)
    key = "drift" if drift.items else "drift_alone"
    return Doubt(
        source_file=str(row["source_file"]),
        sheet=str(row["source_sheet"]),
        row=int(str(row["source_row"])),
        column=say("repeats.check"),
        raw="",
        kind=say(f"repeats.doubt.{key}.kind"),
        proposal=proposal if drift.items else "",
        why=say(
            f"repeats.doubt.{key}.why",
            balance=say("repeats.balance", name=drift.balance) if drift.balance else "",
            points=", ".join(points),
            items=len(drift.items),
            first=_name(rows, drift.items[:1]),
            last=_name(rows, drift.items[-1:]),
        ),
    )


def _name(rows: pd.DataFrame, items: Sequence[str]) -> str:
    return str(rows.loc[items[0], "coin_id"]) if items else "-"


def repeat_lines(studies: Sequence[Repeats]) -> Iterator[str]:
    """A sentence a study, and one for its offsets."""
    for study in studies:
        yield repeatability_line(study)
        if study.offsets:
            yield say(
                "repeats.line_between",
                factor=say(f"repeats.factor.{study.factor}"),
                sd=_figures(study.between_sd),
                unit=_unit(study),
                said="; ".join(_offsets(study)),
            )


def repeatability_line(study: Repeats) -> str:
    """Repeatability of one quantity, and of how many readings."""
    return say(
        "repeats.line",
        quantity=say(f"repeats.quantity.{study.quantity}"),
        sd=_figures(study.repeatability_sd),
        unit=_unit(study),
        coins=study.coins,
        readings=study.readings,
    )


def offset_figures(study: Repeats, of: Offset) -> tuple[str, str]:
    """An offset with its unit, and its interval."""
    shown = _shown(of)
    offset = say("repeats.page.offset", offset=shown["offset"], unit=_unit(study))
    return offset, say("repeats.page.interval", low=shown["low"], high=shown["high"])


def _offsets(study: Repeats) -> Iterator[str]:
    unit, quantity = _unit(study), say(f"repeats.quantity.{study.quantity}")
    for of in study.offsets:
        yield say("repeats.offset", level=of.level, quantity=quantity, unit=unit, **_shown(of))


def _shown(of: Offset) -> dict[str, str]:
    """Offset and interval with as many decimals as the interval's width gives sense."""
    decimals = _decimals(5 * (of.high - of.low))
    figures = {"offset": of.offset, "low": of.low, "high": of.high}
    return {name: f"{value:+.{decimals}f}" for name, value in figures.items()}


def _unit(study: Repeats) -> str:
    return "g" if study.quantity == Quantity.WEIGHT else "mm"


def _figures(value: float) -> str:
    """Two figures that count, never with an exponent."""
    return f"{value if np.isfinite(value) else 0.0:.{_decimals(value)}f}"


def _decimals(value: float) -> int:
    if value == 0 or not np.isfinite(value):
        return 3
    return min(max(3, 1 - int(np.floor(np.log10(abs(value))))), 9)
