"""Coins measured twice, people who differ, check weights that drift."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from reference import silver_atomic_weight as silver
from scipy.stats import binomtest

from lotscreen.evidence.suspension import with_failed_checks, without_error
from lotscreen.instruments import check_readings, instruments_of, scale_belief
from lotscreen.intake import read_frame, read_sheets
from lotscreen.records import Intake
from lotscreen.repeats import Repeats, repeat_lines, spreads, study_repeats, with_repeats
from lotscreen.report.blocks import Heading, Paragraph, Table
from lotscreen.report.pages.repeats import build
from lotscreen.report.view import report_view
from lotscreen.screening import screen
from lotscreen.settings import Settings
from lotscreen.summary import summarise


def sheet(weights: dict[str, np.ndarray], **columns: Any) -> pd.DataFrame:
    """A sheet with one column of weights a person, two decimals, NaN where not read."""
    frame = pd.DataFrame({"no": np.arange(1, len(next(iter(weights.values()))) + 1), **columns})
    for person, values in weights.items():
        frame[f"weight (g) by {person}"] = np.round(values, 2)
    return frame


def two_people(
    rng: np.random.Generator, coins: int = 60, offset: float = 0.03, sd: float = 0.012
) -> Intake:
    true = rng.normal(12.3, 0.2, coins)
    return read_frame(
        sheet(
            {
                "A1": true + rng.normal(0, sd, coins),
                "B2": true + offset + rng.normal(0, sd, coins),
            }
        )
    )


def studied(intake: Intake) -> Repeats:
    (study,) = study_repeats(intake.items, intake.readings)
    return study


def test_the_certified_silver_set_comes_out() -> None:
    pairs = silver.readings()
    items = pd.DataFrame({"item_id": ["silver"], "kind": ["coin"]})
    readings = pd.DataFrame(
        {
            "item_id": "silver", "quantity": "weight", "value": [v for _, v in pairs],
            "person": "", "instrument": [name for name, _ in pairs], "time": "", "step": 1e-7,
            "status": "used",
        }
    )  # fmt: skip
    (study,) = study_repeats(items, readings)
    assert (study.factor, study.readings, study.slips) == ("instrument", 48, ())
    assert (study.dof_between, study.dof_within) == (silver.DOF_BETWEEN, silver.DOF_WITHIN)
    assert study.ms_between == pytest.approx(silver.SS_BETWEEN, rel=1e-7)
    assert study.ms_within * study.dof_within == pytest.approx(silver.SS_WITHIN, rel=1e-7)
    assert study.f_ratio == pytest.approx(silver.F_RATIO, rel=1e-7)
    assert study.repeatability_sd == pytest.approx(silver.RESIDUAL_SD, rel=1e-7)
    # ISO 5725-2, 7.4.5.2: the mean square between less that within, over the readings of each
    expected = (silver.SS_BETWEEN - silver.SS_WITHIN / silver.DOF_WITHIN) / 24
    assert study.between_sd == pytest.approx(np.sqrt(expected), rel=1e-6)
    means = pd.DataFrame(pairs).groupby(0)[1].mean()
    assert study.offsets[0].offset == pytest.approx((means["1"] - means["2"]) / 2, rel=1e-6)


def test_an_offset_between_two_people_is_found_with_its_interval() -> None:
    study = studied(two_people(np.random.default_rng(1)))
    first, second = study.offsets
    assert (first.level, second.level) == ("A1", "B2")
    assert first.offset == pytest.approx(-second.offset)
    assert second.low < 0.015 < second.high
    assert study.p_value < 1e-6
    assert study.repeatability_sd == pytest.approx(0.012, rel=0.3)
    assert study.between_sd == pytest.approx(0.03 / np.sqrt(2), rel=0.2)


@pytest.mark.slow
def test_intervals_hold_what_they_promise_and_equal_people_are_rarely_told() -> None:
    rng, runs = np.random.default_rng(2), 120
    inside = told = 0
    for _ in range(runs):
        offset = float(rng.choice([0.0, 0.02]))
        study = studied(two_people(rng, coins=12, offset=offset))
        inside += study.offsets[1].low <= offset / 2 <= study.offsets[1].high
        told += offset == 0.0 and study.p_value < 0.01
    assert binomtest(inside, runs, 0.95).pvalue > 1e-3
    assert told <= 4  # of some 60 runs at one in a hundred: more is rarer than 1 in 1,000


def test_not_everybody_need_have_read_every_coin() -> None:
    rng = np.random.default_rng(3)
    true = rng.normal(12.3, 0.2, 90)
    reads = {
        "A1": np.where(np.arange(90) < 60, true, np.nan),
        "B2": np.where(np.arange(90) >= 30, true + 0.05, np.nan),
        "C3": np.where((np.arange(90) < 30) | (np.arange(90) >= 60), true - 0.02, np.nan),
    }
    noisy = {name: values + rng.normal(0, 0.01, 90) for name, values in reads.items()}
    study = studied(read_frame(sheet(noisy)))
    found = {o.level: o.offset for o in study.offsets}
    mean = (0.05 - 0.02) / 3
    assert found == pytest.approx({"A1": -mean, "B2": 0.05 - mean, "C3": -0.02 - mean}, abs=0.008)


def test_a_slip_among_the_repeats_spoils_nothing_and_is_told() -> None:
    frame = sheet({"A1": np.linspace(12, 12.5, 30), "B2": np.linspace(12, 12.5, 30) + 0.01})
    frame.iloc[4, 2] = 21.41
    frame.iloc[9, 1] = 1.23
    intake, (study,) = with_repeats(read_frame(frame), ())
    assert study.repeatability_sd < 0.01
    ids = intake.items["item_id"]
    assert set(study.slips) == {ids[4], ids[9]}
    told = [d for d in intake.doubts if d.kind == "repeats"]
    assert sorted(d.row for d in told) == [6, 11]
    assert "21.41" in next(d.raw for d in told if d.row == 6)


def test_days_and_instruments_are_factors_too(tmp_path: Path) -> None:
    rng = np.random.default_rng(4)
    lines = ["no,weight_g,time,weight_2_g,time"]
    for n in range(1, 31):
        w = rng.normal(12.3, 0.2)
        lines.append(f"{n},{w:.2f},2024-05-01,{w - 0.04 + rng.normal(0, 0.01):.2f},2024-05-02")
    (tmp_path / "days.csv").write_text("\n".join(lines) + "\n")
    study = studied(read_sheets([tmp_path / "days.csv"]))
    assert study.factor == "day"
    assert study.offsets[0].offset == pytest.approx(0.02, abs=0.005)


def test_repeats_by_one_person_give_repeatability_alone(tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    lines = ["no,weight_1_g,weight_2_g"]
    lines += [
        f"{n},{12 + rng.normal(0, 0.03):.2f},{12 + rng.normal(0, 0.03):.2f}" for n in range(40)
    ]
    (tmp_path / "s.csv").write_text("\n".join(lines) + "\n")
    study = studied(read_sheets([tmp_path / "s.csv"]))
    assert (study.factor, study.offsets, study.between_sd) == ("", (), 0.0)
    assert study.repeatability_sd == pytest.approx(0.03, rel=0.3)
    assert np.isnan(study.f_ratio)


def test_what_repeats_show_enters_the_uncertainty_of_every_coin() -> None:
    frame = sheet({"A1": np.full(80, 12.3), "B2": np.full(80, 12.3)})
    rng = np.random.default_rng(6)
    true = rng.normal(12.3, 0.2, 80)
    frame.iloc[:, 1] = np.round(true + rng.normal(0, 0.04, 80), 2)
    frame.iloc[:, 2] = np.round(true + 0.1 + rng.normal(0, 0.04, 80), 2)
    frame.iloc[40:, 2] = np.nan
    intake = read_frame(frame)
    studies = study_repeats(intake.items, intake.readings)
    shown = spreads(studies, intake.readings, Settings())
    table = summarise(
        intake.items, intake.readings, instruments_of(intake.readings, Settings(), shown)
    )
    within, between = studies[0].repeatability_sd, studies[0].between_sd
    assert table.weight_u_g[60] == pytest.approx(np.hypot(within, between), rel=0.05)
    assert table.weight_u_g[10] == pytest.approx(np.hypot(within, between) / np.sqrt(2), rel=0.05)
    stated = Settings(weight_sd_g=0.01)
    assert spreads(studies, intake.readings, stated) == ()


def test_a_few_repeats_move_the_assumed_spread_only_a_little() -> None:
    frame = sheet({"A1": np.array([12.30, 12.40, 12.35]), "B2": np.array([12.30, np.nan, 12.35])})
    intake = read_frame(frame)
    studies = study_repeats(intake.items, intake.readings)
    (shown,) = spreads(studies, intake.readings, Settings())
    assert 0.85 < shown.factor <= 1.0


CHECKED = """no,weight_g
check 20.00,20.00
1,12.41
2,12.32
check 20.00,19.99
3,12.25
4,12.31
5,12.33
check 20.00,19.95
6,12.20
check 20.00,20.00
7,12.36
"""


def test_weighings_around_a_failed_check_are_suspended_and_a_drift_is_proposed(
    tmp_path: Path,
) -> None:
    (tmp_path / "s.csv").write_text(CHECKED)
    intake = read_sheets([tmp_path / "s.csv"])
    checks = check_readings(intake.items, intake.readings, Settings())
    after, _ = with_repeats(intake, checks)
    status = dict(zip(after.items["coin_id"], after.readings["status"], strict=True))
    assert [status[str(n)] for n in range(1, 8)] == [
        "used", "used", "suspended", "suspended", "suspended", "suspended", "used",
    ]  # fmt: skip
    assert after.readings["value"].tolist() == intake.readings["value"].tolist()
    (doubt,) = [d for d in after.doubts if d.kind == "drift"]
    assert doubt.row == 9
    assert "-0.01 g, -0.05 g, +0 g" in doubt.why
    assert "4 weighings, 3 to 6" in doubt.why
    assert doubt.proposal.startswith("add +0.02 g to the first, +0.025 g to the last")


@pytest.mark.parametrize("first", ["A", "B"])
def test_a_check_weight_speaks_of_its_own_balance(first: str) -> None:
    """Balance B reads 0.15 g too much before and after; A reads right."""
    checks = [("", "check weight 10 g", "10.15", "B"), ("", "check weight 10 g", "10.00", "A")]
    checks = sorted(checks, key=lambda row: row[3] != first)
    coins = [(str(n), "US half dollar 1943", "12.35", "AB"[n % 2]) for n in range(1, 9)]
    frame = pd.DataFrame([*checks, *coins, *checks], columns=["no", "type", "weight_g", "balance"])
    intake = read_frame(frame)
    checked = check_readings(intake.items, intake.readings, Settings())
    after, _ = with_repeats(intake, checked)
    held = after.readings.loc[after.readings["status"] == "suspended", "instrument"]
    assert held.tolist() == ["B"] * 4
    (doubt,) = [d for d in after.doubts if d.kind == "drift"]
    assert "beside (balance B) read +0.15 g, +0.15 g" in doubt.why
    assert "4 weighings, 1 to 7" in doubt.why
    belief = scale_belief(checked, Settings())
    assert (belief.error, belief.from_checks) == (0.0, True)
    table = summarise(after.items, after.readings, instruments_of(after.readings, Settings()))
    again = with_failed_checks(replace(table, suspended=table.suspended & False), checked, ())
    suspended = again.suspended[again.kind == "coin"]
    assert suspended.tolist() == [True, False] * 4
    righted = without_error(again, checked)
    coin = again.kind == "coin"
    assert righted.weight_g[coin] == pytest.approx([12.35 / 1.015, 12.35] * 4)


def test_a_failed_check_with_no_coin_beside_it_suspends_nothing_and_says_so() -> None:
    names = [("", "check weight 10 g"), ("", "check weight 10 g"), ("1", "US half dollar 1943")]
    rows = [(*row, read) for row, read in zip(names, ("10.15", "10.00", "12.35"), strict=True)]
    intake = read_frame(pd.DataFrame(rows, columns=["no", "type", "weight_g"]))
    after, _ = with_repeats(intake, check_readings(intake.items, intake.readings, Settings()))
    (doubt,) = [d for d in after.doubts if d.kind == "drift"]
    assert "no coin was weighed between" in doubt.why
    assert doubt.proposal == ""
    assert not (after.readings["status"] == "suspended").any()


def test_the_screen_carries_the_repeats_and_says_them() -> None:
    rng = np.random.default_rng(7)
    true = rng.normal(12.3, 0.05, 30)
    frame = sheet({"A1": true, "B2": true + 0.05}, type="US half dollar", year=1925)
    result = screen(frame)
    (study,) = result.repeats
    lines = list(repeat_lines(result.repeats))
    assert lines[0].startswith("weight: repeatability 0.00")
    assert "B2 +0.0250 g (95 %: +0.0242 to +0.0258)" in lines[1]
    assert [d.kind for d in result.intake.doubts] == ["people"]
    assert study.f_ratio > 100


def test_the_report_has_them_and_one_lots_report_keeps_quiet_about_the_others() -> None:
    rng = np.random.default_rng(7)
    true = rng.normal(12.3, 0.05, 30)
    frame = sheet({"A1": true, "B2": true + 0.05}, type="US half dollar", year=1925)
    whole = report_view(screen(frame), None, "0")
    heading, repeatability, _, offsets = build(whole)
    assert isinstance(heading, Heading)
    assert isinstance(repeatability, Paragraph)
    assert "60 readings of 30 coins" in repeatability.text
    assert isinstance(offsets, Table)
    assert [row[2:4] for row in offsets.rows] == [("A1", "30"), ("B2", "30")]
    assert offsets.rows[1][4].startswith("+0.025")
    of_one_lot = replace(whole.screening, fitted_with_others=True)
    assert build(replace(whole, screening=of_one_lot)) == []
    assert build(replace(whole, screening=replace(whole.screening, repeats=()))) == []
