"""The cautions that every report carries."""

from __future__ import annotations

from lotscreen.report.blocks import Block, Heading, Items, Together
from lotscreen.report.view import ReportView
from lotscreen.words import phrase, table


def build(view: ReportView) -> list[Block]:
    """All cautions, numbered, whatever was found."""
    del view
    heading = Heading(phrase("report.cautions.heading"), level=1)
    texts = tuple(table("cautions")["cautions"])
    return [Together((heading, Items(texts, numbered=True)))]
