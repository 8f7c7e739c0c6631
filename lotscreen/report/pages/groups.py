"""Groups, rolls and bags that were weighed together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lotscreen.lot.groups import opening_order
from lotscreen.lot.statement import GroupStatement
from lotscreen.records import FindingKind, ItemKind
from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table, Together
from lotscreen.report.figures.rolls import rolls_to_open
from lotscreen.report.numerals import MISSING, fixed, whole
from lotscreen.report.printable import shortened
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say, table

FEW = 12
MOST_ROWS = 60


def build(view: LotView) -> list[Block]:
    """Bags and groups out of the ordinary; a few groups are all printed."""
    groups = view.statement.group_statements
    if not groups:
        return []
    shown = [group for group in groups if not _as_expected(group)]
    if len(groups) <= FEW or not shown:
        shown = list(groups[:FEW])
    shown = shown[:MOST_ROWS]
    ranks = opening_order(groups)
    heads = table("report_columns")["groups"]
    columns = (
        Column(heads[0]), Column(heads[1], "right"), Column(heads[2], "right"),
        Column(heads[3], "right"), Column(heads[4], share=1),
        Column(phrase("report_plan.rolls.open"), "right"),
    )  # fmt: skip
    blocks: list[Block] = [
        Heading(phrase("report.groups.heading")),
        Table(
            columns,
            tuple(_row(view, group, ranks) for group in shown),
            phrase("report.groups.summary"),
            small=True,
        ),
    ]
    if len(shown) < len(groups):
        blocks.append(Paragraph(_others(groups, shown), "note"))
    picture = rolls_to_open(view, groups, ranks)
    if picture is not None:
        blocks.append(Together((Heading(phrase("report_plan.rolls.heading"), level=3), picture)))
    return blocks


def _as_expected(group: GroupStatement) -> bool:
    return group.kind == ItemKind.GROUP.value and group.finding == FindingKind.CONSISTENT.value


def _others(groups: Sequence[GroupStatement], shown: Sequence[GroupStatement]) -> str:
    """How many are not printed, and whether any of them is out of the ordinary."""
    rest = len(groups) - len(shown)
    odd = sum(not _as_expected(group) for group in groups) > MOST_ROWS
    words = "report.groups.cut_short" if odd else "report.groups.others_consistent"
    return say(words, n=whole(rest))


def _row(view: LotView, group: GroupStatement, ranks: Mapping[str, int]) -> tuple[str, ...]:
    reason = f": {group.reason}" if group.reason else ""
    return (
        shortened(view.weighed_together(group), 28),
        whole(group.count),
        f"{fixed(group.weight_g, 1)} g",
        f"{fixed(group.expected_low_g, 1)}–{fixed(group.expected_high_g, 1)} g",
        f"{group.finding}{reason}",
        whole(ranks[group.item_id]) if group.item_id in ranks else MISSING,
    )
