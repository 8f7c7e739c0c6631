"""The map of the lot as it lay: rolls as rows, positions along them, a mark a finding."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from lotscreen.report.blocks import Picture
from lotscreen.report.figures.marks import MARKS, draw_marks
from lotscreen.report.figures.style import FAINT, PAGE_WIDTH_MM, Paper, Sheet, label
from lotscreen.report.numerals import MISSING, whole
from lotscreen.report.view import MARKED, LotView
from lotscreen.words import phrase, say

ROW = 50
_TALLEST_MM = 205.0
_LABEL_MM = 14.0
_GAP_MM = 5.0
_KEY_MM = 8.0
_CELLS_MM = (1.15, 4.2)
_SMALLEST_TEXT = 4.2
_LONGEST_NAME = 14


@dataclass(frozen=True, slots=True)
class Plan:
    """How rows are laid out: ``panels`` beside each other, ``cell_mm`` from coin to coin."""

    rows: int
    panels: int
    cell_mm: float

    @property
    def rows_in_panel(self) -> int:
        """Rows of the fullest panel."""
        return math.ceil(self.rows / self.panels)


def lot_map(view: LotView) -> Picture | None:
    """Every coin in its place; of a lot too large for a page only the rows with a marked
    coin, and None where even these are too many."""
    if len(view.coins) < 2:
        return None
    rows, names = _rows(view)
    plan = plan_for(int(rows["row"].max()) + 1, int(rows["column"].max()) + 1)
    whole_lot = plan is not None
    if plan is None:
        rows, names = _with_marks(rows, names)
        if rows.empty:
            return None
        plan = plan_for(len(names), int(rows["column"].max()) + 1)
    if plan is None:
        return None
    sheet = Sheet(PAGE_WIDTH_MM, _KEY_MM + plan.rows_in_panel * plan.cell_mm + 2)
    _place(rows, plan, sheet.height_mm)
    _draw_rows(sheet.paper, rows, names, plan.cell_mm)
    draw_marks(sheet.paper, rows, "x", "y", shrink=min(1.0, plan.cell_mm / 2.4))
    _draw_key(sheet.paper, rows, sheet.height_mm)
    caption = phrase("report.map.by_groups" if view.has_groups else "report.map.by_rows")
    if not whole_lot:
        caption += " " + phrase("report.map.marked_only")
    return sheet.picture(_alt(view, len(names)), caption)


def plan_for(rows: int, longest: int) -> Plan | None:
    """The fewest panels that keep the map on one page, the cells as large as they may be;
    None where the cells would be too small to be told apart."""
    best: Plan | None = None
    for panels in range(1, 13):
        width = (PAGE_WIDTH_MM - (panels - 1) * _GAP_MM) / panels - _LABEL_MM
        cell = min(_CELLS_MM[1], width / longest, _TALLEST_MM / math.ceil(rows / panels))
        if cell >= _CELLS_MM[0] and (best is None or cell > 1.1 * best.cell_mm):
            best = Plan(rows, panels, cell)
    return best


def _place(rows: pd.DataFrame, plan: Plan, height: float) -> None:
    """Write the place of every coin on paper, in mm, into columns ``x`` and ``y``."""
    pitch = (PAGE_WIDTH_MM + _GAP_MM) / plan.panels
    panel, line = np.divmod(rows["row"].to_numpy(), plan.rows_in_panel)
    rows["x"] = panel * pitch + _LABEL_MM + (rows["column"] + 0.5) * plan.cell_mm
    rows["y"] = height - _KEY_MM - (line + 0.5) * plan.cell_mm


def _rows(view: LotView) -> tuple[pd.DataFrame, list[str]]:
    """Coins with the row and column they are drawn in, and the rows' names. No row is
    longer than ``ROW``: a longer roll goes on in the next row, without a name."""
    coins = view.coins[["finding", "group", "position", "order"]].copy()
    groups = {group: i for i, group in enumerate(dict.fromkeys(coins["group"]))}
    group = coins["group"].map(groups).to_numpy(dtype=np.int64)
    in_sheet = coins.groupby("group", sort=False).cumcount()
    position = pd.to_numeric(coins["position"]).astype("float64") - 1
    line, coins["column"] = np.divmod(_places(coins["group"], position, in_sheet).to_numpy(), ROW)
    lines = np.zeros(len(groups), dtype=np.int64)
    np.maximum.at(lines, group, line + 1)
    coins["row"] = np.concatenate([[0], np.cumsum(lines)[:-1]])[group] + line
    if not view.has_groups:
        return coins, [whole(n * ROW + 1) for n in range(int(lines[0]))]
    names: list[str] = []
    for name, number in zip(groups, lines, strict=True):
        label_of_first = view.group_label(name) if name else phrase("report.place.no_group")
        names += [label_of_first, *[""] * (int(number) - 1)]
    return coins, names


def _with_marks(rows: pd.DataFrame, names: list[str]) -> tuple[pd.DataFrame, list[str]]:
    """Only the rows that hold a marked coin, closed up."""
    kept = sorted(set(rows.loc[rows["finding"].isin(MARKED), "row"]))
    closed = {row: i for i, row in enumerate(kept)}
    rows = rows[rows["row"].isin(kept)].copy()
    rows["row"] = rows["row"].map(closed)
    return rows, [names[row] for row in kept]


def _places(group: pd.Series, position: pd.Series, in_sheet: pd.Series) -> pd.Series:
    """Position in the roll; order in the sheet where positions are missing or repeated."""
    twice = pd.DataFrame({"group": group, "position": position}).duplicated(keep=False)
    far = position > 4 * (in_sheet.max() + 1)
    unusable = (position.isna() | (position < 0) | twice | far).groupby(group).transform("any")
    return position.where(~unusable, in_sheet).astype("int64")


def _draw_rows(paper: Paper, rows: pd.DataFrame, names: list[str], cell: float) -> None:
    ends = rows.groupby("row").agg(first=("x", "min"), last=("x", "max"), y=("y", "first"))
    gap = np.full(len(ends), np.nan)
    across = np.column_stack([ends["first"] - cell / 2, ends["last"] + cell / 2, gap])
    paper.plot(
        across.ravel(), np.repeat(ends["y"].to_numpy(), 3), color=FAINT, linewidth=0.4, zorder=0
    )
    size = max(min(7.0, 2.6 * cell), _SMALLEST_TEXT)
    every = math.ceil(_SMALLEST_TEXT / (2.6 * cell))
    for row, column, x, y in rows.drop_duplicates("row")[["row", "column", "x", "y"]].itertuples(
        index=False
    ):
        if row % every == 0 and names[row]:
            left = x - (column + 0.5) * cell - 0.8
            text = label(names[row])[:_LONGEST_NAME]
            paper.text(left, y, text, ha="right", va="center_baseline", fontsize=size)


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


def _alt(view: LotView, rows: int) -> str:
    marked = view.found(MARKED)
    places = view.places(view.in_sheet_places(marked))
    return say(
        "report.alt.map",
        n=whole(len(view.coins)),
        rows=whole(rows),
        marked=whole(len(marked)),
        places="; ".join(places[:40]) or MISSING,
    )
