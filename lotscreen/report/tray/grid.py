"""The tray as a drawing: five rows of five numbered cells, on the key with a mark a piece."""

from __future__ import annotations

from matplotlib.patches import Rectangle

from lotscreen.report.blocks import Picture
from lotscreen.report.figures.style import ACCENT, GREY, INK, PAGE_WIDTH_MM, Paper, Sheet, label
from lotscreen.report.printable import shortened
from lotscreen.tray.compose import Cell, Tray
from lotscreen.tray.purpose import SIDE
from lotscreen.words import phrase, say

_CELL_HEIGHT_MM = 24.0
_KEY_CELL_HEIGHT_MM = 15.0
_LEGEND_MM = 7.0
_LONGEST = 19
_LONGEST_KIND = 30


def tray_grid(tray: Tray) -> Picture:
    """The tray as it is handed over: number, type and date of every cell."""
    width = PAGE_WIDTH_MM / SIDE
    sheet = Sheet(PAGE_WIDTH_MM, SIDE * _CELL_HEIGHT_MM)
    for cell in tray.cells:
        left, top = _corner(cell, width, _CELL_HEIGHT_MM, sheet.height_mm)
        _frame(sheet.paper, left, top, width, _CELL_HEIGHT_MM, cell.number)
        _names(sheet.paper, left, top, cell)
    return sheet.picture(say("tray_building.alt.tray", tray=tray.name, n=len(tray.cells)))


def key_grid(tray: Tray) -> Picture:
    """The tray with a mark a piece: filled square not honest, open circle honest, open
    diamond one that no reading tells."""
    width = PAGE_WIDTH_MM / SIDE
    sheet = Sheet(PAGE_WIDTH_MM, SIDE * _KEY_CELL_HEIGHT_MM + _LEGEND_MM)
    for cell in tray.cells:
        left, top = _corner(cell, width, _KEY_CELL_HEIGHT_MM, sheet.height_mm)
        _frame(sheet.paper, left, top, width, _KEY_CELL_HEIGHT_MM, cell.number)
        name = _mark_of(cell)
        _mark(sheet.paper, left + width / 2, top - 6.0, name)
        kind = label(shortened(cell.piece.kind, _LONGEST_KIND))
        sheet.paper.text(left + width / 2, top - 12.6, kind, ha="center", va="baseline",
                         fontsize=6.2, color=GREY)  # fmt: skip
    for n, name in enumerate(("honest", "not_honest", "not_tellable")):
        _mark(sheet.paper, 3.0 + 54.0 * n, 2.6, name)
        text = phrase(f"tray_building.legend.{name}")
        sheet.paper.text(6.5 + 54.0 * n, 2.6, text, va="center_baseline", fontsize=8.0)
    cells = ", ".join(str(c.number) for c in tray.cells if not c.piece.honest)
    told = cells or phrase("tray_building.alt.none")
    return sheet.picture(say("tray_building.alt.key", tray=tray.name, cells=told))


def _corner(cell: Cell, width: float, height: float, top: float) -> tuple[float, float]:
    row, column = divmod(cell.number - 1, SIDE)
    return column * width, top - row * height


def _frame(paper: Paper, left: float, top: float, width: float, height: float, number: int) -> None:
    inner = Rectangle((left + 0.4, top - height + 0.4), width - 0.8, height - 0.8)
    inner.set(facecolor="none", edgecolor=INK, linewidth=0.6)
    paper.patch(inner)
    paper.text(left + 2.0, top - 2.0, str(number), va="top", fontsize=10.0, color=INK)


def _names(paper: Paper, left: float, top: float, cell: Cell) -> None:
    lines = (shortened(cell.piece.type_text, _LONGEST), shortened(cell.piece.date_text, _LONGEST))
    for n, text in enumerate(lines):
        paper.text(left + 2.0, top - 17.0 - 4.0 * n, label(text), va="baseline", fontsize=7.8,
                   color=GREY)  # fmt: skip


def _mark_of(cell: Cell) -> str:
    if not cell.piece.tellable:
        return "not_tellable"
    return "honest" if cell.piece.honest else "not_honest"


def _mark(paper: Paper, x: float, y: float, name: str) -> None:
    shape = {"honest": "o", "not_honest": "s", "not_tellable": "D"}[name]
    fill = ACCENT if name == "not_honest" else "white"
    paper.plot([x], [y], marker=shape, markersize=7.0, markeredgecolor=INK,
               markerfacecolor=fill, markeredgewidth=0.8, linestyle="none")  # fmt: skip
