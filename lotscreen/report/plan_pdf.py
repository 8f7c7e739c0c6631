"""Plan and stop on paper: what was fixed, the draw to walk along, the path, the curves."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from lotscreen.records import OutputError
from lotscreen.report.blocks import (
    Block,
    Column,
    Heading,
    Items,
    Paragraph,
    SideBySide,
    Table,
    Together,
)
from lotscreen.report.figures.plan_curves import characteristic, sample_number
from lotscreen.report.figures.stop_path import stop_path
from lotscreen.report.folder import write_file
from lotscreen.report.pdf import typeset_bytes
from lotscreen.report.stop_view import places, stop_sentences
from lotscreen.sequential.draw import batches, draw_order
from lotscreen.sequential.outlook import plan_curve
from lotscreen.sequential.plan_averages import average_cells, average_heads
from lotscreen.sequential.plan_words import first_accepting
from lotscreen.sequential.sampling_plan import SamplingPlan, figures
from lotscreen.words import phrase, say, table

if TYPE_CHECKING:
    from lotscreen.stopping import Stop

Sections = Sequence[tuple[str, Sequence[str]]]


def write_plan_pdf(plan: SamplingPlan, sections: Sections, version: str, path: Path) -> None:
    """The plan in words, its curves, and the draw to be ticked off; OutputError where
    ``path`` is there already or cannot be written."""
    _write(
        partial(plan_blocks, plan, sections), phrase("report_plan.plan.title"), plan, version, path
    )


def write_stop_pdf(found: Stop, changed: Sequence[str], version: str, path: Path) -> None:
    """The answer, the path, the curves and what was fixed before; errors as above."""
    build = partial(stop_blocks, found, changed)
    _write(build, phrase("report_plan.stop.title"), found.plan, version, path)


def plan_blocks(plan: SamplingPlan, sections: Sections) -> list[Block]:
    """All blocks of the plan."""
    blocks: list[Block] = [Heading(phrase("report_plan.plan.title"), level=1, new_page=True)]
    for heading, sentences in sections:
        blocks += [Heading(heading), Items(tuple(sentences))]
    blocks += [_averages(plan), _curves(plan), *_figures(plan), *_draw(plan)]
    return blocks


def _averages(plan: SamplingPlan) -> Block:
    """Mean coins drawn by the ways to stop, where the lot is clean and where it is bad."""
    first, *others = average_heads(plan)
    columns = (Column(first, share=1), *(Column(head, "right") for head in others))
    return Together(
        (
            Heading(phrase("plan.average.head")),
            Table(columns, average_cells(plan), phrase("plan.average.head"), small=True),
            Paragraph(phrase("plan.average.note"), "note"),
        )
    )


def stop_blocks(found: Stop, changed: Sequence[str]) -> list[Block]:
    """All blocks of the answer."""
    answer, *others = stop_sentences(found, changed)
    blocks: list[Block] = [
        Heading(phrase("report_plan.stop.title"), level=1, new_page=True),
        Paragraph(answer, "lead"),
        *(Paragraph(change, "alert") for change in changed),
        Items(tuple(said for said in others if said not in changed)),
    ]
    picture = stop_path(found.plan, found.moments, found.plan.lines())
    if picture is not None:
        blocks.append(Together((Heading(phrase("report_plan.stop.path")), picture)))
    blocks += [_curves(found.plan), *_figures(found.plan)]
    return blocks


def _curves(plan: SamplingPlan) -> Block:
    curve = plan_curve(plan)
    return Together(
        (
            Heading(phrase("report_plan.plan.curves")),
            SideBySide((characteristic(plan, curve),), (sample_number(plan, curve),)),
        )
    )


def _figures(plan: SamplingPlan) -> list[Block]:
    heads = table("report_plan")["columns"]["figures"]
    rows = tuple((phrase(f"plan.file.{name}"), str(value)) for name, value in figures(plan).items())
    columns = (Column(heads[0], share=1), Column(heads[1], "right"))
    return [
        Heading(phrase("report_plan.plan.fixed")),
        Table(columns, rows, phrase("report_plan.plan.fixed_summary"), small=True),
        Paragraph(say("report_plan.plan.digest", digest=plan.digest()), "note"),
    ]


def _draw(plan: SamplingPlan) -> list[Block]:
    """The batches that a clean lot takes, one row each, with room to tick."""
    coins = -(-first_accepting(plan.lines()) // plan.batch_coins) * plan.batch_coins
    order = draw_order(plan.lot_coins, plan.seed)[:coins]
    heads = table("report_plan")["columns"]["draw"]
    rows = tuple(
        (str(number), places(np.asarray(batch), plan, most=len(batch)), "")
        for number, batch in enumerate(batches(order, plan.batch_coins), 1)
    )
    columns = (Column(heads[0], "right"), Column(heads[1], share=1), Column(heads[2], "right"))
    return [
        Heading(phrase("report_plan.plan.draw")),
        Paragraph(say("report_plan.plan.draw_lead", seed=plan.seed, coins=len(order)), "intro"),
        Table(columns, rows, phrase("report_plan.plan.draw_summary"), small=True),
    ]


def _write(build: Any, title: str, plan: SamplingPlan, version: str, path: Path) -> None:
    if path.exists():
        raise OutputError(say("report_plan.plan.exists", file=path.name))
    words = {
        "title": title,
        "description": phrase("report_plan.plan.description"),
        "running_head": say("report_plan.plan.head", version=version),
        "footer": say("report_plan.plan.foot", digest=plan.digest()),
    }
    write_file(path, typeset_bytes(build, words))
