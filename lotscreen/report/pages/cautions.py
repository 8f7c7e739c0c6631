"""The cautions that every report carries."""

from __future__ import annotations

from lotscreen.report.blocks import Block, Heading, Items
from lotscreen.report.view import ReportView
from lotscreen.words import phrase, table


def build(view: ReportView) -> list[Block]:
    """All cautions in force, numbered, whatever was found."""
    del view  # the cautions do not depend on the lot
    texts = tuple(table("cautions")["cautions"])
    return [Heading(phrase("report.cautions.heading")), Items(texts, numbered=True, small=True)]
