"""Pieces on the map of weight and thickness, by how many trainees they fooled."""

from __future__ import annotations

import numpy as np
import pandas as pd

from lotscreen.records import Floats
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.style import ACCENT, GREY, INK, PAGE_WIDTH_MM, PALE, Sheet, label
from lotscreen.tray.marking.marked import Marked
from lotscreen.tray.marking.wording import count
from lotscreen.words import phrase, say

_HEIGHT_MM = 88.0
_BOX = (10.0, 19.0, 160.0, 80.0)
_SMALLEST, _LARGEST = 2.0, 13.0
_FEWEST = 5
_MOST_NAMED = 8


def fooled_maps(marked: Marked, most: int = 3) -> list[Picture]:
    """A map for each type with both readings of five pieces or more, those with most pieces
    first."""
    pieces = marked.grid.pieces.assign(
        fooled=marked.pieces.fooled, met=marked.pieces.met, doubt=False, number=range(
            len(marked.grid.pieces))
    )  # fmt: skip
    pieces.loc[marked.pieces.suspect, "doubt"] = True
    known = pieces[pieces["weight_g"].notna() & pieces["thickness_mm"].notna()]
    types = known["type"].value_counts()
    chosen = types[types >= _FEWEST].index[:most]
    return [_map(str(kind), known[known["type"] == kind]) for kind in chosen]


def _map(kind: str, pieces: pd.DataFrame) -> Picture:
    sheet = Sheet(PAGE_WIDTH_MM, _HEIGHT_MM)
    x = pieces["weight_g"].to_numpy(dtype=np.float64)
    y = pieces["thickness_mm"].to_numpy(dtype=np.float64)
    share = (pieces["fooled"] / pieces["met"]).to_numpy(dtype=np.float64)
    area = Area(sheet.paper, _BOX, _span(x), _span(y))
    false = pieces["false"].to_numpy(dtype=bool)
    for side, marker in ((False, "o"), (True, "s")):
        _bubbles(area, x[false == side], y[false == side], share[false == side], marker)
    doubt = pieces["doubt"].to_numpy(dtype=bool)
    area.plot(x[doubt], y[doubt], linestyle="none", marker="+", markersize=16, color=INK, zorder=6)
    worst = np.argsort(-share, kind="stable")[:_MOST_NAMED]
    for n in worst[share[worst] >= 0.5]:
        name = label(str(pieces["piece"].iloc[n]))
        area.text(x[n], y[n], "    " + name, va="center", fontsize=7.0, zorder=7)
    area.x_axis(phrase("tray_marking.axis.weight"))
    area.y_axis(phrase("tray_marking.axis.thickness"))
    _legend(sheet)
    return sheet.picture(_alt(kind, pieces, worst), say("tray_marking.caption.fooled", type=kind))


def _bubbles(area: Area, x: Floats, y: Floats, share: Floats, marker: str) -> None:
    """Markers in steps of size, the largest first so that small ones lie on top."""
    step = np.round(share * 6).astype(int)
    for size in range(6, -1, -1):
        own = step == size
        if own.any():
            area.plot(
                x[own], y[own], linestyle="none", marker=marker, markersize=_size(size / 6),
                markeredgecolor=ACCENT if marker == "s" else GREY,
                markerfacecolor=PALE if size == 0 else "white", markeredgewidth=0.9,
                zorder=5 - size / 6,
            )  # fmt: skip


def _size(share: float) -> float:
    return _SMALLEST + (_LARGEST - _SMALLEST) * float(np.sqrt(share))


def _span(values: Floats) -> tuple[float, float]:
    low, high = float(values.min()), float(values.max())
    room = 0.05 * (high - low) or 0.1
    return low - room, high + room


def _legend(sheet: Sheet) -> None:
    x = 12.0
    entries = (
        ("o", 1 / 6, "map_honest"), ("s", 1 / 6, "map_not_honest"), ("o", 0.5, "map_half"),
        ("o", 1.0, "map_all"), ("+", 1.0, "map_doubt"),
    )  # fmt: skip
    for marker, share, name in entries:
        sheet.paper.plot(
            [x], [4.0], linestyle="none", marker=marker, markersize=_size(share),
            markeredgecolor=INK, markerfacecolor="white", markeredgewidth=0.9,
        )  # fmt: skip
        text = phrase(f"tray_marking.shape.{name}")
        sheet.paper.text(x + 4.0, 4.0, text, va="center_baseline", fontsize=7.8)
        x += 9.0 + 1.42 * len(text)


def _alt(kind: str, pieces: pd.DataFrame, worst: np.ndarray) -> str:
    chosen = pieces.iloc[worst]
    columns = ("piece", "fooled", "met", "weight_g", "thickness_mm")
    rows = [
        say("tray_marking.alt.fooled_row", piece=piece, fooled=count(fooled), met=count(met),
            weight=weight, thickness=thickness)
        for piece, fooled, met, weight, thickness in zip(
            *(chosen[name].to_list() for name in columns), strict=True
        )
    ]  # fmt: skip
    return say("tray_marking.alt.fooled", type=kind, n=len(pieces), rows=" ".join(rows))
