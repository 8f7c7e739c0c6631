"""The method in words, and the settings of this run with unit and source."""

from __future__ import annotations

from dataclasses import fields

from lotscreen.records import FindingKind
from lotscreen.report.blocks import Block, Column, Heading, Items, Paragraph, Table, Terms
from lotscreen.report.numerals import rarity
from lotscreen.report.view import ReportView
from lotscreen.settings import Settings
from lotscreen.words import phrase, say, table

_ORDER_TRIED = (
    FindingKind.NOT_JUDGED, FindingKind.RE_MEASURE, FindingKind.NOT_CONSISTENT,
    FindingKind.SET_ASIDE, FindingKind.CONSISTENT,
)  # fmt: skip


def build(view: ReportView) -> list[Block]:
    """How a finding is reached, what the numbers mean, and every setting."""
    settings = view.screening.settings
    rare = rarity(settings.limit)
    findings = tuple(
        (kind.value, say(f"report.method.finding.{kind.name.lower()}", rare=rare))
        for kind in _ORDER_TRIED
    )
    steps = tuple(table("report_method")["steps"])
    currencies = tuple(table("report_method")["currencies"])
    return [
        Heading(phrase("report.method.heading"), level=1, new_page=True),
        Paragraph(phrase("report.method.intro")),
        Items(steps, numbered=True),
        Heading(phrase("report.method.findings")),
        Paragraph(phrase("report.method.findings_order")),
        Terms(findings),
        Heading(phrase("report.method.evidence")),
        Items(currencies),
        *_settings(settings),
    ]


def _settings(settings: Settings) -> list[Block]:
    heads = table("report_columns")["settings"]
    shares = (0, 0, 2, 3, 3)
    columns = tuple(Column(head, share=share) for head, share in zip(heads, shares, strict=True))
    rows = tuple(
        (
            field.name,
            _value(getattr(settings, field.name)),
            field.metadata["unit"],
            field.metadata["says"],
            field.metadata["source"],
        )
        for field in fields(settings)
    )
    return [
        Heading(phrase("report.method.settings")),
        Paragraph(say("report.method.settings_intro", digest=settings.digest())),
        Table(columns, rows, phrase("report.method.settings_summary"), small=True),
    ]


def _value(value: float | None) -> str:
    return phrase("report.method.not_given") if value is None else f"{value:g}"
