"""The PDF report: pages give blocks, the typesetter lays them out, nothing is fetched."""

from __future__ import annotations

import gc
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import fields, is_dataclass
from functools import partial
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import typst

from lotscreen.records import OutputError
from lotscreen.report.blocks import Block, Picture
from lotscreen.report.figures.style import look
from lotscreen.report.pages.page import LotPage, ReportPage
from lotscreen.report.pages.register import PAGES
from lotscreen.report.printable import FONT_FOLDER, printable
from lotscreen.report.view import ReportView, report_view
from lotscreen.words import phrase, say

if TYPE_CHECKING:
    from lotscreen.screening import Screening

_COLLECT_AFTER = 200_000


def write_report(screening: Screening, lot: str | None, version: str, path: Path) -> None:
    """Write the PDF report of ``screening`` (of ``lot`` alone, where one is given).

    The same screening gives the same bytes: no clock, no font and no file of the machine
    enters. Raises InputError for a lot that was not read, OutputError where ``path``
    cannot be written.
    """
    pdf = report_bytes(report_view(screening, lot, version))
    try:
        path.write_bytes(pdf)
    except OSError as error:
        told = say("cli.cannot_write", path=path.name, reason=error.strerror or error)
        raise OutputError(told) from error


def report_bytes(view: ReportView) -> bytes:
    """The report as PDF: see :func:`typeset_bytes`."""
    return typeset_bytes(partial(all_blocks, view), _frame_words(view))


def typeset_bytes(build: Callable[[], Sequence[Block]], words: Mapping[str, Any]) -> bytes:
    """What ``build`` gives as PDF/UA-1: tagged, with alternative texts, bookmarks, fonts
    embedded. ``words`` are title, description, running head and footer."""
    pictures: dict[str, bytes] = {}
    with look(), _rare_collections():
        blocks = build()
    data = {
        **words,
        "page_words": {"page": phrase("report.page.page"), "of": phrase("report.page.of")},
        "end": phrase("report.end"),
        "blocks": [_plain(block, pictures) for block in blocks],
    }
    template = files(__package__) / "typeset" / "report.typ"
    sources = {
        "main.typ": template.read_bytes(),
        "data.json": json.dumps(data, ensure_ascii=False).encode(),
        **pictures,
    }
    pdf: bytes = typst.compile(
        cast(Any, sources),
        ignore_system_fonts=True,
        font_paths=[FONT_FOLDER],
        pdf_standards=["ua-1"],
    )
    return pdf


@contextmanager
def _rare_collections() -> Iterator[None]:
    """Python's collector runs seldom: a drawing makes many linked objects that die at once,
    and looking through all of the program's others each time would take half the time."""
    before = gc.get_threshold()
    gc.set_threshold(_COLLECT_AFTER, *before[1:])
    try:
        yield
    finally:
        gc.set_threshold(*before)


def _frame_words(view: ReportView) -> dict[str, Any]:
    names = ", ".join(lot.title for lot in view.lots[:3])
    title = say("report.title", what=names)
    return {
        "title": printable(title),
        "description": phrase("report.description"),
        "running_head": printable(say("report.head", version=view.version)),
        "footer": say("report.foot", digest=view.screening.settings.digest()),
    }


def all_blocks(view: ReportView) -> list[Block]:
    """Front pages, then the run of each lot, then the back pages, in the register's order."""
    whole = [page for page in PAGES if isinstance(page, ReportPage)]
    of_lot = [page for page in PAGES if isinstance(page, LotPage)]
    blocks: list[Block] = []
    for page in whole:
        blocks.extend(() if page.at_end else page.build(view))
    for lot in view.lots:
        for lot_page in of_lot:
            blocks.extend(lot_page.build(lot))
    for page in whole:
        blocks.extend(page.build(view) if page.at_end else ())
    return blocks


def _plain(value: Any, pictures: dict[str, bytes]) -> Any:
    """Blocks as plain data; every text made printable, every drawing a file beside it."""
    if isinstance(value, str):
        return printable(value)
    if isinstance(value, tuple):
        return [_plain(part, pictures) for part in value]
    if not is_dataclass(value):
        return value
    found = {
        f.name: _plain(getattr(value, f.name), pictures) for f in fields(value) if f.name != "svg"
    }
    if isinstance(value, Picture):
        found["file"] = f"figure-{len(pictures) + 1:04d}.svg"
        pictures[found["file"]] = value.svg
    return {"kind": type(value).__name__, **found}
