"""An invented screening with everything that tables must cope with, built by hand.

Two lots in one sheet and one lot with a sheet of its own; a roll, a check weight, cells
that start like formulas, a column that was not understood, readings, doubts, rows left out.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
from report_lot import FILE, invented

from lotscreen.intake.corrections import CORRECTION_COLUMNS
from lotscreen.records import LEFT_OUT_COLUMNS, READING_COLUMNS, Doubt, Intake
from lotscreen.screening import Screening

COINS_A_LOT = 40
ROLL_ROW, CHECK_ROW, FORMULA_ROW = 3, 4, 5
OWN_SHEET = "third parcel"
SECRET = "Zechstein"  # stands in cells of lot K-02 and of nothing else


def mixed() -> Screening:
    """Lots K-01 and K-02 in one sheet, K-03 in a sheet of its own."""
    made = invented(COINS_A_LOT, ("K-01", "K-02", "K-03"))
    items = _items(made.intake.items)
    kind = items["kind"].to_numpy(dtype=object)
    coin = kind == "coin"
    table = replace(
        made.table,
        kind=kind,
        count=items["count"].to_numpy(),
        type_text=items["type_text"].to_numpy(dtype=object),
    )
    findings = replace(
        made.findings,
        finding=np.where(coin, made.findings.finding, ""),
        reason=np.where(coin, made.findings.reason, ""),
        p_value=np.where(np.arange(len(items)) == FORMULA_ROW, 1e-30, made.findings.p_value),
    )
    lots = {
        name: replace(
            lot,
            coins=int((coin & (items["lot"] == name)).sum()),
            counts=_counts(findings.finding, (coin & (items["lot"] == name)).to_numpy()),
            group_statements=tuple(
                replace(group, item_id=items["item_id"][ROLL_ROW], lot=name)
                for group in lot.group_statements
                if name == "K-01"
            ),
        )
        for name, lot in made.lots.items()
    }
    return replace(
        made, intake=_intake(made.intake, items), table=table, findings=findings, lots=lots
    )


def _counts(finding: np.ndarray, rows: np.ndarray) -> dict[str, int]:
    kinds, numbers = np.unique(finding[rows].astype(str), return_counts=True)
    return dict(zip(kinds.tolist(), numbers.tolist(), strict=True))


def _items(items: pd.DataFrame) -> pd.DataFrame:
    items = items.copy()
    items.loc[ROLL_ROW, ["kind", "count", "coin_id"]] = ["group", 20, "roll 7"]
    items.loc[CHECK_ROW, ["kind", "coin_id"]] = ["check", "check weight"]
    items.loc[FORMULA_ROW, ["coin_id", "group", "type_text"]] = ["=1+1", "-A2", "+half"]
    items["source_sheet"] = np.where(items["lot"] == "K-03", OWN_SHEET, "coins")
    items["carried"] = [
        {"Remark": f"{SECRET} {row}" if lot == "K-02" else f"@note {row}"}
        for row, lot in enumerate(items["lot"])
    ]
    return items


def _intake(intake: Intake, items: pd.DataFrame) -> Intake:
    second = items.index[items["lot"] == "K-02"]
    third = items.index[items["lot"] == "K-03"]
    left_out = pd.DataFrame(
        [
            (FILE, "coins", 500, "a subtotal, not a coin", f"{SECRET} sum;250.00"),
            (FILE, OWN_SHEET, 501, "a heading, not a coin", "=HYPERLINK(1)"),
        ],
        columns=list(LEFT_OUT_COLUMNS),
    )
    doubts = (
        _doubt(items, FORMULA_ROW, "125.1"),
        _doubt(items, int(second[0]), f"{SECRET}?"),
        _doubt(items, int(third[0]), "12.6"),
        Doubt(FILE, "coins", int(items["source_row"][1]), "Denom", "", "ditto", "", "filled down"),
        Doubt(FILE, "coins", int(items["source_row"][second[1]]), "Denom", SECRET, "ditto", "", ""),
        Doubt(FILE, "coins", 0, "", SECRET, "title", "", "a title names no lot"),
    )
    understood = replace(intake.tables[0], title=f"{SECRET} and others")
    return replace(
        intake,
        items=items,
        readings=_readings(items),
        left_out=left_out,
        doubts=doubts,
        tables=(understood, replace(understood, sheet=OWN_SHEET, title="Third")),
        sources=(
            replace(
                intake.sources[0], sheets=("coins", OWN_SHEET), rows=len(items) + len(left_out)
            ),
        ),
        corrections=_corrections(items, FORMULA_ROW, int(second[0])),
        rows_read=len(items) + len(left_out),
    )


def _corrections(items: pd.DataFrame, first: int, second: int) -> pd.DataFrame:
    """A coin of K-01 measured anew, and one of K-02 whose cell is no other lot's business."""
    return pd.DataFrame(
        [
            (str(items["item_id"][row]), str(items["coin_id"][row]), "weight", old, 12.41, "P-07",
             outcome, "coins.xlsx", "coins", row + 2, raw)
            for row, old, outcome, raw in (
                (first, 125.1, "replaces", "12.41"), (second, float("nan"), "adds", SECRET)
            )
        ],
        columns=list(CORRECTION_COLUMNS),
    )  # fmt: skip


def _doubt(items: pd.DataFrame, row: int, raw: str) -> Doubt:
    return Doubt(
        FILE, str(items["source_sheet"][row]), int(items["source_row"][row]), "Wt(g)", raw,
        "decimal slip", "12.51", "ten times the weight of its lot-mates",
        item_id=str(items["item_id"][row]),
    )  # fmt: skip


def _readings(items: pd.DataFrame) -> pd.DataFrame:
    n = len(items)
    check = items["kind"] == "check"
    columns = {
        "item_id": items["item_id"], "quantity": "weight", "value": 12.34567891, "unit": "g",
        "raw": np.where(items["lot"] == "K-02", f"{SECRET} 12.3", "12.3"), "column": "Wt(g)",
        "step": 0.01, "instrument": "", "person": "P1", "order": np.arange(n), "time": "",
        "tare": np.nan, "repeat": 1, "low": -np.inf, "high": 12.5,
        "nominal": np.where(check, 20.0, np.nan), "status": "used", "why": "",
    }  # fmt: skip
    return pd.DataFrame(columns)[list(READING_COLUMNS)]
