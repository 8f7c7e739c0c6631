"""Lines to sign, and the digests that tie this report to its files."""

from __future__ import annotations

from lotscreen.report.blocks import Block, Column, Heading, Paragraph, SignLines, Table
from lotscreen.report.numerals import whole
from lotscreen.report.printable import shortened
from lotscreen.report.view import ReportView
from lotscreen.words import phrase, say, table


def build(view: ReportView) -> list[Block]:
    """Who measured, decided, checked; then digests of files, settings, standards."""
    return [
        Heading(phrase("report.sign_off.heading"), level=1, new_page=True),
        Paragraph(phrase("report.sign_off.intro")),
        SignLines(tuple(table("report_sign_off")["lines"])),
        *_digests(view),
    ]


def _digests(view: ReportView) -> list[Block]:
    screening = view.screening
    heads = table("report_columns")["digests"]
    rows = [
        (
            say("report.sign_off.file", name=shortened(source.name, 60), rows=whole(source.rows)),
            source.digest,
        )
        for source in screening.intake.sources
    ]
    rows.append((phrase("report.sign_off.settings"), screening.settings.digest()))
    rows.append((phrase("report.sign_off.standards"), screening.standards.digest))
    rows.append((phrase("report.sign_off.seed"), str(screening.seed)))
    rows.append((phrase("report.sign_off.version"), view.version))
    columns = (Column(heads[0], share=2), Column(heads[1], share=3))
    return [
        Heading(phrase("report.sign_off.digests")),
        Paragraph(phrase("report.sign_off.repeat")),
        Table(columns, tuple(rows), phrase("report.sign_off.summary"), small=True),
    ]
