"""What the pages look at: one screening, and one lot of it with its coins as columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from lotscreen.display import TypeDisplay
from lotscreen.lot.statement import GroupStatement, LotStatement
from lotscreen.records import FindingKind, ItemKind
from lotscreen.report.cut import cut_to_lot
from lotscreen.report.numerals import MISSING, decimals_of_step
from lotscreen.sequential.running import RunningChart
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.screening import Screening

MARKED = (
    FindingKind.NOT_CONSISTENT.value,
    FindingKind.SET_ASIDE.value,
    FindingKind.RE_MEASURE.value,
)
DEPARTING = MARKED[:2]
ORDER_OF_FINDINGS = (
    FindingKind.NOT_CONSISTENT.value,
    FindingKind.SET_ASIDE.value,
    FindingKind.RE_MEASURE.value,
    FindingKind.NOT_JUDGED.value,
    FindingKind.CONSISTENT.value,
)
SMALL_LOT = 12
_META = (
    "coin_id", "group", "position", "date_text", "mint_mark", "type_text",
    "source_file", "source_sheet", "source_row",
)  # fmt: skip
_TABLE = (
    "item_id", "lot", "type_key", "type_note", "year", "order", "weight_g", "weight_step_g",
    "diameter_mm", "diameter_min_mm", "diameter_max_mm", "thickness_mm",
)  # fmt: skip
_FINDINGS = (
    "finding", "expected_weight_g", "expected_low_g", "expected_high_g", "z_weight",
    "z_diameter", "z_thickness", "score", "p_value", "log10_lr", "prob_not_honest",
    "other_type", "reason", "explanations", "next_test",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class LotView:
    """One lot as the pages see it.

    ``coins`` has one row a coin in the order of the sheet: what was read, what was
    expected and what was found. ``group_word`` is the sheet's own word for a roll or tray.
    ``title`` names the lot in headings, ``decimals`` shows the balance's step.
    """

    lot: str
    title: str
    statement: LotStatement
    displays: tuple[TypeDisplay, ...]
    running: RunningChart | None
    coins: pd.DataFrame
    group_word: str
    decimals: int
    screening: Screening
    type_names: Mapping[str, str]

    @property
    def small(self) -> bool:
        """Whether the lot is taken in at a glance, and needs no page for each of its parts."""
        return len(self.coins) <= SMALL_LOT

    @property
    def has_groups(self) -> bool:
        """Whether the sheet says in which roll, tray or bag its coins lie."""
        return bool((self.coins["group"] != "").any())

    def ids_shown(self, item_ids: Sequence[str]) -> list[str]:
        """The sheet's own numbers of ``item_ids``, in their order."""
        known = dict(zip(self.coins["item_id"], self.coins["coin_id"], strict=True))
        return [str(known[item]) for item in item_ids if item in known]

    def found(self, kinds: Sequence[str]) -> pd.DataFrame:
        """The coins with one of the findings ``kinds``, most in doubt first."""
        finding = self.coins["finding"].to_numpy(dtype=object)
        rank = np.full(len(finding), len(kinds))
        for number, kind in enumerate(kinds):
            rank[finding == kind] = number
        score = self.coins["score"].to_numpy(dtype=float)
        order = np.lexsort((-np.where(np.isnan(score), -np.inf, score), rank))
        return self.coins.iloc[order[: int((rank < len(kinds)).sum())]]

    def in_sheet_places(self, coins: pd.DataFrame) -> pd.DataFrame:
        """``coins`` sorted as they lie: by group in the order of the sheet, then position."""
        first = {group: i for i, group in enumerate(dict.fromkeys(self.coins["group"]))}
        group = np.array([first[group] for group in coins["group"]], dtype=np.int64)
        position = pd.to_numeric(coins["position"]).to_numpy(dtype=float, na_value=np.nan)
        order = np.lexsort((coins["order"].to_numpy(), position, group))
        return coins.iloc[order]

    def place(self, coin: pd.Series) -> str:
        """Where a coin lies, in words: 'Roll 7, no. 12', else its row of the sheet."""
        if not str(coin["group"]):
            return say("report.place.row", row=coin["source_row"])
        label = self.group_label(str(coin["group"]))
        return say("report.place.position", group=label, position=_mark(coin))

    def places(self, coins: pd.DataFrame) -> list[str]:
        """Where ``coins`` lie, one entry a group: 'Roll 7, no. 3, 12'."""
        found: dict[str, list[str]] = {}
        for _, coin in coins.iterrows():
            if not str(coin["group"]):
                found[self.place(coin)] = []
            else:
                found.setdefault(self.group_label(str(coin["group"])), []).append(_mark(coin))
        return [
            say("report.place.positions", group=group, positions=", ".join(numbers))
            if numbers
            else group
            for group, numbers in found.items()
        ]

    def weighed_together(self, group: GroupStatement) -> str:
        """The name of a group or bag: the roll it is, where the sheet says so."""
        items = self.screening.intake.items
        named = items.loc[items["item_id"] == group.item_id, "group"]
        roll = str(named.iloc[0]) if len(named) else ""
        return self.group_label(roll) if roll else group.coin_id

    def group_label(self, group: str) -> str:
        """'Roll 7': the sheet's word before a bare number, the cell itself otherwise."""
        return f"{self.group_word} {group}" if group[:1].isdigit() else group

    def type_name(self, type_key: str) -> str:
        """The printed name of a standard; the key itself where it is not on file."""
        return self.type_names.get(type_key, type_key or MISSING)


@dataclass(frozen=True, slots=True)
class ReportView:
    """The whole report: the lots it covers, most in doubt first, and the screening."""

    screening: Screening
    lots: tuple[LotView, ...]
    version: str


def report_view(screening: Screening, lot: str | None, version: str) -> ReportView:
    """The view of all lots, or of ``lot`` alone; InputError names a lot that is not there."""
    if lot is not None:
        screening = cut_to_lot(screening, lot)
    frame = coin_frame(screening)
    views = [_lot_view(screening, name, frame) for name in screening.lots]
    views.sort(key=_least_in_doubt)
    return ReportView(screening, tuple(views), version)


def _mark(coin: pd.Series) -> str:
    """A coin's place in its group as written or counted, else what it is called."""
    position = coin["position"]
    return str(coin["coin_id"]) if pd.isna(position) else str(int(position))


def _least_in_doubt(view: LotView) -> tuple[float, ...]:
    counts = view.statement.counts
    return tuple(-counts.get(kind, 0) for kind in MARKED)


def coin_frame(screening: Screening) -> pd.DataFrame:
    """Coins only, in the order of the sheet: sheet's columns, readings and findings."""
    items, table, findings = screening.intake.items, screening.table, screening.findings
    columns = {name: items[name].to_numpy() for name in _META}
    columns |= {name: getattr(table, name) for name in _TABLE}
    columns |= {name: getattr(findings, name) for name in _FINDINGS}
    frame = pd.DataFrame({name: _as_found(values) for name, values in columns.items()})
    is_coin = np.asarray(table.kind == ItemKind.COIN.value)
    return frame[is_coin].sort_values("order", kind="stable").reset_index(drop=True)


def _as_found(values: Any) -> pd.Series:
    """Texts stay plain objects, which are cut and sorted much faster than pandas' strings."""
    array = np.asarray(values)
    return pd.Series(array, dtype=object if array.dtype.kind in "OUT" else array.dtype)


def _lot_view(screening: Screening, name: str, frame: pd.DataFrame) -> LotView:
    coins = frame[frame["lot"] == name].reset_index(drop=True)
    step = coins["weight_step_g"].min() if len(coins) else float("nan")
    displays = tuple(screening.displays.get(name, ()))
    statement = screening.lots[name]
    names = {display.type_key: display.type_name for display in displays}
    names |= {of_type.type_key: of_type.type_name for of_type in statement.types}
    names |= {other.other_key: other.other_name for other in statement.other_types}
    return LotView(
        lot=name,
        title=_title(screening, name),
        statement=statement,
        displays=displays,
        running=screening.running.get(name),
        coins=coins,
        group_word=_group_word(screening),
        decimals=decimals_of_step(step),
        screening=screening,
        type_names=names,
    )


def _title(screening: Screening, name: str) -> str:
    if name:
        return say("report.lot.named", lot=name)
    files = ", ".join(source.name for source in screening.intake.sources)
    return say("report.lot.unnamed", files=files)


def _group_word(screening: Screening) -> str:
    for table in screening.intake.tables:
        for column in table.columns:
            if column.role == "group" and column.header.strip():
                return column.header.strip()
    return say("report.place.group")
