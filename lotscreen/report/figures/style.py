"""The one look of all figures: true millimetres, body font, one accent and greys.

Texts stay texts (``svg.fonttype`` none) and take the font of the page; STIX, which
matplotlib ships, has nearly the same widths and serves to place them.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from typing import Any, cast

import matplotlib
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from lotscreen.report.blocks import Picture
from lotscreen.report.printable import BREAK, printable

ACCENT = "#1d4f63"
INK = "#262626"
GREY = "#6b6b6b"
PALE = "#b9b9b9"
FAINT = "#e2e2e2"
PAGE_WIDTH_MM = 166.0
HALF_WIDTH_MM = 79.0
_POINTS_PER_MM = 72 / 25.4
_PLACING_FONT = "STIXGeneral"
_PAGE_FONT = b"Libertinus Serif"
_LOOK: dict[str, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "lotscreen",
    "font.family": [_PLACING_FONT],
    "font.size": 8.0,
    "axes.titlesize": 8.5,
    "axes.labelsize": 8.0,
    "xtick.labelsize": 7.5,
    "ytick.labelsize": 7.5,
    "axes.linewidth": 0.5,
    "axes.edgecolor": GREY,
    "axes.labelcolor": INK,
    "text.color": INK,
    "xtick.color": GREY,
    "ytick.color": GREY,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "xtick.major.width": 0.5,
    "ytick.major.width": 0.5,
    "xtick.major.size": 2.5,
    "ytick.major.size": 2.5,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.unicode_minus": True,
    "lines.linewidth": 0.9,
    "legend.frameon": False,
    "legend.fontsize": 7.5,
    "hatch.linewidth": 0.3,
}


@contextmanager
def look() -> Iterator[None]:
    """The figures' look, whatever the user's own matplotlib settings are."""
    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(cast(Any, _LOOK))
        yield


class Sheet:
    """A drawing of true size with one or more axes placed in millimetres."""

    def __init__(self, width_mm: float, height_mm: float) -> None:
        self.width_mm, self.height_mm = width_mm, height_mm
        self.figure = Figure(figsize=(width_mm / 25.4, height_mm / 25.4), dpi=72)
        FigureCanvasSVG(self.figure)
        self.figure.patch.set_visible(False)

    def axes(self, left: float, bottom: float, right: float, top: float) -> Axes:
        """Axes that leave the four margins (mm) free."""
        w, h = self.width_mm, self.height_mm
        box = (left / w, bottom / h, (w - left - right) / w, (h - bottom - top) / h)
        axes = self.figure.add_axes(box)
        axes.patch.set_visible(False)
        return axes

    def bare_axes(self) -> Axes:
        """Axes over the whole sheet whose units are millimetres from the lower left."""
        axes = self.axes(0, 0, 0, 0)
        axes.set_xlim(0, self.width_mm)
        axes.set_ylim(0, self.height_mm)
        axes.set_axis_off()
        return axes

    def picture(self, alt: str, caption: str = "") -> Picture:
        """The drawing as SVG; the same drawing gives the same bytes."""
        sink = BytesIO()
        self.figure.savefig(sink, format="svg", transparent=True, metadata={"Date": None})
        svg = sink.getvalue().replace(_PLACING_FONT.encode(), _PAGE_FONT)
        return Picture(svg=svg, width_mm=self.width_mm, alt=alt, caption=caption)


def points(millimetres: float) -> float:
    """Points of a length on paper, for line widths and marker sizes."""
    return millimetres * _POINTS_PER_MM


def label(text: str) -> str:
    """A user's text inside a drawing: showable, and never read as a formula."""
    return printable(text).replace(BREAK, "").replace("$", r"\$")
