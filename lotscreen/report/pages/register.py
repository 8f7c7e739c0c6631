"""The pages of the report, in order. A new page is one file here and one line below."""

from __future__ import annotations

from lotscreen.report.pages import answer, cautions, set_asides, types
from lotscreen.report.pages.page import LotPage, ReportPage

PAGES: list[LotPage | ReportPage] = [
    LotPage("answer", answer.build),
    LotPage("types", types.build),
    LotPage("set asides", set_asides.build),
    ReportPage("cautions", cautions.build, at_end=True),
]
