"""One mark a finding: told apart by shape, so that it survives a grey printer."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd
from matplotlib.axes import Axes

from lotscreen.records import FindingKind
from lotscreen.report.figures.style import ACCENT, GREY, INK, PALE


@dataclass(frozen=True, slots=True)
class Mark:
    """How coins with one finding are drawn; ``size`` in points."""

    finding: str
    shape: str
    size: float
    edge: str
    fill: str


MARKS: tuple[Mark, ...] = (
    Mark(FindingKind.CONSISTENT.value, "o", 2.2, "none", PALE),
    Mark(FindingKind.NOT_JUDGED.value, "+", 4.5, GREY, "none"),
    Mark(FindingKind.RE_MEASURE.value, "D", 4.2, INK, "white"),
    Mark(FindingKind.SET_ASIDE.value, "^", 5.4, ACCENT, "white"),
    Mark(FindingKind.NOT_CONSISTENT.value, "s", 4.8, ACCENT, ACCENT),
)


def draw_marks(axes: Axes, coins: pd.DataFrame, x: str, y: str, shrink: float = 1.0) -> list[str]:
    """Every coin at columns ``x``, ``y``, most in doubt on top; returns findings drawn."""
    drawn = []
    for mark in MARKS:
        chosen = coins[(coins["finding"] == mark.finding).to_numpy()]
        if chosen.empty:
            continue
        drawn.append(mark.finding)
        axes.plot(
            chosen[x].to_numpy(dtype=float), chosen[y].to_numpy(dtype=float),
            linestyle="none", marker=mark.shape, markersize=mark.size * shrink,
            markeredgecolor=mark.edge, markerfacecolor=mark.fill, markeredgewidth=0.7,
            clip_on=False, label=mark.finding,
        )  # fmt: skip
    return drawn


def add_key(axes: Axes, place: tuple[float, float] | None = None) -> None:
    """The key of the marks and lines that carry a label, most in doubt first."""
    handles, labels = axes.get_legend_handles_labels()
    if handles:
        axes.legend(
            handles[::-1], labels[::-1], loc=place or "best", handletextpad=0.4, labelspacing=0.3
        )
