"""Second tests beside the readings: what each said, and what is left of the explanations."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from lotscreen.report.blocks import Block, Heading, Items, Paragraph
from lotscreen.report.cuts.paper import Paper
from lotscreen.report.cuts.shared import more
from lotscreen.report.printable import sentence
from lotscreen.second_tests.told import coin_sentences, run_sentences
from lotscreen.second_tests.update import CoinWithTests
from lotscreen.words import phrase, say

MOST_COINS = 60


def tested(paper: Paper) -> list[Block]:
    """Each coin tested with its explanations before and after; nothing without tests."""
    return _pages(paper, coin_sentences, "cuts.tested.intro")


def tests_alone(paper: Paper) -> list[Block]:
    """What each test said by itself: no share of any explanation."""
    return _pages(paper, _runs, "cuts.tested.alone")


def _runs(coin: CoinWithTests) -> tuple[str, ...]:
    return tuple(said for run in coin.said for said in run_sentences(run))


def _pages(paper: Paper, told: Callable[[CoinWithTests], Sequence[str]], intro: str) -> list[Block]:
    if paper.tests is None:
        return []
    items = paper.view.screening.intake.items
    blocks: list[Block] = [
        Heading(phrase("cuts.tested.heading"), level=1, new_page=True),
        Paragraph(phrase(intro), "intro"),
    ]
    for coin in paper.tests.tested[:MOST_COINS]:
        number = str(items["coin_id"].iloc[coin.row])
        finding = str(paper.view.screening.findings.finding[coin.row])
        blocks.append(Heading(say("cuts.tested.coin", coin=number, finding=finding)))
        blocks.append(Items(tuple(sentence(said) for said in told(coin)), small=True))
    blocks += more(len(paper.tests.tested) - MOST_COINS)
    if paper.tests.not_taken:
        blocks.append(Heading(phrase("cuts.tested.not_taken")))
        blocks.append(Items(paper.tests.not_taken, small=True))
    return blocks
