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
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle
from matplotlib.transforms import Affine2D, Transform

from lotscreen.report.blocks import Picture
from lotscreen.report.printable import BREAK, printable

ACCENT = "#1d4f63"
INK = "#262626"
GREY = "#6b6b6b"
PALE = "#b9b9b9"
FAINT = "#e2e2e2"
PAGE_WIDTH_MM = 166.0
HALF_WIDTH_MM = 79.0
_RASTER_DPI = 200
_PLACING_FONT = "STIXGeneral"
_PAGE_FONT = b"Libertinus Serif"
_LOOK: dict[str, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "lotscreen",
    "font.family": [_PLACING_FONT, "DejaVu Sans"],
    "font.size": 8.0,
    "text.color": INK,
    "text.parse_math": False,
    "lines.linewidth": 0.9,
    "hatch.linewidth": 0.3,
}


@contextmanager
def look() -> Iterator[None]:
    """The figures' look, whatever the user's own matplotlib settings are."""
    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(cast(Any, _LOOK))
        yield


class Paper:
    """A figure drawn on in millimetres from its lower left."""

    def __init__(self, figure: Figure) -> None:
        self._figure = figure
        self._millimetres = Affine2D().scale(1 / 25.4) + figure.dpi_scale_trans

    def plot(
        self,
        x: Any,
        y: Any,
        before: Affine2D | None = None,
        clip: Rectangle | None = None,
        **how: Any,
    ) -> None:
        """A line or marks; ``before`` leads from other units to millimetres, ``clip`` is a
        box in millimetres beyond which nothing is drawn."""
        line = Line2D(x, y, transform=self._from(before), **how)
        self._figure.add_artist(line)
        if clip is not None:
            line.set_clip_path(clip.get_path(), clip.get_patch_transform() + self._millimetres)

    def patch(
        self, patch: Patch, before: Affine2D | None = None, clip: Rectangle | None = None
    ) -> None:
        """A shape, placed as :meth:`plot` places a line."""
        patch.set_transform(self._from(before))
        self._figure.add_artist(patch)
        if clip is not None:
            patch.set_clip_path(clip.get_path(), clip.get_patch_transform() + self._millimetres)

    def text(self, x: float, y: float, text: str, **how: Any) -> None:
        """A text at a place in millimetres."""
        if text:
            self._figure.text(x, y, text, transform=self._millimetres, **how)

    def _from(self, before: Affine2D | None) -> Transform:
        return self._millimetres if before is None else before + self._millimetres


class Sheet:
    """A drawing of true size in millimetres."""

    def __init__(self, width_mm: float, height_mm: float) -> None:
        self.width_mm, self.height_mm = width_mm, height_mm
        self._figure = Figure(figsize=(width_mm / 25.4, height_mm / 25.4), dpi=72)
        FigureCanvasSVG(self._figure)
        self.paper = Paper(self._figure)

    def picture(self, alt: str, caption: str = "") -> Picture:
        """The drawing as SVG; the same drawing gives the same bytes."""
        sink = BytesIO()
        self._figure.savefig(
            sink, format="svg", transparent=True, dpi=_RASTER_DPI, metadata={"Date": None}
        )
        svg = sink.getvalue().replace(_PLACING_FONT.encode(), _PAGE_FONT)
        return Picture(svg=svg, width_mm=self.width_mm, alt=alt, caption=caption)


def label(text: str) -> str:
    """A user's text inside a drawing: showable, without invisible signs."""
    return printable(text).replace(BREAK, "")
