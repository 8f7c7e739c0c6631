"""Sampling plans: the draw, the file, the words, the command."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import chisquare, hypergeom
from typer.testing import CliRunner

from lotscreen.cli import app
from lotscreen.records import SettingsError
from lotscreen.sequential.curve import curve_in_lot
from lotscreen.sequential.draw import (
    batches,
    draw_order,
    drawn_whole_batches,
    number_of,
    place_of,
)
from lotscreen.sequential.finite import chance_at_most
from lotscreen.sequential.group_power import Wearing
from lotscreen.sequential.outlook import coins_in, expected, minutes_for, reached, rest_of
from lotscreen.sequential.plan_beside import Circumstances
from lotscreen.sequential.plan_words import plan_sections
from lotscreen.sequential.roll_plan import odd_groups, roll_step
from lotscreen.sequential.sampling_plan import (
    Method,
    SamplingPlan,
    changed_figures,
    figures,
    first_coins_set_aside,
    plan_from_text,
    plan_text,
)

PLAN = SamplingPlan(2000, 0.03, roll_coins=20, seed=314)
HALVES = Wearing(12.5, 0.015, 0.07)


def _run(*arguments: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, ["plan", *arguments], env={"COLUMNS": "200"})
    return result.exit_code, result.output


def test_the_draw_is_the_same_everywhere_and_complete() -> None:
    order = draw_order(2000, 314)
    assert sorted(order) == list(range(1, 2001))
    assert order[:5].tolist() == draw_order(2000, 314)[:5].tolist()
    assert draw_order(12, 1).tolist() != draw_order(12, 2).tolist()
    # worked out with the sha256sum of a shell: of "7,1" to "7,3" the smallest is first
    assert draw_order(3, 7).tolist() == [2, 1, 3]


def test_every_coin_is_as_likely_to_come_first() -> None:
    first = [int(draw_order(10, seed)[0]) for seed in range(2000)]
    assert chisquare(np.bincount(first, minlength=11)[1:]).pvalue > 0.001


def test_places_in_rolls_and_loose() -> None:
    for number in (1, 20, 21, 2000):
        place = place_of(number, 20)
        assert number_of(place.roll, place.position, 20) == number
    assert place_of(41, 20).roll == 3
    assert place_of(41, 0).position == 41
    assert number_of(0, 3, 20) == number_of(3, 21, 20) == 0
    assert number_of(2, 21, 20) == 21, "its number in the lot"


def test_batches_are_fetched_in_the_order_of_the_rolls() -> None:
    order = draw_order(100, 5)
    parts = batches(order, 30)
    assert [len(part) for part in parts] == [30, 30, 30, 10]
    assert all(np.all(np.diff(part) > 0) for part in parts)
    assert sorted(np.concatenate(parts)) == list(range(1, 101))


def test_only_whole_batches_count_and_skipped_coins_do() -> None:
    order = draw_order(100, 5)
    first, second = set(order[:20].tolist()), order[20:40].tolist()
    counted, fetch = drawn_whole_batches(first, order, 20)
    assert (counted, sorted(second)) == (20, fetch.tolist())
    counted, fetch = drawn_whole_batches(first | set(second[:3]), order, 20)
    assert (counted, len(fetch)) == (20, 17)
    skipped = first - {int(order[4])} | set(second)
    assert drawn_whole_batches(skipped, order, 20)[0] == 40
    assert drawn_whole_batches(set(), order, 20)[0] == 0
    assert drawn_whole_batches({0}, order, 20)[0] == 0
    long = draw_order(2000, 5)
    for measured in (1000, 1003):  # the tenth that may be missing is not taken beyond the last
        counted, fetch = drawn_whole_batches(set(long[:measured].tolist()), long, 20)
        assert (counted, len(fetch)) == (1000, 20 - measured % 20)
    assert len(drawn_whole_batches(set(range(1, 101)), order, 20)[1]) == 0


def test_a_plan_reads_back_from_its_file() -> None:
    for plan in (PLAN, replace(PLAN, method=Method.ONE_SAMPLE.value, allowed=2, type_key="x")):
        assert plan_from_text(plan_text(plan), "plan.toml") == (plan, True)


def test_a_plan_altered_by_hand_is_known() -> None:
    altered = plan_text(PLAN).replace("bad_share = 0.03", "bad_share = 0.05")
    plan, as_written = plan_from_text(altered, "plan.toml")
    assert not as_written
    assert changed_figures(figures(PLAN), figures(plan)) == ["bad_share: 0.03 -> 0.05"]
    older = {name: value for name, value in figures(PLAN).items() if name != "most_coins"}
    assert changed_figures(older, figures(PLAN)) == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("lot_coins = ", "p.toml cannot be read as a plan"),
        ("bad_share = 0.1", "'lot_coins' is missing"),
        ("lot_coins = 10\nbad_share = 0.5\ncolour = 1", "'colour' is no figure"),
        ('lot_coins = "10"\nbad_share = 0.5', "must be a whole number"),
        ('lot_coins = 10\nbad_share = "much"', "must be a number"),
        ("lot_coins = 10\nbad_share = 0.5\nmethod = 3", "a text in quotes"),
        ("lot_coins = 10\nbad_share = 0.5\nmethod = 'mine'", "'any time', 'two lots'"),
        ("lot_coins = 10\nbad_share = 0.5\nbatch_coins = 0", "batches of 0"),
        ("lot_coins = 1000001\nbad_share = 0.5", "no more than a million"),
    ],
)
def test_a_file_that_is_no_plan_is_told_so(text: str, said: str) -> None:
    with pytest.raises(SettingsError, match=said):
        plan_from_text(text, "p.toml")


def test_one_sample_keeps_the_promise_and_is_the_smallest() -> None:
    for notice in (1.0, 0.9):
        plan = replace(PLAN, method=Method.ONE_SAMPLE.value, allowed=1, notice=notice)
        coins, bad = plan.sample_coins(), plan.goal.bad_coins
        assert chance_at_most(1, bad, 2000, coins, notice) <= 0.05 + 1e-12
        assert chance_at_most(1, bad, 2000, coins - 1, notice) > 0.05


@pytest.mark.parametrize("method", [m.value for m in Method])
def test_each_method_says_when_it_stops(method: str) -> None:
    plan = replace(PLAN, method=method)
    text = " ".join(s for _, part in plan_sections(plan, Circumstances()) for s in part)
    assert "Accept when" in text
    assert ("any reason" in text) == (method == "any time")
    assert ("Wald's approximations" in text) == (method == "two lots")


def test_words_hold_the_figures() -> None:
    at = Circumstances(minutes=20, coins=HALVES, limit_percent=1.0)
    said = dict(plan_sections(PLAN, at))
    (to_do, stops, promise, in_time, groups, beside) = said.values()
    lead = "Weigh the 100 rolls; open the 3 oddest; then measure these 111 coins: 48 minutes"
    assert to_do[0].startswith(lead)
    assert to_do[1].startswith("The rolls: 25 minutes at 15 s each")
    assert to_do[2].endswith("in its roll of 20 in 88.3 % of cases.")
    assert to_do[3].startswith("The rolls opened: 60 coins, 8 minutes at 8 s each")
    assert "0 after 111 coins" in stops[0]
    assert "2 within" in stops[1]
    assert "fewer than 3 % (60)" in promise[0]
    assert in_time[0].endswith("opened leave no time for a coin of the draw.")
    assert in_time[1].startswith("150 coins by weight")
    assert in_time[2].startswith("42 coins by weight, diameter and thickness")
    assert any(line.startswith("groups of 20: 88.3 %") for line in groups)
    assert any("letter K, 125 coins, up to 3" in line for line in beside)
    assert any("design effect 2.9" in line for line in beside)
    assert any("95 % of draws or more with up to" in line for line in beside)
    assert any(line.startswith("Fewest weighings") for line in groups)


def test_rolls_drawn_whole_bound_the_share_of_rolls() -> None:
    beside = dict(plan_sections(PLAN, Circumstances()))["To compare"]
    (line,) = (line for line in beside if "drawn by the same seed" in line)
    assert line.startswith("Whatever they are like: 63 of the 100 rolls")
    assert hypergeom.pmf(0, 100, 3, 63) <= 0.05 < hypergeom.pmf(0, 100, 3, 62)
    named = [int(n) for n in re.search(r"rolls ([\d, ]+) and 23 more", line)[1].split(",")]
    assert named == sorted(draw_order(100, 314)[:63])[:40]


def test_rolls_are_weighed_where_their_weight_can_show_a_coin() -> None:
    plan = replace(PLAN, lot_coins=400, bad_share=0.1)
    step = roll_step(plan, HALVES, 0.175, 15.0)
    assert step is not None
    assert (step.rolls, step.opened, step.coins) == (20, 2, 40)
    assert step.minutes == pytest.approx(20 * 15 / 60 + 40 * 8 / 60)
    said = dict(plan_sections(plan, Circumstances(minutes=14, coins=HALVES)))
    assert said["What to do"][0] == (
        "Weigh the 20 rolls; open the 2 oddest; then measure these 32 coins: 15 minutes if none "
        "is set aside."
    )
    assert "and 27 coins by weight: with none set aside among these" in said["In 14 minutes"][0]
    dimes = Wearing(2.5, 0.035, 0.07)
    wide = replace(plan, roll_coins=50)
    step = roll_step(wide, dimes, 0.175, 15.0)
    assert step is not None
    assert not step.worth_it
    assert step.minutes == 0.0
    said = dict(plan_sections(wide, Circumstances(minutes=14, coins=dimes)))
    assert said["What to do"][0].startswith("Measure these 32 coins: 5 minutes")
    assert "Do not weigh the rolls" in said["What to do"][1]
    assert said["In 14 minutes"][0].startswith("105 coins by weight")
    assert any("weigh such coins singly" in line for line in said["Weighing in groups"])
    assert roll_step(replace(plan, roll_coins=0), HALVES, 0.175, 15.0) is None
    assert roll_step(replace(plan, lot_coins=40), HALVES, 0.175, 15.0) is None  # both opened


def test_wear_and_denomination_change_what_groups_show() -> None:
    at = Circumstances(coins=HALVES, others={"dime": Wearing(2.5, 0.035, 0.07)})
    groups = dict(plan_sections(PLAN, at))["Weighing in groups"]
    (line,) = (line for line in groups if line.startswith("groups of 20"))
    chance, half, twice = (float(n) for n in re.findall(r"([\d.]+) %", line))
    assert twice < chance < half
    assert any("dime, 3.5 % lost:" in line for line in groups)


def test_walds_test_cut_off_keeps_both_risks_and_ends_there() -> None:
    whole = replace(PLAN, method=Method.TWO_LOTS.value)
    short = replace(whole, most_coins=900)
    lines, test = short.lines(), short.goal.two_counts()
    assert lines.most_coins == 900
    truths = np.array([test.clean_coins, test.bad_coins])
    curve = curve_in_lot(lines, 2000, truths)
    assert curve.undecided == pytest.approx(np.zeros(2), abs=1e-10)
    assert 0.0 < curve.measure_all[0] <= test.risk_measure_all
    assert 0.0 < curve.accept[1] <= test.risk_accept
    assert plan_from_text(plan_text(short), "p.toml") == (short, True)
    older = plan_text(whole).replace("most_coins = 0", "#")
    assert plan_from_text(older, "p.toml") == (whole, True)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"most_coins": 300}, "only the method 'two lots' can be cut off"),
        ({"most_coins": 3000, "method": "two lots"}, "must lie between 1 and the lot"),
        ({"most_coins": 40, "method": "two lots"}, r"allow \d+ coins or more"),
    ],
)
def test_a_cut_that_cannot_be_is_refused(changes: dict[str, object], said: str) -> None:
    with pytest.raises(SettingsError, match=said):
        replace(PLAN, **changes)  # type: ignore[arg-type]


def test_a_budget_of_no_time_buys_nothing() -> None:
    said = dict(plan_sections(PLAN, Circumstances(minutes=0.2)))
    (in_time,) = (part for head, part in said.items() if "minutes" in head)
    assert "leave no time" in in_time[0]
    assert in_time[1].startswith("1 coins by weight")
    assert "not one coin" in in_time[2]
    assert coins_in(20, 8.0) == 150
    assert minutes_for(150, 8.0) == 20


def test_what_is_reached_and_what_is_still_expected() -> None:
    bounds = reached(PLAN, 150)
    assert bounds.none < 60 < bounds.one
    lines = PLAN.lines()
    ahead = expected(PLAN, lines, 0, 0)
    assert ahead.if_none_more == 111
    later = expected(PLAN, lines, 60, 1)
    assert later.if_none_more == 225 - 60
    assert later.average_if_bad > 0
    rest = rest_of(lines, 60, 1)
    assert rest.most_coins == 1940
    assert rest.accept[165] == 0


def test_counts_that_say_measure_all_widen() -> None:
    pairs = first_coins_set_aside(PLAN.lines())
    assert pairs[0][0] == 2
    coins = [coins for _, coins in pairs]
    assert coins == sorted(set(coins))


def test_groups_to_open_are_those_that_chance_makes_odd_and_one_more() -> None:
    assert [odd_groups(n) for n in (1, 20, 100)] == [1, 2, 3]


def test_the_command_prints_the_plan_and_its_draw() -> None:
    code, text = _run("--coins", "2000", "--rolls-of", "20", "--seed", "314", "--minutes", "20",
                      "--type", "no such coin", "--standard-limit", "1")  # fmt: skip
    assert code == 5
    assert "is no single type" in text
    code, text = _run("--coins", "2000", "--rolls-of", "20", "--seed", "314", "--minutes", "20",
                      "--type", "us-half-1873", "--standard-limit", "1")  # fmt: skip
    assert code == 0
    for words in ("What to do", "In 20 minutes", "Weighing in groups", "letter K", "1. roll "):
        assert words in text
    code, loose = _run("--coins", "300", "--share", "5", "--seed", "2")
    assert code == 0
    assert "roll" not in loose.split("The draw")[1].split("\n", 1)[1]


def test_the_command_writes_a_plan_once(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    for _ in range(2):
        assert _run("--coins", "2000", "--out", str(path))[0] == 0
    plan, as_written = plan_from_text(path.read_text(encoding="utf-8"), path.name)
    assert as_written
    assert plan.lot_coins == 2000
    code, text = _run("--coins", "1000", "--out", str(path))
    assert code == 6
    assert "not overwritten" in text
    code, text = _run("--coins", "1000", "--out", str(tmp_path / "no" / "plan.toml"))
    assert code == 6


def test_the_command_gives_json() -> None:
    code, text = _run("--coins", "500", "--share", "5", "--json")
    told = json.loads(text)
    assert code == 0
    assert told["plan"]["lot_coins"] == 500
    assert len(told["draw"]) == 500


@pytest.mark.parametrize("option", [("--minutes", "-3"), ("--seconds-all", "0")])
def test_times_that_cannot_be_are_refused(option: tuple[str, str]) -> None:
    code, text = _run("--coins", "300", "--share", "5", *option)
    assert code == 5
    assert "both must be above 0" in text


def test_the_plan_fits_eighty_columns_and_ends_with_what_to_do() -> None:
    code, text = _run("--coins", "400", "--share", "10", "--rolls-of", "20", "--minutes", "20",
                      "--type", "us-half-1873", "--standard-limit", "1")  # fmt: skip
    assert code == 0
    assert max(len(line) for line in text.splitlines()) <= 80
    lead = " ".join(text.split("\n\n")[0].split()[3:])  # the first sentence, below its heading
    end = " ".join(text.split("\n\n")[-1].split())
    assert end.startswith("Weigh the 20 rolls; open the 2 oddest")
    assert lead.startswith(end)


def test_a_lot_too_small_for_its_promise_is_told_so() -> None:
    code, text = _run("--coins", "50", "--share", "5")
    assert code == 5
    assert "measure every coin" in text
