"""What a page of the report is: a name and a function that gives its blocks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from lotscreen.report.blocks import Blocks
from lotscreen.report.view import LotView, ReportView


@dataclass(frozen=True, slots=True)
class LotPage:
    """A page of every lot's run. No blocks: the page has nothing to show and is skipped."""

    name: str
    build: Callable[[LotView], Blocks]


@dataclass(frozen=True, slots=True)
class ReportPage:
    """A page of the whole report, before the lots or, with ``at_end``, after them."""

    name: str
    build: Callable[[ReportView], Blocks]
    at_end: bool = False
