"""The map of the lot as it lay: rolls as rows, positions along them, a mark a finding."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from lotscreen.report.blocks import Picture
from lotscreen.report.figures.marks import MARKS, draw_marks
from lotscreen.report.figures.style import FAINT, PAGE_WIDTH_MM, Paper, Sheet, label
from lotscreen.report.numerals import whole
from lotscreen.report.view import MARKED, LotView
from lotscreen.words import phrase, say

ROW_WITHOUT_GROUPS = 50
MOST_COINS = 10_000
_TALLEST_MM = 205.0
_LABEL_MM = 14.0
_GAP_MM = 5.0
_KEY_MM = 8.0
_CELLS_MM = (1.3, 4.2)


@dataclass(frozen=True, slots=True)
class Plan:
    """How rows are laid out: ``panels`` beside each other, ``cell_mm`` from coin to coin."""

    rows: int
    longest: int
    panels: int
    cell_mm: float

    @property
    def rows_in_panel(self) -> int:
        """Rows of the fullest panel."""
        return math.ceil(self.rows / self.panels)


def lot_map(view: LotView) -> Picture | None:
    """Every coin in its place; None for a lot too small or too large for a map."""
    if not 2 <= len(view.coins) <= MOST_COINS:
        return None
    rows, names = _rows(view)
    plan = plan_for(int(rows["row"].max()) + 1, int(rows["column"].max()) + 1)
    pitch = (PAGE_WIDTH_MM + _GAP_MM) / plan.panels
    panel, line = np.divmod(rows["row"].to_numpy(), plan.rows_in_panel)
    height = _KEY_MM + plan.rows_in_panel * plan.cell_mm + 2
    rows["x"] = panel * pitch + _LABEL_MM + (rows["column"] + 0.5) * plan.cell_mm
    rows["y"] = height - _KEY_MM - (line + 0.5) * plan.cell_mm
    sheet = Sheet(PAGE_WIDTH_MM, height)
    paper = sheet.paper
    _draw_rows(paper, rows, names, plan.cell_mm)
    draw_marks(paper, rows, "x", "y", shrink=min(1.0, plan.cell_mm / 2.4))
    _draw_key(paper, rows, height)
    caption = phrase("report.figure.map_caption" if names else "report.figure.map_rows_caption")
    return sheet.picture(_alt(view, names), caption)


def plan_for(rows: int, longest: int) -> Plan:
    """The fewest panels that keep the map on one page; the cells as large as they may be."""
    for panels in range(1, 13):
        width = (PAGE_WIDTH_MM - (panels - 1) * _GAP_MM) / panels - _LABEL_MM
        tall = _TALLEST_MM / math.ceil(rows / panels)
        cell = min(_CELLS_MM[1], width / longest, tall)
        if cell >= _CELLS_MM[0] and tall >= min(2.4, width / longest):
            return Plan(rows, longest, panels, cell)
    return Plan(rows, longest, 1, min(PAGE_WIDTH_MM / (longest + 1), _TALLEST_MM / rows))


def _rows(view: LotView) -> tuple[pd.DataFrame, list[str]]:
    """Coins with the row and column they are drawn in, and the rows' names."""
    coins = view.coins[["finding", "group", "position", "order"]].copy()
    has_groups = bool((coins["group"] != "").any())
    if not has_groups:
        place = np.arange(len(coins))
        coins["row"], coins["column"] = np.divmod(place, ROW_WITHOUT_GROUPS)
        return coins, []
    groups = list(dict.fromkeys(coins["group"]))
    coins["row"] = coins["group"].map({group: i for i, group in enumerate(groups)})
    in_sheet = coins.groupby("group", sort=False).cumcount()
    position = pd.to_numeric(coins["position"]).astype("float64") - 1
    coins["column"] = _columns(coins["row"], position, in_sheet)
    return coins, [view.group_label(g) if g else phrase("report.place.no_group") for g in groups]


def _columns(row: pd.Series, position: pd.Series, in_sheet: pd.Series) -> pd.Series:
    """Position in the roll; order in the sheet where positions are missing or repeated."""
    twice = pd.DataFrame({"row": row, "position": position}).duplicated(keep=False)
    far = position > 4 * (in_sheet.max() + 1)
    unusable = (position.isna() | (position < 0) | twice | far).groupby(row).transform("any")
    return position.where(~unusable, in_sheet).astype("int64")


def _draw_rows(paper: Paper, rows: pd.DataFrame, names: list[str], cell: float) -> None:
    ends = rows.groupby("row").agg(first=("x", "min"), last=("x", "max"), y=("y", "first"))
    gap = np.full(len(ends), np.nan)
    across = np.column_stack([ends["first"] - cell / 2, ends["last"] + cell / 2, gap])
    paper.plot(
        across.ravel(), np.repeat(ends["y"].to_numpy(), 3), color=FAINT, linewidth=0.4, zorder=0
    )
    size = min(7.0, 2.6 * cell)
    every = max(1, math.ceil(4.2 / size))
    for number, (row, end) in enumerate(ends.iterrows()):
        if number % every:
            continue
        name = names[int(str(row))] if names else whole(int(str(row)) * ROW_WITHOUT_GROUPS + 1)
        paper.text(
            end["first"] - cell, end["y"], label(name)[:12], ha="right", va="center",
            fontsize=max(size, 4.2),
        )  # fmt: skip


def _draw_key(paper: Paper, rows: pd.DataFrame, height: float) -> None:
    counts = rows["finding"].value_counts()
    x = _LABEL_MM
    for mark in reversed(MARKS):
        if mark.finding not in counts:
            continue
        paper.plot(
            [x], [height - 3], linestyle="none", marker=mark.shape, markersize=mark.size,
            markeredgecolor=mark.edge, markerfacecolor=mark.fill, markeredgewidth=0.7,
        )  # fmt: skip
        text = f"{mark.finding}: {whole(int(counts[mark.finding]))}"
        paper.text(x + 2, height - 3, text, va="center", fontsize=8)
        x += 8 + 1.55 * len(text)


def _alt(view: LotView, names: list[str]) -> str:
    marked = view.found(MARKED)
    places = view.places(view.in_sheet_places(marked))
    return say(
        "report.alt.map",
        n=whole(len(view.coins)),
        rows=whole(len(names)) if names else phrase("report.alt.map_rows"),
        marked=whole(len(marked)),
        places="; ".join(places[:40]) or "–",
    )
