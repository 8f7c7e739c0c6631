"""The full report: the sheet of this version, what changed, the report, the ledger."""

from __future__ import annotations

from lotscreen.report.blocks import Block, Column, Heading, Paragraph, SignLines, Table
from lotscreen.report.cuts.changes import changes
from lotscreen.report.cuts.ledger_pages import all_records
from lotscreen.report.cuts.paper import Paper
from lotscreen.report.cuts.shared import moment
from lotscreen.report.cuts.tested import tested
from lotscreen.report.numerals import whole
from lotscreen.report.pdf import all_blocks
from lotscreen.report.view import ORDER_OF_FINDINGS
from lotscreen.words import phrase, say, table


def build(paper: Paper) -> list[Block]:
    """Page 1 says which version this is; page 2 what changed, where one was replaced."""
    return [*_front(paper), *changes(paper), *all_blocks(paper.view), *tested(paper),
            *all_records(paper)]  # fmt: skip


def _front(paper: Paper) -> list[Block]:
    title = say("cuts.title.report", lot=paper.lot, version=paper.version)
    return [
        Heading(title, level=1, new_page=True),
        Paragraph(_which(paper), "lead"),
        *facts(paper),
        Paragraph(phrase("cuts.front.digest")),
        SignLines(tuple(table("cuts")["front"]["lines"])),
    ]


def _which(paper: Paper) -> str:
    counts = paper.coins["finding"].value_counts()
    found = ", ".join(
        say("cuts.count", n=whole(int(counts[kind])), kind=kind)
        for kind in (*reversed(ORDER_OF_FINDINGS),)
        if counts.get(kind)
    )
    key = "cuts.front.replaces" if paper.replaces else "cuts.front.first"
    return say(key, version=paper.version, replaces=paper.replaces, at=moment(paper.at),
               found=found)  # fmt: skip


def facts(paper: Paper) -> list[Block]:
    """Lot, version, persons and the digest of the chain, as a table."""
    opened = paper.opened()
    heads = table("cuts")["columns"]["facts"]
    rows = [
        (phrase(f"cuts.fact.{name}"), str(opened[name]))
        for name in ("description", "consignor", "seal", "count_claimed", "count_counted",
                     "condition", "place")
        if name in opened
    ]  # fmt: skip
    replaced = say("cuts.front.version", version=paper.replaces) if paper.replaces else "–"
    rows += [
        (phrase("cuts.fact.version"), str(paper.version)),
        (phrase("cuts.fact.replaces"), replaced),
        (phrase("cuts.fact.issued"), moment(paper.at)),
        (phrase("cuts.fact.by"), paper.by),
        (phrase("cuts.fact.measured_by"), ", ".join(paper.codes) or phrase("cuts.not_said")),
        (phrase("cuts.fact.head"), paper.history.head),
        (phrase("cuts.fact.entries"), whole(len(paper.history.entries))),
        (phrase("cuts.fact.packages"), paper.packages),
    ]
    columns = (Column(heads[0], share=1), Column(heads[1], share=3))
    return [Table(columns, tuple(rows), phrase("cuts.summary.facts"))]
