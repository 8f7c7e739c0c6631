"""Coins alike across the lots of the parcel."""

from __future__ import annotations

from lotscreen.report.blocks import Block, Heading, Items, Paragraph
from lotscreen.report.printable import sentence
from lotscreen.report.view import ReportView
from lotscreen.words import phrase


def build(view: ReportView) -> list[Block]:
    """The groups, rarest first; nothing for a single lot, a line where there are none."""
    if len(view.lots) < 2:
        return []
    groups = view.screening.look_alikes
    heading = Heading(phrase("report_types.look_alikes.heading"))
    if not groups:
        return [heading, Paragraph(phrase("report_types.look_alikes.none"))]
    told = Items(tuple(sentence(group.said) for group in groups))
    return [heading, Paragraph(phrase("report_types.look_alikes.intro"), "intro"), told]
