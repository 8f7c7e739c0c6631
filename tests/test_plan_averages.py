"""The table of the coins that ways to stop take on average."""

from __future__ import annotations

import json
from math import ceil
from pathlib import Path

import numpy as np
import pytest
from pdf_text import words_of
from typer.testing import CliRunner

from lotscreen.cli import app
from lotscreen.sequential.curve import curve_in_lot
from lotscreen.sequential.goal import lines_of_bets
from lotscreen.sequential.lines import lines_of_counts
from lotscreen.sequential.plan_averages import AverageCoins, average_cells, average_coins
from lotscreen.sequential.sampling_plan import SamplingPlan

PLAN = SamplingPlan(500, 0.06, tolerated_share=0.005, alarm_rate=0.003)
ASKED = ["plan", "--coins", "500", "--share", "6", "--seed", "3"]


def test_the_rows_are_those_of_the_exact_curves() -> None:
    goal = PLAN.goal
    truths = np.array([0, goal.clean_coins, goal.bad_noticed])
    at_will, two_lots, one = average_coins(PLAN)
    for row, lines in ((at_will, lines_of_bets(goal, 500)),
                       (two_lots, lines_of_counts(goal.two_counts()))):  # fmt: skip
        coins = (row.at_none, row.at_clean, row.at_bad)
        assert coins == pytest.approx(curve_in_lot(lines, 500, truths).average_coins)
    # one sample with none allowed runs to its end where there is nothing to find
    assert one.at_none == PLAN.sample_coins()
    assert one.at_bad < one.at_clean < one.at_none


def _numbers(row: AverageCoins) -> list[str]:
    return [f"{ceil(coins):,}" for coins in (row.at_none, row.at_clean, row.at_bad)]


def test_the_terminal_shows_the_table_within_eighty_columns() -> None:
    told = CliRunner().invoke(app, ASKED)
    assert told.exit_code == 0
    lines = told.output.splitlines()
    start = next(n for n, line in enumerate(lines) if line.startswith("Coins drawn on average"))
    goal = PLAN.goal
    heads, *rows = lines[start + 1 : start + 5]
    assert heads.split() == ["Test", "none", str(goal.clean_coins), "(clean)",
                             str(goal.bad_noticed), "(bad)"]  # fmt: skip
    assert [row.split()[-3:] for row in rows] == [_numbers(row) for row in average_coins(PLAN)]
    assert max(map(len, lines)) <= 80


def test_json_and_paper_hold_the_same_rows(tmp_path: Path) -> None:
    path = tmp_path / "plan.pdf"
    told = CliRunner().invoke(app, [*ASKED, "--json", "--pdf", str(path)])
    assert told.exit_code == 0
    assert json.loads(told.output)["average_coins"] == [
        {
            "test": row.test,
            "at_none": round(row.at_none, 1),
            "at_clean": round(row.at_clean, 1),
            "at_bad": round(row.at_bad, 1),
        }
        for row in average_coins(PLAN)
    ]
    text = words_of(path)
    for cells in average_cells(PLAN):
        assert " ".join(cells) in text
