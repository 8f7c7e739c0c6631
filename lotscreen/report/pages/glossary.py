"""Words of the trade and of statistics that this report uses."""

from __future__ import annotations

from lotscreen.report.blocks import Block, Heading, Terms
from lotscreen.report.view import ReportView
from lotscreen.words import phrase, table


def build(view: ReportView) -> list[Block]:
    """The glossary in alphabetical order, the same in every report."""
    del view
    terms = table("glossary")["terms"]
    return [
        Heading(phrase("report.glossary.heading"), level=1, new_page=True),
        Terms(tuple(sorted(terms.items(), key=lambda pair: pair[0].casefold()))),
    ]
