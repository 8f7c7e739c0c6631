"""An offer on paper: the bid as steps, what lies behind it, limits, terms, until when."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from lotscreen.money.offer_words import spot_in_words, step_rows, ways, when
from lotscreen.money.terms import told_terms
from lotscreen.records import OutputError
from lotscreen.report.blocks import Block, Column, Heading, Items, Paragraph, Table, Together
from lotscreen.report.figures.offer_steps import offer_steps
from lotscreen.report.folder import write_file
from lotscreen.report.offer_text import behind
from lotscreen.report.pdf import typeset_bytes
from lotscreen.report.printable import printable
from lotscreen.words import phrase, say, table

if TYPE_CHECKING:
    from lotscreen.money.full_offer import FullOffer


def write_offer_pdf(found: FullOffer, version: str, path: Path) -> None:
    """Write the offer to ``path``; OutputError where it is there already or cannot be
    written. The same offer gives the same bytes."""
    if path.exists():
        raise OutputError(say("report_plan.plan.exists", file=path.name))
    words = {
        "title": printable(say("money.page.title", what=found.what)),
        "description": phrase("money.page.description"),
        "running_head": say("money.page.head", version=version),
        "footer": say("money.page.foot", until=when(found.offer.until)),
    }
    write_file(path, typeset_bytes(partial(offer_blocks, found), words))


def offer_blocks(found: FullOffer) -> list[Block]:
    """All blocks of the offer."""
    offer = found.offer
    name, bid = ways(offer)[0]
    return [
        Heading(say("money.page.title", what=found.what), level=1, new_page=True),
        *(Paragraph(warning, "alert") for warning in found.warnings),
        Paragraph(
            say("money.page.lead", bid=f"{bid.bid:,.0f}", bad=f"{bid.bid_bad:,.0f}",
                currency=offer.spot.currency, until=when(found.offer.until)),
            "lead",
        ),
        Paragraph(phrase("money.offer.not_advice"), "alert"),
        Paragraph(spot_in_words(offer.spot)),
        Together((
            Heading(phrase("money.page.steps")), offer_steps(bid, name, offer.spot.currency),
        )),
        _steps(found),
        Heading(phrase("money.page.behind")),
        Items(behind(found)),
        *_terms(found),
    ]  # fmt: skip


def _steps(found: FullOffer) -> Table:
    heads = (phrase("money.offer.mean"), phrase("money.offer.bad_case"))
    columns = [Column(phrase("money.page.step"), share=1)]
    for name, _ in ways(found.offer):
        columns += [Column(say("money.page.way", way=name, case=head), "right") for head in heads]
    return Table(tuple(columns), step_rows(found.offer), phrase("money.page.steps_summary"))


def _terms(found: FullOffer) -> list[Block]:
    heads = table("money")["page"]["terms_heads"]
    columns = (
        Column(heads[0], share=1.2), Column(heads[1], "right"), Column(heads[2]),
        Column(heads[3], share=1),
    )  # fmt: skip
    return [
        Heading(phrase("money.page.terms")),
        Table(columns, told_terms(found.offer.terms), phrase("money.page.terms_summary"), True),
    ]
