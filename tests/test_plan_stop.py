"""Stopping: the state after each batch, the command, its record of looks."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from typer.testing import CliRunner

from lotscreen.cli import app
from lotscreen.fit_file import save_fit
from lotscreen.instruments import instruments_of
from lotscreen.intake import read_frame
from lotscreen.lot.one_at_a_time import after_coin
from lotscreen.records import InputError, SettingsError
from lotscreen.report.stop_view import stop_sentences
from lotscreen.sequential.draw import draw_order
from lotscreen.sequential.goal import accepts
from lotscreen.sequential.looks import changes, look_line, look_of, looks_from_text
from lotscreen.sequential.sampling_plan import Method, SamplingPlan, plan_text
from lotscreen.sequential.stopping import after_coins, as_counted, decide, start
from lotscreen.settings import Settings
from lotscreen.simulate import CoinSpec, KindCount, LotSpec, Wear, draw_lot
from lotscreen.standards import load_standards
from lotscreen.stopping import Stop, stop
from lotscreen.summary import summarise
from lotscreen.wear import Fit, fit
from lotscreen.wear.fit import with_types

PLAN = SamplingPlan(600, 0.06, roll_coins=20, seed=5)
STANDARDS, SETTINGS = load_standards(), Settings()


def _lot(odd: int, seed: int = 3) -> pd.DataFrame:
    kinds = (KindCount("brass, right size", odd, start=0.6),) if odd else ()
    coins = CoinSpec(
        STANDARDS.get("us-half-1873"), "US half dollar", 600, tuple(range(1930, 1961)), 1965,
        Wear("gamma", 0.38), kinds=kinds,
    )  # fmt: skip
    sheet = draw_lot(LotSpec((coins,), roll_size=20, measured=0, shuffled=False), seed).sheet
    sheet["position"] = [str(n % 20 + 1) for n in range(600)]
    return sheet.rename(columns={"group": "roll"})


@pytest.fixture(scope="module")
def frozen() -> Fit:
    intake = read_frame(_lot(0, seed=8).iloc[:150])
    table = summarise(intake.items, intake.readings, instruments_of(intake.readings, SETTINGS))
    return fit(with_types(table, STANDARDS), STANDARDS, SETTINGS, 0)


def _drawn(sheet: pd.DataFrame, coins: int) -> pd.DataFrame:
    return sheet.iloc[np.sort(draw_order(600, 5)[:coins]) - 1]


def _said(found: Stop) -> str:
    return " ".join(stop_sentences(found, ()))


def test_none_set_aside_accepts_where_the_plan_said() -> None:
    state = start(PLAN)
    first = int(np.flatnonzero(PLAN.lines().accept >= 0)[0])
    for _ in range(first):
        assert state.decision == "go on"
        state = after_coins(state, np.zeros(1, bool), np.zeros(1, bool))
    assert (state.decision, state.decided_at) == ("accept", first)
    assert state.bounds[0].coins < PLAN.goal.bad_coins
    assert state.bounds[0].coins < state.bounds[1].coins < state.bounds[2].coins


def test_unsettled_coins_count_both_ways() -> None:
    aside, unsettled = as_counted(
        np.array(["set aside", "not consistent", "re-measure", "not judged", "consistent"], object)
    )
    state = after_coins(start(PLAN), aside, unsettled)
    assert (state.low, state.high) == (2, 4)
    state = after_coins(start(PLAN), np.ones(3, bool), np.ones(3, bool))
    assert (state.low, state.high, state.decision) == (0, 3, "go on")
    state = after_coins(start(PLAN), np.ones(6, bool), np.zeros(6, bool))
    assert state.decision == "measure all"


def test_more_found_than_the_bad_number_never_accepts() -> None:
    assert not accepts(PLAN.goal, 80, 80)
    assert decide(PLAN, 80, 0, 80).value == "go on"


@pytest.mark.parametrize("method", [Method.TWO_LOTS.value, Method.ONE_SAMPLE.value])
def test_other_methods_decide_by_their_lines(method: str) -> None:
    plan = replace(PLAN, method=method)
    lines = plan.lines()
    first = int(np.flatnonzero(lines.accept >= 0)[0])
    assert decide(plan, first, 0, 0).value == "accept"
    assert decide(plan, first - 1, 0, 0).value == "go on"
    assert decide(plan, lines.most_coins, 60, 60).value == "measure all"


def test_an_honest_draw_is_accepted_and_says_what_is_promised(frozen: Fit) -> None:
    found = stop(_drawn(_lot(0), 140), PLAN, frozen=frozen)
    assert found.state.decision == "accept"
    assert found.frozen
    assert not len(found.fetch)
    said = _said(found)
    assert said.startswith("Accept, after")
    assert "fewer than 6 % (36)" in said
    assert "noticed at least 80 % of the time" in said


def test_a_draw_from_a_salted_lot_says_measure_all_and_the_top_is_warned_of(frozen: Fit) -> None:
    salted = _lot(90)
    found = stop(_drawn(salted, 80), PLAN, frozen=frozen)
    assert found.state.decision == "measure all"
    top = stop(salted.iloc[:80], PLAN, frozen=frozen)
    assert top.top
    assert top.state.decision == "go on"
    assert top.state.drawn == 0
    assert "These are the first coins of the lot, not a draw" in _said(top)


def test_a_sheet_of_the_whole_lot_leaves_none_to_measure(frozen: Fit) -> None:
    lot = _lot(90)
    assert "none is left to measure" in _said(stop(lot, PLAN, frozen=frozen))
    assert "none is left to measure" not in _said(stop(_drawn(lot, 580), PLAN, frozen=frozen))


def test_a_batch_begun_is_to_be_finished(frozen: Fit) -> None:
    found = stop(_drawn(_lot(0), 30), PLAN, frozen=frozen)
    assert found.state.drawn == 20
    assert len(found.fetch) == 10
    assert "Finish the batch begun: roll" in _said(found)
    assert found.expected is not None
    assert found.expected.if_none_more == int(np.flatnonzero(PLAN.lines().accept >= 0)[0]) - 20


def test_skipped_coins_count_as_unsettled_and_others_not_at_all(frozen: Fit) -> None:
    sheet = _lot(0)
    drawn = _drawn(sheet, 60)
    missing = int(draw_order(600, 5)[4]) - 1
    others = sheet.iloc[[n for n in range(30) if n + 1 not in set(draw_order(600, 5)[:80])]]
    found = stop(pd.concat([drawn.drop(index=missing), others]), PLAN, frozen=frozen)
    assert found.state.drawn == 60
    assert found.skipped.tolist() == [missing + 1]
    assert found.state.high - found.state.low >= 1
    assert found.beside == len(others)
    assert "Skipped: roll" in _said(found)


def test_a_coin_twice_with_two_findings_is_unsettled(frozen: Fit) -> None:
    drawn = _drawn(_lot(0), 40)
    twice = drawn.iloc[:1].assign(weight_g="10.31")
    found = stop(pd.concat([drawn, twice]), PLAN, frozen=frozen)
    assert found.state.high == found.state.low + 1


def test_whole_rolls_speak_of_rolls(frozen: Fit) -> None:
    found = stop(_lot(0).iloc[:60], PLAN, frozen=frozen)
    assert found.rolls is not None
    assert found.rolls.rolls == 3
    assert "3 rolls measured whole" in _said(found)


def test_rows_in_the_order_of_the_draw(frozen: Fit) -> None:
    sheet = _lot(0)
    rows = sheet.iloc[draw_order(600, 5)[:40] - 1].drop(columns=["roll", "position"])
    found = stop(rows, PLAN, frozen=frozen, in_order=True)
    assert (found.state.drawn, found.rising) == (40, False)
    lies = stop(sheet.iloc[:40].drop(columns=["roll", "position"]), PLAN, frozen=frozen,
                in_order=True)  # fmt: skip
    assert lies.rising
    assert "seem to have been taken as they lie" in _said(lies)


def test_limits_that_alarm_oftener_than_planned_are_refused(frozen: Fit) -> None:
    with pytest.raises(SettingsError, match=r"--alarms 1\.5"):
        stop(_drawn(_lot(0), 40), PLAN, frozen=frozen, settings=Settings(limit=0.01))


def test_coins_without_a_place_are_asked_for_one(frozen: Fit) -> None:
    rows = _lot(0).iloc[:5].drop(columns=["roll", "position", "coin_id"])
    with pytest.raises(InputError, match="give roll and position"):
        stop(rows, PLAN, frozen=frozen)


def test_one_coin_at_a_time_is_the_same_as_all_at_once(frozen: Fit) -> None:
    order = draw_order(600, 5)[:40]
    intake = read_frame(_lot(30).iloc[order - 1])
    table = summarise(intake.items, intake.readings, instruments_of(intake.readings, SETTINGS))
    state = start(PLAN)
    for n in range(40):
        state = after_coin(state, table.rows(slice(n, n + 1)), frozen, SETTINGS)
    whole = stop(_drawn(_lot(30), 40), PLAN, frozen=frozen).state
    assert (state.drawn, state.low, state.high) == (whole.drawn, whole.low, whole.high)
    assert state.high > 0


def test_bounds_left_out_on_the_way_hold_and_change_no_decision() -> None:
    plan = SamplingPlan(2000, 0.03)
    aside, settled = np.random.default_rng(2).random(400) < 0.008, np.zeros(20, bool)
    every, some = [start(plan)], [start(plan)]
    for begin in range(0, 400, 20):
        part = aside[begin : begin + 20]
        every.append(after_coins(every[-1], part, settled))
        some.append(after_coins(some[-1], part, settled, bounded=begin % 100 == 80))
    for one, other in zip(every, some, strict=True):
        assert (one.decision, one.decided_at, one.high) == (
            other.decision, other.decided_at, other.high
        )  # fmt: skip
        assert all(a.coins <= b.coins for a, b in zip(one.bounds, other.bounds, strict=True))
    assert [bound.coins for bound in some[-1].bounds] == [bound.coins for bound in every[-1].bounds]
    (decided,) = (one for one in some if one.decided_at and one.drawn == one.decided_at)
    assert decided.bounds[0].coins < plan.goal.bad_coins


def test_looks_are_kept_and_changes_told() -> None:
    first = look_of(after_coins(start(PLAN), np.zeros(40, bool), np.zeros(40, bool)))
    text = look_line(look_of(start(PLAN))) + "\n" + look_line(first) + "\n"
    looks = looks_from_text(text, "plan.looks.jsonl")
    assert looks[1] == first
    assert changes(looks, PLAN) == ()
    (said,) = changes(looks, replace(PLAN, bad_share=0.08))
    assert "after 40 coins had been looked at: bad_share: 0.06 -> 0.08" in said
    assert changes(looks[:1], replace(PLAN, bad_share=0.08)) == ()  # no coin was looked at
    for broken in ("{", '{"coins": 1}', "3"):
        with pytest.raises(SettingsError, match="line 1"):
            looks_from_text(broken, "plan.looks.jsonl")


def _run(*arguments: str) -> tuple[int, str, str]:
    result = CliRunner().invoke(app, ["stop", *arguments])
    return result.exit_code, " ".join(result.stdout.split()), result.stderr


def test_the_command_answers_and_keeps_its_looks(tmp_path: Path, frozen: Fit) -> None:
    plan, sheet, kept = (tmp_path / name for name in ("plan.toml", "coins.csv", "fit.json"))
    plan.write_text(plan_text(PLAN), encoding="utf-8")
    save_fit(frozen, kept)
    _drawn(_lot(0), 40).to_csv(sheet, index=False)
    arguments = (str(plan), str(sheet), "--fit", str(kept))
    code, said, _ = _run(*arguments)
    assert code == 0
    assert said.startswith("Go on: after 40 coins")
    assert "Next: roll" in said
    assert _run(*arguments)[1] == said
    record = tmp_path / "plan.looks.jsonl"
    assert len(record.read_text(encoding="utf-8").splitlines()) == 1
    altered = plan_text(PLAN).replace("bad_share = 0.06", "bad_share = 0.08")
    plan.write_text(altered, encoding="utf-8")
    code, said, _ = _run(*arguments, "--json")
    told = json.loads(said)
    assert any("bad_share: 0.06 -> 0.08" in change for change in told["changed"])
    assert any("altered by hand" in change for change in told["changed"])
    assert told["coins"] == 40
    assert len(record.read_text(encoding="utf-8").splitlines()) == 2


def test_the_command_learns_limits_once_and_keeps_them(tmp_path: Path) -> None:
    plan, sheet, kept = (tmp_path / name for name in ("plan.toml", "coins.csv", "fit.json"))
    plan.write_text(plan_text(PLAN), encoding="utf-8")
    _drawn(_lot(0), 40).to_csv(sheet, index=False)
    code, said, _ = _run(str(plan), str(sheet), "--keep-fit", str(kept))
    assert code == 0
    assert "--keep-fit" in said
    assert kept.exists()
    code, said, _ = _run(str(plan), str(sheet), "--fit", str(kept))
    assert "judged by limits fixed before" in said


def test_a_plan_that_is_not_there_is_told(tmp_path: Path) -> None:
    code, _, said = _run(str(tmp_path / "no.toml"), str(tmp_path / "no.csv"))
    assert code == 5
    assert "no.toml cannot be read as a plan" in said


@pytest.mark.parametrize("roll_coins", [20, 0])
def test_a_coin_that_stands_twice_with_two_findings_is_unsettled(
    frozen: Fit, roll_coins: int
) -> None:
    plan = replace(PLAN, roll_coins=roll_coins)
    sheet = _drawn(_lot(0), 40).rename(columns={"position": "no"})
    if not roll_coins:
        sheet = sheet.drop(columns="roll").assign(no=sheet.index + 1)
    again = sheet.iloc[[0]].assign(weight_g="10.10")
    once, twice = (
        stop(rows, plan, frozen=frozen).state for rows in (sheet, pd.concat([sheet, again]))
    )
    assert (twice.low, twice.high) == (once.low, once.high + 1)


def test_numbers_that_are_places_need_not_come_twice(frozen: Fit) -> None:
    drawn = _drawn(_lot(0), 20).rename(columns={"position": "no"})
    assert stop(drawn, PLAN, frozen=frozen).state.drawn == 20
