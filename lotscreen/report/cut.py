"""Cutting a result to one lot, so that its outputs hold nothing of another consignor's.

The cut is itself a :class:`Screening`: whatever is made of it is cut as well. The fit is
kept whole, because every finding was made with it, and the report says so; no output prints
another lot's figures from it.
"""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from lotscreen.records import (
    Bools,
    Doubt,
    Findings,
    InputError,
    Intake,
    ItemKind,
    ItemTable,
    TableUnderstood,
)
from lotscreen.sensitivity import Sensitivity
from lotscreen.words import say

if TYPE_CHECKING:
    import pandas as pd

    from lotscreen.screening import Screening


def cut_to_lot(screening: Screening, lot: str) -> Screening:
    """``screening`` with the rows of ``lot`` alone; InputError names the lots there are.

    A row left out, a title above a table or a doubt about no single item belongs to no lot
    by itself: it is kept where its sheet holds no other lot, and dropped otherwise.
    """
    if set(screening.lots) == {""}:
        raise InputError(say("cli.no_lots", lot=repr(lot)))
    if lot not in screening.lots:
        names = ", ".join(repr(name) for name in screening.lots)
        raise InputError(say("cli.no_such_lot", lot=repr(lot), lots=names))
    if len(screening.lots) == 1:
        return screening
    rows = np.asarray(screening.table.lot == lot, dtype=np.bool_)
    intake = _intake_of(screening.intake, lot)
    own_items = set(screening.table.item_id[rows])
    statement = replace(
        screening.lots[lot],
        rows_read=intake.rows_read,
        left_out=len(intake.left_out),
        doubts=len(intake.doubts),
    )
    return replace(
        screening,
        intake=intake,
        table=screening.table.rows(rows),
        findings=_findings_at(screening.findings, rows),
        lots={lot: statement},
        displays={lot: screening.displays[lot]} if lot in screening.displays else {},
        running={lot: screening.running[lot]} if lot in screening.running else {},
        fitted_with_others=_shares_a_fit(screening, rows),
        look_alikes=(),
        sensitivity=_moves_of(screening.sensitivity, screening.table.rows(rows)),
        densities={item: told for item, told in screening.densities.items() if item in own_items},
    )


def _shares_a_fit(screening: Screening, rows: Bools) -> bool:
    """Whether coins or reference pieces outside ``rows`` entered the fit of a type within."""
    table = screening.table
    of_fit = np.isin(table.kind, [ItemKind.COIN, ItemKind.REFERENCE]) & (table.type_key != "")
    own = set(table.type_key[rows & of_fit])
    return bool(np.isin(table.type_key[~rows & of_fit].astype(str), sorted(own)).any())


def _moves_of(told: Sensitivity, table: ItemTable) -> Sensitivity:
    items, types = set(table.item_id), set(table.type_key)
    return replace(
        told,
        moves={item: moves for item, moves in told.moves.items() if item in items},
        types=tuple(of_type for of_type in told.types if of_type.type_key in types),
    )


def _findings_at(findings: Findings, rows: Bools) -> Findings:
    columns: dict[str, Any] = {f.name: getattr(findings, f.name) for f in fields(findings)}
    for name, value in columns.items():
        if isinstance(value, np.ndarray):
            columns[name] = value[rows]
    return Findings(**columns)


def _intake_of(intake: Intake, lot: str) -> Intake:
    items = intake.items[intake.items["lot"] == lot].reset_index(drop=True)
    ids = set(items["item_id"])
    own = _places(items) - _places(intake.items[intake.items["lot"] != lot])
    left_out = intake.left_out[_in_places(intake.left_out, own)].reset_index(drop=True)
    present = _places(items)
    sources = tuple(
        replace(
            source,
            sheets=tuple(s for s in source.sheets if (source.name, s) in present),
            rows=int((items["source_file"] == source.name).sum())
            + int((left_out["source_file"] == source.name).sum()),
        )
        for source in intake.sources
        if any(name == source.name for name, _ in present)
    )
    return replace(
        intake,
        items=items,
        readings=intake.readings[intake.readings["item_id"].isin(ids)].reset_index(drop=True),
        left_out=left_out,
        doubts=tuple(d for d in intake.doubts if _doubt_is_own(d, ids, own)),
        tables=tuple(
            t if (t.source_file, t.sheet) in own else _shared_table(t, items)
            for t in intake.tables
            if (t.source_file, t.sheet) in present
        ),
        sources=sources,
        rows_read=len(items) + len(left_out),
        corrections=_of_items(intake.corrections, ids),
        dispositions={item: said for item, said in intake.dispositions.items() if item in ids},
    )


def _of_items(rows: pd.DataFrame, ids: set[str]) -> pd.DataFrame:
    return rows[rows["item_id"].isin(ids)].reset_index(drop=True) if len(rows) else rows


def _shared_table(understood: TableUnderstood, items: pd.DataFrame) -> TableUnderstood:
    """A table that holds other lots too: no title, no notes, only the rows of ``items``."""
    here = (items["source_file"] == understood.source_file) & (
        items["source_sheet"] == understood.sheet
    )
    rows = items.loc[here, "source_row"]
    return replace(
        understood, title="", notes=(), first_row=int(rows.min()), last_row=int(rows.max())
    )


def _places(rows: pd.DataFrame) -> set[tuple[str, str]]:
    return set(zip(rows["source_file"], rows["source_sheet"], strict=True))


def _in_places(left_out: pd.DataFrame, own: set[tuple[str, str]]) -> Bools:
    places = zip(left_out["source_file"], left_out["sheet"], strict=True)
    return np.array([place in own for place in places], dtype=np.bool_)


def _doubt_is_own(doubt: Doubt, ids: set[str], own: set[tuple[str, str]]) -> bool:
    if doubt.item_id:
        return doubt.item_id in ids
    # a doubt about a block of rows may quote cells of any lot in it
    return (doubt.source_file, doubt.sheet) in own
