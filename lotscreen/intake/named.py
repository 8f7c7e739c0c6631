"""What the rows of a table are called: type, date, lot, roll, number, filled down."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from lotscreen.intake.filling import Filled, filled_down, under_sections
from lotscreen.intake.grid import Column, constant_column, plain_words, text_levels
from lotscreen.intake.layout import Layout
from lotscreen.intake.noted import Noted, block_doubt, cell_doubt
from lotscreen.intake.options import Answers
from lotscreen.intake.rows import RowSenses, whole_numbers
from lotscreen.intake.table import Table
from lotscreen.intake.vocabulary import is_ditto, is_missing, starts_with
from lotscreen.records import Bools, Floats, ItemKind
from lotscreen.words import say

_MOST_RUNS_NAMED = 3
_MOST_TWICE_NAMED = 20
_MOSTLY = 0.5
_DITTO = '"'


@dataclass(frozen=True, slots=True)
class Named:
    """The columns that name things, one entry a row of the table, filled down. ``reworded``
    marks rows whose type cell is not taken as written: overruled by the user, or a
    reference piece's."""

    type_written: Column
    type_text: Column
    date_text: Column
    lot_written: Column
    lot: Column
    group: Column
    number: Column
    position: Floats
    numbers_are_places: bool
    reworded: Bools
    noted: tuple[Noted, ...]
    of_use: frozenset[int]


def named_columns(table: Table, layout: Layout, senses: RowSenses, answers: Answers) -> Named:
    """Fill down, put under sections, overrule: everything that names the rows."""
    items = senses.is_item
    size = len(items)
    blank = constant_column("", "", size)
    noted: list[Noted] = []
    of_use: set[int] = set()

    def settled(column: Column, role: str, within: Column | None = None) -> Column:
        sections = tuple(s for s in senses.sections if s.role == role)
        column, used = under_sections(column, sections, items)
        of_use.update(used)
        usable = items.copy()
        usable[[s.row for s in sections if column.text(s.row) == s.text]] = True
        if role == "group":
            usable = usable | (senses.reason == "note")
        may_be_blank = role != "date" and not sections
        filled = filled_down(column, usable, may_be_blank, table.merged_rows(column), within)
        noted.extend(_filling_doubts(filled, table, items, within is not None))
        return filled.column

    type_column, of_reference = _types_as_said(layout, senses, blank)
    type_written = settled(type_column, "type").changed(tidy)
    lot_written = settled(layout.single.get("lot", blank), "lot").changed(as_name)
    # one consignor's roll is no other's
    groups = [settled(column, "group", lot_written) for column in layout.groups or [blank]]
    group = _joined([column.changed(as_name) for column in groups])
    type_text, overruled = _type_text(type_written, table, items, answers)
    has_lots = bool((items & lot_written.filled()).any())
    lot = lot_written if has_lots else constant_column("", answers.lot or "", size)
    number, position, are_places = _number_and_position(layout, group, lot, senses)
    if are_places:
        noted.extend(_twice_in_a_roll(layout.single["coin_id"], group, lot, position))
    return Named(
        type_written=type_written,
        type_text=type_text,
        date_text=settled(layout.single.get("date", blank), "date").changed(str.strip),
        lot_written=lot_written,
        lot=lot,
        group=group,
        number=number,
        position=position,
        numbers_are_places=are_places,
        reworded=overruled | of_reference,
        noted=tuple(noted),
        of_use=frozenset(of_use),
    )


def _types_as_said(layout: Layout, senses: RowSenses, blank: Column) -> tuple[Column, Bools]:
    """The type column, and the rows where it says "reference piece": behind these words
    stands the type, and where nothing stands there the type above is meant."""
    column = layout.single.get("type", blank)
    pattern = starts_with("reference")
    says = column.where_words(lambda text: pattern.match(plain_words(text)))
    says &= senses.kind == ItemKind.REFERENCE.value
    behind = [pattern.match(plain_words(str(text))) for text in column.texts[says]]
    types = [(match and match["rest"]) or _DITTO for match in behind]
    return column.with_text(says, types), np.asarray(says, dtype=np.bool_)


def tidy(text: str) -> str:
    """Single spaces; '' where the cell says that there is nothing."""
    return "" if is_missing(text) else " ".join(text.split())


def as_name(text: str) -> str:
    """As ``tidy``, but a word may be a name: coin "x" is a coin called x, "n/a" is none."""
    return " ".join(text.split()) if text.strip().isalpha() else tidy(text)


def _filling_doubts(
    filled: Filled, table: Table, items: Bools, in_one_lot: bool
) -> Iterable[Noted]:
    """One doubt a run of filled cells, told of its first item where the run lies ``in_one_lot``
    (a report on that lot tells it then); one for all with the same text where many."""
    column = filled.column
    for first, last, origin in filled.merged_runs:
        rows = _rows_in_words(table.first_row + origin, table.first_row + last)
        yield block_doubt("merged", first, column.header, "", rows=rows, text=column.text(origin))
    for key, runs in (("ditto", filled.runs), ("blank_filled", filled.blank_runs)):
        by_text: dict[str, list[tuple[int, int, int]]] = {}
        for run in runs:
            if items[run[0] : run[1] + 1].any():
                by_text.setdefault(column.text(run[0]), []).append(run)
        for text, alike in by_text.items():
            many = len(alike) > _MOST_RUNS_NAMED
            for first, last, origin in alike[:1] if many else alike:
                doubt = block_doubt(
                    f"{key}_often" if many else key,
                    first,
                    column.header,
                    "",
                    rows=_rows_in_words(table.first_row + first, table.first_row + last),
                    text=text,
                    origin=table.first_row + origin,
                    places=len(alike),
                    cells=sum(end - start + 1 for start, end, _ in alike),
                    end=table.first_row + alike[-1][1],
                )
                yield replace(doubt, of_item=in_one_lot and not many)
    for row in np.flatnonzero(filled.hanging & items):
        yield cell_doubt("ditto_hanging", int(row), column.header, str(column.texts[row]))


def _rows_in_words(first: int, last: int) -> str:
    key = "one" if first == last else "several"
    return say(f"intake.rows.{key}", first=first, last=last)


def _joined(columns: list[Column]) -> Column:
    """Several columns of groups (bag, roll) as one text, ' / ' between."""
    if len(columns) == 1:
        return columns[0]
    texts = [" / ".join(filter(None, row)) for row in zip(*(c.texts for c in columns), strict=True)]
    codes, levels = pd.factorize(text_levels(texts))
    return Column("", tuple(levels), text_levels(list(levels)), codes.astype(np.int64))


def _number_and_position(
    layout: Layout, group: Column, lot: Column, senses: RowSenses
) -> tuple[Column, Floats, bool]:
    """The coin's number as written, and its place in the roll; whether the numbers were
    taken for places.

    The place is what is written, for that finds the coin. It is counted where the numbers
    run on from roll to roll, and in rolls of which no coin has a number. Numbers that begin
    again in every roll are places, not the coins' numbers.
    """
    coins = senses.kind == ItemKind.COIN.value
    number = layout.single.get("coin_id", constant_column("", "", len(coins)))
    number = number.changed(_verbatim)
    grouped = coins & group.filled()
    if "position" in layout.single:
        return number, whole_numbers(layout.single["position"].number(_as_number)), False
    position = np.where(grouped, whole_numbers(number.number(_as_number)), np.nan)
    written = np.isfinite(position)
    numbers = pd.DataFrame({
        "number": position[written], "group": group.codes[written], "lot": lot.codes[written],
    })  # fmt: skip
    run_on = _run_on(numbers)
    if not run_on and numbers.drop_duplicates().duplicated(["number", "lot"]).any():
        return number.with_text(written, [""] * int(written.sum())), position, True
    as_written = np.unique(group.codes[grouped & number.filled()])
    counted = grouped & (run_on | ~np.isin(group.codes, as_written))
    rows = np.flatnonzero(counted)
    if len(rows):
        position[rows] = pd.Series(rows).groupby(group.codes[rows]).cumcount().to_numpy() + 1.0
    return number, position, False


def _verbatim(text: str) -> str:
    """The number as written, '' where the cell says that there is none."""
    if not text[:1].isdigit() and (is_ditto(text) or not as_name(text)):
        return ""
    return text.strip()


def _run_on(numbers: pd.DataFrame) -> bool:
    """Whether the numbers of a lot's coins go on by one where a roll ends and the next begins,
    mostly: a slip among them changes nothing."""
    after = numbers.shift(-1)
    next_roll = (after["lot"] == numbers["lot"]) & (after["group"] != numbers["group"])
    goes_on = (after["number"] == numbers["number"] + 1)[next_roll]
    return bool(len(goes_on) and goes_on.mean() >= _MOSTLY)


def _twice_in_a_roll(number: Column, group: Column, lot: Column, places: Floats) -> list[Noted]:
    """One doubt a place that stands in an earlier row of the same roll; one for all where
    they are many."""
    rows = np.flatnonzero(np.isfinite(places))
    keys = {"lot": lot.codes[rows], "group": group.codes[rows], "place": places[rows]}
    again = rows[pd.DataFrame(keys).duplicated().to_numpy()].tolist()
    if len(again) > _MOST_TWICE_NAMED:
        raw = number.text(again[0])
        return [block_doubt("places_twice", again[0], number.header, raw, count=len(again))]
    return [cell_doubt("place_twice", row, number.header, number.text(row)) for row in again]


def _as_number(text: str) -> float:
    return float(text) if text.strip().isdecimal() else float("nan")


def _type_text(
    written: Column, table: Table, items: Bools, answers: Answers
) -> tuple[Column, Bools]:
    """The type a row: as written, else the default; rows that the user overruled."""
    without = items & ~written.filled()
    found = written.with_text(without, [answers.default_type] * int(without.sum()))
    overruled = np.zeros(len(items), dtype=bool)
    sheet_rows = np.arange(len(items)) + table.first_row
    for entry in answers.type_rows:
        if entry.sheet not in ("", table.sheet):
            continue
        mask = np.zeros(len(items), dtype=bool)
        for first, last in entry.ranges:
            mask |= (sheet_rows >= first) & (sheet_rows <= last) & items
        found = found.with_text(mask, [entry.type_text] * int(mask.sum()))
        overruled |= mask
    return found, overruled
