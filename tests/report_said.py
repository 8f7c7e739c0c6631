"""What is said and drawn of an invented lot: statements, displays, a running chart."""

from __future__ import annotations

import numpy as np
import pandas as pd

from lotscreen.display import (
    Direction,
    Parade,
    QuantilePlot,
    SightLine,
    SightMark,
    TypeDisplay,
)
from lotscreen.lot.statement import (
    Assumption,
    CheckStatement,
    FalseShare,
    GroupStatement,
    LotStatement,
    OtherType,
    Ridge,
    TypeStatement,
    WearRate,
    WorkedLine,
)
from lotscreen.sequential.running import RunningChart
from lotscreen.standards import load_standards

STANDARD_G = 12.5
DIAMETER_MM = 30.6
THICKNESS_MM = 2.15


def displays(rows: pd.DataFrame) -> tuple[TypeDisplay, ...]:
    standards = load_standards()
    keys = [key for key in dict.fromkeys(rows["type_key"]) if key]
    return tuple(
        _display(key, standards.get(key).name, rows[rows["type_key"] == key]) for key in keys
    )


def _display(key: str, name: str, rows: pd.DataFrame) -> TypeDisplay:
    scale = float(rows["expected_weight_g"].max() / 12.4)
    standard = STANDARD_G * scale
    weight = np.linspace(0.85, 1.02, 200) * standard
    loss = np.clip(1.004 - weight / standard, 0, None)
    density = loss * np.exp(-loss / 0.012)
    density /= density.sum() * (weight[1] - weight[0])
    year = np.arange(1874.0, 1965.0)
    mean = 2 * (0.4 + 0.025 * (1964 - year))
    turn = np.linspace(0, 2 * np.pi, 60)
    ring = (np.cos(turn) * 0.25 * scale, np.sin(turn) * 0.07)
    steps = np.linspace(0, 25, 51)
    return TypeDisplay(
        type_key=key, type_name=name, coins=len(rows), standard_weight_g=standard,
        remedy_g=0.0972, least_current_g=None, standard_diameter_mm=DIAMETER_MM,
        reference_diameter_mm=DIAMETER_MM - 0.02, reference_thickness_mm=THICKNESS_MM,
        mean_loss_percent=2.4, curve_weight_g=weight, curve_density_per_g=density,
        limit_low_g=0.94 * standard, limit_high_g=1.012 * standard, year=year,
        year_loss_percent=mean, year_low_percent=0.3 * mean - 0.4,
        year_high_percent=2.4 * mean + 0.6, cloud_levels=(0.5, 0.95),
        cloud_weight_g=(0.976 * standard + ring[0], 0.976 * standard + 2 * ring[0]),
        cloud_thickness_mm=(2.1 + ring[1], 2.1 + 2 * ring[1]),
        directions=(
            Direction("wear", -0.5 * scale, -0.08),
            Direction("cheaper metal, same size", -1.9 * scale, 0.0),
            Direction("cheaper metal, same weight", 0.0, 0.35),
            Direction("smaller across", -1.0 * scale, 0.0),
        ),
        sight_lines=(
            SightLine("weight only", "lighter, same size", steps, 1 / (1 + np.exp(7 - steps))),
            SightLine(
                "weight, diameter, thickness", "lighter, same size", steps,
                1 / (1 + np.exp(5 - steps)),
            ),
        ),
        sight_marks=(
            SightMark("brass", -17.0, 1.0, 1.0), SightMark(".800 silver", -1.6, 0.004, 0.03),
        ),
        false_density_per_g=np.full(200, 0.01), false_share=0.02,
        quantiles=QuantilePlot(steps - 12.0, steps - 12.1, steps - 13.0, steps - 11.0, 0),
        parade=Parade(np.linspace(11.0, 12.5, 9), np.ones((20, 8), np.int64), 6),
    )  # fmt: skip


def statement(lot: str, rows: pd.DataFrame, items: pd.DataFrame) -> LotStatement:
    drawn = displays(rows)
    counts = {str(k): int(v) for k, v in rows["finding"].value_counts(sort=False).items()}
    ids = tuple(items.loc[rows.index[:31], "coin_id"])
    first = items.loc[rows.index[0]]
    return LotStatement(
        lot=lot, rows_read=len(rows) + 30, coins=len(rows), groups=1, check_rows=3, left_out=26,
        doubts=25, counts=counts, expected_honest_set_aside=2.6,
        types=tuple(
            TypeStatement(
                d.type_key, d.type_name, d.coins, 2.41, 2.33, 2.49, 0.024, True, 0.12, 0.4,
                0.2, 240, ("Wear grows with the years in use.", "a", "b", "seen 95 in 100"), 0.3,
                Ridge(2.0, 2.41, 0.41, 11.0, 1.2, "a scale low, wear, or an alloy", ("no check",)),
                WearRate(0.024, 0.023, 0.025, 0.02, 0.03, 45.0),
                FalseShare(3.0, 1.0, 5.0, 1.0, 8.0), (Assumption("scale", "0.1 %", "0.02 %"),),
            )
            for d in drawn
        ),
        other_types=(
            OtherType("us-half-1873", "us-half-1965", "US half dollar, 40 % silver", ids),
        ),
        checks=(
            CheckStatement("c1", 0, 20.0, 19.99, 0.03, True),
            CheckStatement("c2", 200, 20.0, 19.95, 0.03, False),
        ),
        group_statements=(
            GroupStatement(
                "g1", "roll 7", lot, "group", "us-half-1873", 20, 241.1, 244.2, 243.1, 245.3,
                "set aside", "lighter than 20 honest coins of this wear", odd="weight",
            ),
        ),
        fine_ounces={"silver": 353.12},
        alerts=("The balance failed a check: suspect the scale first.",),
        cannot_see=(
            "a copy struck in the right alloy", ".800 silver for .900: inside wear",
            "an altered date or an added mint mark",
        ),
        worked_coin_id=str(first["coin_id"]),
        worked=(
            WorkedLine("read", "12.31 g", "the sheet, row 2"),
            WorkedLine("standard", "12.50 g", "Act of 12 February 1873, 17 Stat. 424"),
            WorkedLine("z", "(12.31 − 12.20) ÷ 0.15 = +0.7", "computed"),
        ),
    )  # fmt: skip


def running(rows: pd.DataFrame) -> RunningChart:
    n = len(rows)
    coin = np.arange(1, n + 1)
    out = rows["finding"].isin(["set aside", "not consistent"]).to_numpy()
    unsettled = (rows["finding"] == "re-measure").to_numpy()
    residual = np.where(out, -3.0, np.sin(coin * 1.7))
    up, down = np.zeros(n), np.zeros(n)
    for i in range(1, n):
        up[i] = max(0.0, up[i - 1] + residual[i] - 0.5)
        down[i] = max(0.0, down[i - 1] - residual[i] - 0.5)
    return RunningChart(
        mode="looking back", coin=coin, set_aside_low=np.cumsum(out),
        set_aside_high=np.cumsum(out | unsettled), accept_line=0.02 * coin - 1.2,
        measure_all_line=0.02 * coin + 1.2, decision="", decided_at=0, cusum_up=up,
        cusum_down=down, cusum_limit=5.0, settle_first=("7", "12"),
        notes=("For illustration; promises nothing.",),
    )  # fmt: skip
