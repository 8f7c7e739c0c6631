"""One mark a finding: told apart by shape, so that it survives a grey printer."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from lotscreen.records import FindingKind
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.style import ACCENT, GREY, INK, PALE, Paper

MOST_VECTOR_MARKS = 5_000


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


def draw_marks(
    place: Area | Paper, coins: pd.DataFrame, x: str, y: str, shrink: float = 1.0
) -> None:
    """Every coin at columns ``x``, ``y``, most in doubt on top."""
    for mark in MARKS:
        chosen = coins[(coins["finding"] == mark.finding).to_numpy()]
        if chosen.empty:
            continue
        place.plot(
            chosen[x].to_numpy(dtype=float), chosen[y].to_numpy(dtype=float),
            linestyle="none", marker=mark.shape, markersize=mark.size * shrink,
            markeredgecolor=mark.edge, markerfacecolor=mark.fill, markeredgewidth=0.7,
            zorder=2.0 if mark.finding == FindingKind.CONSISTENT.value else 4.0,
            rasterized=len(chosen) > MOST_VECTOR_MARKS,
        )  # fmt: skip
