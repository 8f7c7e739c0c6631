"""Trays as they were answered: five by five cells, each outcome with a shape of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.patches import Rectangle

from lotscreen.records import Bools
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.style import (
    ACCENT,
    GREY,
    INK,
    PAGE_WIDTH_MM,
    PALE,
    Paper,
    Sheet,
    label,
)
from lotscreen.tray.marking.marked import Marked
from lotscreen.words import phrase, say

SIDE = 5
_ACROSS = 5
_GAP_MM = 3.5
_HEAD_MM = 6.0
_LEGEND_MM = 7.0
_TRAY_MM = (PAGE_WIDTH_MM - 1.0 - (_ACROSS - 1) * _GAP_MM) / _ACROSS
_CELL_MM = _TRAY_MM / SIDE


@dataclass(frozen=True, slots=True)
class Shape:
    """How an outcome is drawn: the marker, its size in points, its fill."""

    marker: str
    size: float
    fill: str
    edge: str = INK


SHAPES = {
    "hit": Shape("s", 6.0, ACCENT, ACCENT),
    "miss": Shape("X", 7.5, "white"),
    "alarm": Shape("^", 7.0, "white"),
    "accepted": Shape("o", 3.0, PALE, PALE),
    "not_told": Shape("D", 4.0, "white", GREY),
}
"""Hit, miss, false alarm, honest and accepted, no reading can tell: five shapes."""


def outcomes(refused: Bools, false: Bools) -> list[str]:
    """The key of ``SHAPES`` of each answer to a piece that readings can tell."""
    names = np.where(
        false, np.where(refused, "hit", "miss"), np.where(refused, "alarm", "accepted")
    )
    return [str(name) for name in names]


def marked_trays(marked: Marked, code: str, trays: Sequence[str]) -> Picture:
    """The trays of one trainee side by side, five in a row."""
    rows = -(-len(trays) // _ACROSS)
    height = rows * (_TRAY_MM + _HEAD_MM + _GAP_MM) + _LEGEND_MM
    sheet = Sheet(PAGE_WIDTH_MM, height)
    told = []
    for n, tray in enumerate(trays):
        row, column = divmod(n, _ACROSS)
        left = 0.5 + column * (_TRAY_MM + _GAP_MM)
        top = height - row * (_TRAY_MM + _HEAD_MM + _GAP_MM) - _HEAD_MM
        sheet.paper.text(left, top + 1.4, label(tray), va="baseline", fontsize=8.5)
        cells = _cells(marked, code, tray)
        _tray(sheet.paper, left, top, cells)
        told.append(_told(tray, cells))
    _legend(sheet.paper)
    return sheet.picture(say("tray_marking.alt.trays", code=code, trays=" ".join(told)))


def _cells(marked: Marked, code: str, tray: str) -> dict[int, str]:
    """The outcome of each answered cell of a tray."""
    grid = marked.grid
    found: dict[int, str] = {}
    if tray in grid.trays:
        own = (grid.person == grid.people.index(code)) & (grid.tray == grid.trays.index(tray))
        names = outcomes(grid.refused[own], grid.false[own])
        found = dict(zip(grid.cell[own].tolist(), names, strict=True))
    unseen = marked.not_told
    mine = unseen[(unseen["trainee"] == code) & (unseen["tray"] == tray)]
    found.update({int(cell): "not_told" for cell in mine["cell"]})
    return found


def _tray(paper: Paper, left: float, top: float, cells: dict[int, str]) -> None:
    frame = Rectangle((left, top - _TRAY_MM), _TRAY_MM, _TRAY_MM)
    frame.set(facecolor="none", edgecolor=INK, linewidth=0.7)
    paper.patch(frame)
    for n in range(1, SIDE):
        at = n * _CELL_MM
        paper.plot([left, left + _TRAY_MM], [top - at] * 2, color=PALE, linewidth=0.4)
        paper.plot([left + at] * 2, [top, top - _TRAY_MM], color=PALE, linewidth=0.4)
    for name in SHAPES:
        centres = [
            (left + (column + 0.5) * _CELL_MM, top - (row + 0.5) * _CELL_MM)
            for cell, outcome in cells.items()
            if outcome == name
            for row, column in [divmod(cell - 1, SIDE)]
        ]
        if centres:
            _mark(paper, [x for x, _ in centres], [y for _, y in centres], name)


def _mark(paper: Paper, x: Sequence[float], y: Sequence[float], name: str) -> None:
    shape = SHAPES[name]
    paper.plot(
        x, y, linestyle="none", marker=shape.marker, markersize=shape.size,
        markeredgecolor=shape.edge, markerfacecolor=shape.fill, markeredgewidth=0.9,
    )  # fmt: skip


def _legend(paper: Paper) -> None:
    x = 1.5
    for name in SHAPES:
        text = phrase(f"tray_marking.shape.{name}")
        _mark(paper, [x], [2.0], name)
        paper.text(x + 2.6, 2.0, text, va="center_baseline", fontsize=7.8)
        x += 7.0 + 1.42 * len(text)


def _told(tray: str, cells: dict[int, str]) -> str:
    parts = []
    for name in ("miss", "alarm"):
        places = [str(cell) for cell, outcome in sorted(cells.items()) if outcome == name]
        listed = ", ".join(places) or phrase("tray_marking.alt.none")
        parts.append(say(f"tray_marking.alt.{name}", cells=listed))
    return say("tray_marking.alt.tray", tray=tray, what="; ".join(parts))
