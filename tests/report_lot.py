"""An invented screening built by hand: what the report draws, without the engine.

Every number is drawn from a seed and given its finding by a fixed rule; nothing here is a
statistic of the project.
"""

from __future__ import annotations

from dataclasses import fields
from typing import Any, cast

import numpy as np
import pandas as pd
from report_said import DIAMETER_MM, STANDARD_G, THICKNESS_MM, displays, running, statement

from lotscreen.records import (
    LEFT_OUT_COLUMNS,
    READING_COLUMNS,
    ColumnUnderstood,
    Doubt,
    Findings,
    Intake,
    ItemTable,
    SourceFile,
    TableUnderstood,
)
from lotscreen.screening import Screening
from lotscreen.settings import Settings
from lotscreen.standards import load_standards

FILE = "invented halves.csv"
ROLL = 20
MECHANISMS = ("honest", "base metal, same size", "thicker, same weight", "slip of the pen")


def coin_rows(
    coins: int, lot: str, seed: int, type_key: str = "us-half-1873", scale: float = 1.0
) -> pd.DataFrame:
    """Readings of one invented lot, and a finding by kind."""
    rng = np.random.default_rng(seed)
    year = rng.integers(1874, 1964, coins).astype(float)
    loss = rng.gamma(2.0, 0.004 + 0.00025 * (1964 - year))
    weight = STANDARD_G * (1 - loss) + rng.normal(0, 0.03, coins)
    thickness = THICKNESS_MM - 2.0 * loss + rng.normal(0, 0.03, coins)
    diameter = DIAMETER_MM - 0.6 * loss + rng.normal(0, 0.02, coins)
    finding = np.full(coins, "consistent", dtype=object)
    reason = np.full(coins, "its weight is what honest coins of this date weigh", dtype=object)
    for name, share, text in (
        ("not consistent", 0.008, "lighter than any honest wear at this size"),
        ("set aside", 0.012, "thicker than lot-mates at this weight"),
        ("re-measure", 0.015, "two neighbouring digits of the weight may be swapped"),
        ("not judged", 0.004, "no standard on file for this type"),
    ):
        chosen = rng.choice(coins, max(1, round(share * coins)), replace=False)
        finding[chosen], reason[chosen] = name, text
    weight[finding == "not consistent"] *= 0.85
    diameter[finding == "not consistent"] -= 0.35
    thickness[finding == "set aside"] += 0.25
    slips = np.flatnonzero(finding == "re-measure")
    weight[slips] = np.where(np.arange(len(slips)) % 2, weight[slips] * 0.9, weight[slips] * 10)
    measured = (np.arange(coins) % 8 == 0) | np.isin(finding, ["not consistent", "set aside"])
    marked = finding != "consistent"
    return pd.DataFrame(
        {
            "lot": lot, "type_key": np.where(finding == "not judged", "", type_key),
            "year": np.where(rng.random(coins) < 0.05, np.nan, year),
            "weight_g": np.round(weight * scale, 2),
            "diameter_mm": np.where(measured, np.round(diameter, 2), np.nan),
            "thickness_mm": np.where(measured, np.round(thickness, 2), np.nan),
            "finding": finding, "reason": reason,
            "expected_weight_g": STANDARD_G * (1 - 2 * (0.004 + 0.00025 * (1964 - year))) * scale,
            "score": np.where(marked, 6 + 10 * rng.random(coins), 3 * rng.random(coins)),
            "p_value": np.where(marked, 10.0 ** (-3 - 5 * rng.random(coins)), rng.random(coins)),
        }
    )  # fmt: skip


def invented(
    coins: int = 400, lots: tuple[str, ...] = ("",), types: tuple[str, ...] = ("us-half-1873",)
) -> Screening:
    """A screening of ``coins`` coins a lot, shared out over ``types``."""
    parts = []
    for number, lot in enumerate(lots):
        for place, key in enumerate(types):
            seed = 100 * number + place
            parts.append(coin_rows(coins // len(types), lot, seed, key, 1.0 - 0.1 * place))
    return screening_of(pd.concat(parts, ignore_index=True))


def screening_of(rows: pd.DataFrame) -> Screening:
    """The screening whose coins are ``rows`` (columns of :func:`coin_rows`)."""
    rows = rows.assign(number=rows.groupby("lot", sort=False).cumcount())
    items = _items(rows)
    lots = list(dict.fromkeys(rows["lot"]))
    return Screening(
        intake=_intake(items, len(rows)),
        table=_table(rows, items),
        fit=cast(Any, None),
        findings=_findings(rows, items),
        lots={lot: statement(lot, rows[rows["lot"] == lot], items) for lot in lots},
        displays={lot: displays(rows[rows["lot"] == lot]) for lot in lots},
        running={lot: running(rows[rows["lot"] == lot]) for lot in lots},
        settings=Settings(),
        standards=load_standards(),
        seed=1,
    )


def _items(rows: pd.DataFrame) -> pd.DataFrame:
    n = len(rows)
    year = rows["year"]
    return pd.DataFrame(
        {
            "item_id": [f"i{number:06d}" for number in range(n)],
            "kind": "coin", "count": 1, "coin_id": [str(number + 1) for number in range(n)],
            "lot": rows["lot"].to_numpy(), "type_text": "US half dollar",
            "date_text": ["" if pd.isna(y) else str(int(y)) for y in year],
            "year": year.to_numpy(), "mint_mark": "",
            "group": [str(1 + number // ROLL) for number in rows["number"]],
            "position": [1 + number % ROLL for number in rows["number"]],
            "order": np.arange(n), "source_file": FILE, "source_digest": "ab" * 32,
            "source_sheet": "coins", "source_row": np.arange(n) + 2,
            "carried": [{} for _ in range(n)],
        }
    )  # fmt: skip


def _intake(items: pd.DataFrame, rows: int) -> Intake:
    left_out = pd.DataFrame(
        [(FILE, "coins", rows + 2 + i, "a subtotal, not a coin", "sum;250.00") for i in range(30)],
        columns=list(LEFT_OUT_COLUMNS),
    )
    doubt = Doubt(
        FILE, "coins", 9, "Wt(g)", "125.1", "decimal slip", "12.51",
        "ten times the weight of its lot-mates", item_id="i000007",
    )  # fmt: skip
    columns = (
        ColumnUnderstood("Roll", "group", "", "header word"),
        ColumnUnderstood("Wt(g)", "weight", "g", "header word and unit"),
    )
    return Intake(
        items=items,
        readings=pd.DataFrame(columns=list(READING_COLUMNS)),
        left_out=left_out,
        doubts=(doubt,) * 25,
        tables=(TableUnderstood(FILE, "coins", 1, 2, rows + 1, ".", columns, ""),),
        sources=(SourceFile(FILE, "ab" * 32, ("coins",), rows + 30),),
        rows_read=rows + 30,
    )


def _table(rows: pd.DataFrame, items: pd.DataFrame) -> ItemTable:
    n = len(rows)
    given: dict[str, Any] = {
        name: items[name].to_numpy(dtype=object)
        for name in ("item_id", "kind", "lot", "type_text", "group")
    }
    given |= {name: items[name].to_numpy() for name in ("count", "year", "order")}
    for name in ("type_key", "weight_g", "diameter_mm", "thickness_mm"):
        given[name] = rows[name].to_numpy()
    given |= {
        "type_note": np.full(n, "", dtype=object),
        "weight_step_g": np.full(n, 0.01),
        "doubtful": np.zeros(n, dtype=bool),
        "suspended": np.zeros(n, dtype=bool),
    }
    spare = np.full(n, np.nan)
    return ItemTable(**{f.name: given.get(f.name, spare) for f in fields(ItemTable)})


def _findings(rows: pd.DataFrame, items: pd.DataFrame) -> Findings:
    n = len(rows)
    marked = (rows["finding"] != "consistent").to_numpy()
    expected = rows["expected_weight_g"].to_numpy()
    words = {
        "other_type": "", "reason_code": "",
        "explanations": "base metal, same size 62 %; honest wear 3 %",
        "next_test": "ring it beside a known coin",
    }  # fmt: skip
    given: dict[str, Any] = {
        key: np.where(marked, text, "").astype(object) for key, text in words.items()
    }
    given |= {name: rows[name].to_numpy() for name in ("finding", "reason", "score", "p_value")}
    given |= {
        "item_id": items["item_id"].to_numpy(dtype=object),
        "expected_weight_g": expected,
        "z_weight": (rows["weight_g"].to_numpy() - expected) / 0.2,
        "expected_low_g": expected - 0.45,
        "expected_high_g": expected + 0.25,
        "mechanisms": MECHANISMS,
        "shares": np.full((n, len(MECHANISMS)), 1 / len(MECHANISMS)),
        "settings_digest": Settings().digest(),
    }
    spare = np.full(n, np.nan)
    return Findings(**{f.name: given.get(f.name, spare) for f in fields(Findings)})
