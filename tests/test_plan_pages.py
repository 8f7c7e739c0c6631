"""Plan and stop on paper; rolls to open; the day strip; the lot's questions."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from pdf_text import words_of
from report_blocks import flat, lot_view, tables
from report_lot import coin_rows, screening_of
from scipy.stats import binomtest
from typer.testing import CliRunner

from lotscreen.cli import app
from lotscreen.lot.budget import LOOK
from lotscreen.lot.day import day_of, drift_rate
from lotscreen.lot.groups import opening_order
from lotscreen.lot.statement import CheckStatement, GroupStatement, LotAlarm
from lotscreen.records import OutputError
from lotscreen.report.blocks import Paragraph, Picture
from lotscreen.report.figures.day_strip import day_strip, people_of
from lotscreen.report.figures.plan_curves import characteristic, sample_number
from lotscreen.report.figures.rolls import rolls_to_open
from lotscreen.report.figures.stop_path import stop_path
from lotscreen.report.figures.style import look
from lotscreen.report.pages import day as day_page
from lotscreen.report.pages import groups as groups_page
from lotscreen.report.plan_pdf import write_plan_pdf
from lotscreen.report.view import LotView
from lotscreen.sequential.outlook import plan_curve
from lotscreen.sequential.plan_beside import Circumstances
from lotscreen.sequential.plan_words import plan_sections
from lotscreen.sequential.sampling_plan import SamplingPlan
from lotscreen.sequential.stopping import StopState, after_coins, start

PLAN = SamplingPlan(600, 0.06, roll_coins=20, seed=5)


def _moments(batches: int, found: tuple[int, ...] = ()) -> list[StopState]:
    moments = [start(PLAN)]
    for number in range(batches):
        aside = np.zeros(20, bool)
        aside[: found.count(number)] = True
        moments.append(after_coins(moments[-1], aside, np.zeros(20, bool)))
    return moments


@pytest.mark.parametrize("found", [(), (1,), (0, 0, 1, 1, 2, 2)])
def test_the_path_is_drawn_with_minutes_and_bound(found: tuple[int, ...]) -> None:
    moments = _moments(3, found)
    with look():
        picture = stop_path(PLAN, moments, PLAN.lines())
    assert isinstance(picture, Picture)
    svg = picture.svg.decode()
    assert "minutes" in svg
    assert "to be ruled out: 6 %" in svg
    assert f"60 coins drawn, {len(found)} to {len(found)} set aside" in picture.alt


@pytest.mark.parametrize(("notice", "drawn"), [(0.95, True), (0.5, False)])
@pytest.mark.parametrize("batches", [1, 20])
def test_the_bound_for_kinds_noticed_more_seldom_is_drawn_or_not_spoken_of(
    batches: int, notice: float, drawn: bool
) -> None:
    plan = SamplingPlan(600, 0.06, notice=notice, seed=5)
    moments = [start(plan)]
    for _ in range(batches):
        moments.append(after_coins(moments[-1], np.arange(20) == 0, np.zeros(20, bool)))
    with look():
        picture = stop_path(plan, moments, plan.lines())
    assert isinstance(picture, Picture)
    assert ("Dotted line: the bound for kinds noticed 50 %" in picture.caption) == drawn
    assert picture.svg.decode().count("bound, noticed") == (2 if drawn else 1)


def test_there_is_no_path_before_the_first_batch() -> None:
    with look():
        assert stop_path(PLAN, _moments(0), PLAN.lines()) is None
        assert stop_path(PLAN, _moments(1), PLAN.lines()) is not None


def test_curves_tell_their_ends() -> None:
    curve = plan_curve(PLAN)
    assert curve.accept[0] == pytest.approx(1.0)
    assert curve.departing[-1] == 2 * PLAN.goal.bad_coins
    with look():
        pictures = characteristic(PLAN, curve), sample_number(PLAN, curve)
    assert "% in the bad one" in pictures[0].alt
    assert "minutes" in pictures[1].alt


def test_the_plan_on_paper_holds_words_curves_and_draw(tmp_path: Path) -> None:
    path = tmp_path / "plan.pdf"
    sections = plan_sections(PLAN, Circumstances())
    write_plan_pdf(PLAN, sections, "9.9", path)
    text = words_of(path)
    for words in ("Sampling plan", "What to do", "Fixed before the first coin", "Seed 5", "roll 1"):
        assert words in text
    again = tmp_path / "again.pdf"
    write_plan_pdf(PLAN, sections, "9.9", again)
    assert again.read_bytes() == path.read_bytes()
    with pytest.raises(OutputError, match="not overwritten"):
        write_plan_pdf(PLAN, sections, "9.9", path)
    with pytest.raises(OutputError, match="cannot be written"):
        write_plan_pdf(PLAN, sections, "9.9", tmp_path / "no" / "plan.pdf")


def test_plan_and_stop_write_their_pages(tmp_path: Path) -> None:
    plan, sheet = tmp_path / "plan.toml", tmp_path / "coins.csv"
    made = CliRunner().invoke(app, ["plan", "--coins", "500", "--share", "6", "--out", str(plan),
                                    "--pdf", str(tmp_path / "plan.pdf")])  # fmt: skip
    assert made.exit_code == 0
    rows = [
        [n + 1, "US half dollar", 1930 + n % 30, f"{12.3 + 0.01 * (n % 9):.2f}"] for n in range(40)
    ]
    pd.DataFrame(rows, columns=["coin_id", "type", "date", "weight_g"]).to_csv(sheet, index=False)
    said = CliRunner().invoke(app, ["stop", str(plan), str(sheet), "--in-order", "--pdf",
                                    str(tmp_path / "stop.pdf")])  # fmt: skip
    assert said.exit_code == 0
    text = words_of(tmp_path / "stop.pdf")
    assert "May one stop?" in text
    assert "The path so far" in text
    assert "seem to have been taken as they lie" in text


def _groups(count: int) -> tuple[GroupStatement, ...]:
    weights = [246.0 + 0.1 * (n % 4) - 4.0 * (n == 2) for n in range(count)]
    return tuple(
        GroupStatement(f"g{n}", f"R{n + 1}", "", "group", "us-half-1873", 20, weight, 246.2, 243.0,
                       249.4, "set aside" if n == 2 else "consistent", "")
        for n, weight in enumerate(weights)
    )  # fmt: skip


def _view() -> LotView:
    return lot_view(screening_of(coin_rows(120, "", 1)))


def test_the_oddest_roll_is_on_top() -> None:
    view, groups = _view(), _groups(8)
    with look():
        picture = rolls_to_open(view, groups, opening_order(groups))
        assert rolls_to_open(view, groups[:2], opening_order(groups[:2])) is None
    assert picture is not None
    assert "the first: R3, −1.62 % off" in picture.alt
    shown = replace(view, statement=replace(view.statement, group_statements=groups))
    with look():
        blocks = groups_page.build(shown)
    (rows,) = (t.rows for t in tables(blocks))
    assert rows[2][-1] == "1"


def _day(persons: list[str], drift: float, checks: tuple[CheckStatement, ...] = ()):
    n = len(persons)
    rng = np.random.default_rng(1)
    ids = [f"c{i}" for i in range(n)]
    readings = pd.DataFrame({"item_id": ids, "quantity": "weight", "person": persons})
    z = rng.normal(0, 1, n) + drift * (np.arange(n) > n // 2)
    return day_of(np.arange(n), z, [""] * n, ids, readings, checks)


CHECKS = (
    CheckStatement("k1", 0, 20.0, 20.01, 0.03, True),
    CheckStatement("k2", 70, 20.0, 19.92, 0.03, False),
)


def test_a_drift_leaves_the_limits_and_a_steady_day_does_not() -> None:
    steady, drifting = _day(["A"] * 120, 0.0), _day(["A"] * 120, 2.5)
    assert steady is not None
    assert drifting is not None
    assert steady.signal_at == 0
    assert drifting.signal_at > 0
    assert steady.run_length == pytest.approx(-120 / np.log1p(-LOOK), rel=1e-4)
    assert drifting.delay < 40


def test_the_limits_are_left_falsely_as_seldom_as_the_order_may_spend() -> None:
    """The rate of a moving average is as often below a level as the level says."""
    rng = np.random.default_rng(8)
    rates = np.array([drift_rate(rng.normal(0, 1, 150)) for _ in range(800)])
    for level in (0.01, 0.05, 0.2):
        below = int((rates <= level).sum())
        assert binomtest(below, 800).proportion_ci(0.999).low <= level
        assert below > 0
    empty = pd.DataFrame({"item_id": [], "quantity": [], "person": []})
    z = rng.normal(0, 1, 150) + 2.5 * (np.arange(150) > 75)
    found, rate = day_of(np.arange(150), z, [""] * 150, [""] * 150, empty, ()), drift_rate(z)
    assert found is not None
    assert rate is not None
    assert (found.signal_at > 0) == (rate <= LOOK)
    assert drift_rate(np.zeros(12)) is None


def test_the_strip_shows_checks_and_people() -> None:
    day = _day(["A"] * 60 + ["B"] * 60, 0.0, CHECKS)
    assert day is not None
    assert [(s.person, s.first, s.last) for s in day.stretches] == [("A", 1, 60), ("B", 61, 120)]
    assert day.check_place.tolist() == pytest.approx([0.5, 70.5])
    assert people_of(day) == "A (60), B (60)"
    with look():
        picture = day_strip(day)
        bare = day_strip(replace(day, checks=(), check_place=np.zeros(0)))
    assert "2 check weights, 1 of them off" in picture.alt
    assert "not named" not in picture.alt
    assert bare.svg != picture.svg


def test_coins_of_a_roll_count_as_one_and_few_are_no_day() -> None:
    ids = [f"c{i}" for i in range(500)]
    readings = pd.DataFrame({"item_id": ids, "quantity": "weight", "person": ""})
    z = np.repeat(np.random.default_rng(2).normal(0, 1, 25), 20)
    rolls = [f"R{i // 20}" for i in range(500)]
    day = day_of(np.arange(500), z, rolls, ids, readings, ())
    assert day is not None
    assert (day.grouped, len(day.place)) == (True, 25)
    assert day_of(np.arange(10), z[:10], [""] * 10, ids[:10], readings, ()) is None


def test_the_page_of_the_day_tells_questions_and_budget() -> None:
    view = _view()
    alarms = (
        LotAlarm("order", 0.004, 0.01, True, "Order: it has a pattern"),
        LotAlarm("clusters", None, 0.01, False, "Clusters: not asked"),
    )
    shown = replace(view, statement=replace(view.statement, alarms=alarms))
    with look():
        blocks = day_page.build(shown)
        bare = day_page.build(replace(view, statement=replace(view.statement, alarms=())))
    said = [block.text for block in flat(blocks) if isinstance(block, Paragraph)]
    assert "1 of 2 questions were asked" in said[-1]
    assert not any("pieces of one mould" in text for text in said)
    rows = tables(blocks)[-1].rows
    assert rows[1][1] == "not asked"
    assert len(bare) < len(blocks)


def test_the_question_for_clusters_says_what_it_cannot_see() -> None:
    view = _view()
    alarms = (LotAlarm("clusters", 0.4, 0.01, False, "Clusters: none"),)
    with look():
        blocks = day_page.build(replace(view, statement=replace(view.statement, alarms=alarms)))
    said = [block.text for block in flat(blocks) if isinstance(block, Paragraph)]
    assert "pieces of one mould that read like the other coins" in said[-2]
    assert "hardly ever noticed, few or many" in said[-2]
