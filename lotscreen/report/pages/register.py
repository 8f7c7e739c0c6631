"""The pages of the report, in order. A new page is one file here and one line below."""

from __future__ import annotations

from lotscreen.report.pages import (
    all_coins,
    answer,
    cautions,
    day,
    glossary,
    groups,
    index,
    look_alikes,
    lot_map,
    method,
    re_measure,
    repeats,
    running,
    set_asides,
    sheet,
    sign_off,
    standards,
    types,
    worked,
)
from lotscreen.report.pages.page import LotPage, ReportPage

PAGES: list[LotPage | ReportPage] = [
    ReportPage("index of lots", index.build),
    ReportPage("coins alike across lots", look_alikes.build),
    LotPage("the answer in words", answer.build),
    LotPage("drawings of each type", types.build),
    LotPage("map of the lot", lot_map.build),
    LotPage("coins set aside", set_asides.build),
    LotPage("coins to measure again", re_measure.build),
    LotPage("groups and bags", groups.build),
    LotPage("running chart", running.build),
    LotPage("the day and the lot as a whole", day.build),
    LotPage("one coin worked by hand", worked.build),
    LotPage("all coins", all_coins.build),
    ReportPage("how the sheet was read", sheet.build, at_end=True),
    ReportPage("people, instruments and days", repeats.build, at_end=True),
    ReportPage("method and settings", method.build, at_end=True),
    ReportPage("standards used", standards.build, at_end=True),
    ReportPage("glossary", glossary.build, at_end=True),
    ReportPage("cautions", cautions.build, at_end=True),
    ReportPage("sign-off and digests", sign_off.build, at_end=True),
]
