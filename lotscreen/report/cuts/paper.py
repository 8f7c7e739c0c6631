"""What every paper of a version looks at, and how one is typeset."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any

import pandas as pd

from lotscreen.ledger.chain import Entry
from lotscreen.ledger.history import History
from lotscreen.report.blocks import Blocks
from lotscreen.report.pdf import typeset_bytes
from lotscreen.report.printable import printable
from lotscreen.report.view import ReportView
from lotscreen.second_tests.together import LotExplained
from lotscreen.words import phrase, say

HEAD_SHOWN = 16


@dataclass(frozen=True, slots=True)
class Paper:
    """One version of one lot: its number and the one it replaces (0: none), when and by
    whom, the chain up to the head that is printed, the chain at the version before (None:
    there is none), the digest of the packages, the screening as the pages see it, and what
    second tests leave of the coins' explanations (None: there were none)."""

    lot: str
    version: int
    replaces: int
    at: str
    by: str
    history: History
    before: History | None
    packages: str
    view: ReportView
    tests: LotExplained | None = None

    @property
    def coins(self) -> pd.DataFrame:
        """All coins, in the order of the sheet."""
        return pd.concat([lot.coins for lot in self.view.lots], ignore_index=True).sort_values(
            "order", kind="stable", ignore_index=True
        )

    def opened(self) -> dict[str, Any]:
        """The entry that opened the lot, as corrected since; empty where there is none."""
        return next((said for _, said in self.said("lot")), {})

    def said(self, kind: str) -> list[tuple[Entry, dict[str, Any]]]:
        """The entries of ``kind`` with their bodies as corrected since."""
        return self.history.as_corrected(kind)

    @property
    def codes(self) -> list[str]:
        """The codes of the people who measured, first met first."""
        people = self.view.screening.intake.readings["person"]
        return [str(code) for code in dict.fromkeys(people) if code]


@dataclass(frozen=True, slots=True)
class Cut:
    """A paper: the end of its file's name, and the function that gives its blocks."""

    name: str
    build: Callable[[Paper], Blocks]


def paper_bytes(paper: Paper, cut: Cut) -> bytes:
    """The paper as PDF/UA-1; the same version gives the same bytes."""
    title = say(f"cuts.title.{cut.name}", lot=paper.lot, version=paper.version)
    settings = paper.view.screening.settings.digest()
    words = {
        "title": printable(title),
        "description": phrase("report.description"),
        "running_head": printable(say("cuts.head", lot=paper.lot, version=paper.version)),
        "footer": say("cuts.foot", head=paper.history.head[:HEAD_SHOWN], settings=settings,
                      program=paper.view.version),
    }  # fmt: skip
    return typeset_bytes(partial(cut.build, paper), words)
