"""The lot as it lay on the table."""

from __future__ import annotations

from lotscreen.report.blocks import Block, Heading, Together
from lotscreen.report.figures.lot_map import lot_map
from lotscreen.report.view import LotView
from lotscreen.words import phrase


def build(view: LotView) -> list[Block]:
    """The map with its heading; nothing for a lot that is taken in at a glance."""
    picture = None if view.small else lot_map(view)
    if picture is None:
        return []
    return [Together((Heading(phrase("report.map.heading")), picture))]
