"""The seller's slip: five lines, none of which accuses."""

from __future__ import annotations

from lotscreen.records import FindingKind
from lotscreen.report.blocks import Block, Heading, Items, Paragraph, SignLines
from lotscreen.report.cuts.paper import Paper
from lotscreen.report.cuts.shared import kept_apart, measured, moment, numbers_of, received
from lotscreen.report.numerals import counted, fixed
from lotscreen.words import phrase, say, table

_MOST_NUMBERS = 24


def build(paper: Paper) -> list[Block]:
    """What came in, what was measured, what agrees, what is kept apart, what comes next."""
    title = say("cuts.title.slip", lot=paper.lot, version=paper.version)
    return [
        Heading(title, level=1, new_page=True),
        Items(tuple(_lines(paper)), numbered=True),
        Paragraph(_no_opinion(paper), "note"),
        SignLines(tuple(table("cuts")["slip"]["lines"])),
    ]


def _lines(paper: Paper) -> list[str]:
    findings = paper.coins["finding"]
    agree = int((findings == FindingKind.CONSISTENT.value).sum())
    open_ = int((findings == FindingKind.NOT_JUDGED.value).sum())
    apart = len(kept_apart(paper))
    told = (
        say("cuts.slip.apart", coins=counted(apart, "coin"),
            numbers=numbers_of(paper, _MOST_NUMBERS))
        if apart
        else phrase("cuts.slip.none_apart")
    )  # fmt: skip
    return [
        received(paper),
        measured(paper),
        say("cuts.slip.agree_open", coins=counted(agree, "coin"), open=counted(open_, "coin"))
        if open_
        else say("cuts.slip.agree", coins=counted(agree, "coin")),
        told,
        _next(paper),
    ]


def _next(paper: Paper) -> str:
    """The last offer that was written down, or that one may ask for the coins."""
    offers = paper.said("offer")
    if not offers:
        return say("cuts.slip.next", version=paper.version)
    said = offers[-1][1]
    times = {name: moment(str(said[name])) for name in ("spot_at", "until")}
    return say("cuts.slip.offer", bid=fixed(said["bid"], 2), currency=said["currency"],
               spot=said["spot"], version=paper.version, **times)  # fmt: skip


def _no_opinion(paper: Paper) -> str:
    told = [phrase("cuts.slip.no_opinion")]
    return " ".join(told if paper.said("offer") else [*told, phrase("cuts.slip.no_offer")])
