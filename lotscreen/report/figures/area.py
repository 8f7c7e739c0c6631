"""A plot area: data coordinates inside a box of millimetres, with two plain axes.

matplotlib's own axes cost a twentieth of a second each before anything is drawn; a report
has dozens of drawings, so this does the little that they need.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.patches import Patch, PathPatch, Polygon, Rectangle
from matplotlib.path import Path
from matplotlib.ticker import MaxNLocator
from matplotlib.transforms import Affine2D

from lotscreen.records import Bools, Floats
from lotscreen.report.figures.style import GREY, INK, Paper

_TICK_MM = 0.9
_TICK_SIZE = 7.4
_LABEL_SIZE = 8.0


class Area:
    """A box on ``paper`` from (``left``, ``bottom``) to (``right``, ``top``) in mm that
    shows ``x`` from first to last and ``y`` likewise; either may run downwards."""

    def __init__(
        self,
        paper: Paper,
        box: tuple[float, float, float, float],
        x: tuple[float, float],
        y: tuple[float, float],
    ) -> None:
        self.paper, self.x, self.y = paper, x, y
        self.left, self.bottom, self.right, self.top = box
        self._x_scale = (self.right - self.left) / (x[1] - x[0])
        self._y_scale = (self.top - self.bottom) / (y[1] - y[0])
        self._data = (
            Affine2D()
            .translate(-x[0], -y[0])
            .scale(self._x_scale, self._y_scale)
            .translate(self.left, self.bottom)
        )
        self._clip = Rectangle(
            (self.left, self.bottom), self.right - self.left, self.top - self.bottom
        )

    def at_x(self, x: float) -> float:
        """Millimetres from the left of the paper."""
        return self.left + (x - self.x[0]) * self._x_scale

    def at_y(self, y: float) -> float:
        """Millimetres from the bottom of the paper."""
        return self.bottom + (y - self.y[0]) * self._y_scale

    def plot(self, x: Any, y: Any, clip: bool = True, **how: Any) -> None:
        """A line or marks; not ``clip``: what lies on the rim is drawn whole."""
        how.pop("clip_on", None)
        self.paper.plot(x, y, before=self._data, clip=self._clip if clip else None, **how)

    def patch(self, patch: Patch) -> None:
        """A shape in data coordinates, clipped to the box."""
        self.paper.patch(patch, before=self._data, clip=self._clip)

    def vertical(self, x: float, **how: Any) -> None:
        """A line across the box at ``x``; nothing where that lies outside."""
        if min(self.x) <= x <= max(self.x):
            self.plot([x, x], self.y, **how)

    def horizontal(self, y: float, **how: Any) -> None:
        """A line across the box at ``y``; nothing where that lies outside."""
        if min(self.y) <= y <= max(self.y):
            self.plot(self.x, [y, y], **how)

    def band(self, x: Floats, low: Floats, high: Floats, **how: Any) -> None:
        """The area between two curves."""
        outline = np.concatenate([np.column_stack([x, low]), np.column_stack([x, high])[::-1]])
        self.patch(Polygon(outline, closed=True, linewidth=0, **how))

    def columns(self, first: float, last: float, **how: Any) -> None:
        """The whole height of the box between two values of x."""
        size = (last - first, self.y[1] - self.y[0])
        self.patch(Rectangle((first, self.y[0]), *size, **how))

    def bars(self, edges: Floats, heights: Floats, **how: Any) -> None:
        """Bars that stand on zero, as one shape; empty ones are not drawn."""
        paths = [
            Path([(a, 0), (a, h), (b, h), (b, 0), (a, 0)], closed=True)
            for a, b, h in zip(edges[:-1], edges[1:], heights, strict=True)
            if h > 0
        ]
        if paths:
            self.patch(PathPatch(Path.make_compound_path(*paths), **how))

    def text(self, x: float, y: float, text: str, **how: Any) -> None:
        """A text at a place of the data."""
        self.paper.text(self.at_x(x), self.at_y(y), text, **how)

    def x_axis(self, label: str, decimals: int | None = None, ticks: int = 7) -> None:
        """The axis below the box; an empty ``label`` draws ticks without numbers."""
        self.paper.plot([self.left, self.right], [self.bottom] * 2, color=GREY, linewidth=0.5)
        for value, text in nice_ticks(self.x, ticks, decimals):
            at = self.at_x(value)
            self.paper.plot(
                [at, at], [self.bottom, self.bottom - _TICK_MM], color=GREY, linewidth=0.5
            )
            if label:
                self.paper.text(
                    at, self.bottom - 1.4, text, ha="center", va="top", fontsize=_TICK_SIZE
                )
        middle = 0.5 * (self.left + self.right)
        self.paper.text(
            middle, self.bottom - 5.2, label, ha="center", va="top", fontsize=_LABEL_SIZE
        )

    def y_axis(self, label: str, decimals: int | None = None, ticks: int = 5) -> None:
        """The axis left of the box; its label stands above, to be read without turning."""
        self.paper.plot([self.left] * 2, [self.bottom, self.top], color=GREY, linewidth=0.5)
        for value, text in nice_ticks(self.y, ticks, decimals):
            at = self.at_y(value)
            self.paper.plot([self.left, self.left - _TICK_MM], [at, at], color=GREY, linewidth=0.5)
            self.paper.text(
                self.left - 1.4, at, text, ha="right", va="center_baseline", fontsize=_TICK_SIZE
            )
        self.paper.text(
            0.0, self.top + 1.6, label, ha="left", va="bottom", fontsize=_LABEL_SIZE, color=INK
        )

    def beside(self, labels: Sequence[tuple[float, str]], apart_mm: float = 3.2) -> None:
        """Texts right of the box at heights of the data, pushed apart so that none covers
        another; the lowest keeps its place."""
        at = -np.inf
        for height, text in sorted(labels):
            wished = min(max(self.at_y(height), self.bottom), self.top)
            at = max(wished, at + apart_mm)
            self.paper.text(self.right + 1.5, at, text, va="center", fontsize=_TICK_SIZE)

    def inside(self, x: Floats, y: Floats) -> Bools:
        """Which points lie in the box."""
        return np.asarray(
            (x >= min(self.x)) & (x <= max(self.x)) & (y >= min(self.y)) & (y <= max(self.y))
        )


def nice_ticks(
    span: tuple[float, float], most: int, decimals: int | None = None
) -> list[tuple[float, str]]:
    """Round values inside ``span`` with their texts, true minus signs and all the same
    decimals (as many as tell them apart where ``decimals`` is None)."""
    low, high = min(span), max(span)
    locator = MaxNLocator(nbins=most, steps=[1, 2, 2.5, 5, 10], integer=decimals == 0)
    room = 1e-9 * (high - low)
    values = [float(v) for v in locator.tick_values(low, high) if low - room <= v <= high + room]
    if decimals is None:
        decimals = next(
            (d for d in range(6) if all(abs(round(v, d) - v) <= 1e-9 + room for v in values)), 6
        )
    return [(v, f"{v + 0.0:.{decimals}f}".replace("-", "−")) for v in values]
