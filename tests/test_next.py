"""What to do next: the value of a test through what one would do otherwise, and of a lot."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from lotscreen.cli import app
from lotscreen.money.limits import cost_of_test, kinds_at_hand
from lotscreen.money.outcomes import Outcomes, value_after, value_now
from lotscreen.money.terms import Terms
from lotscreen.money.triage import LotListed, read_lots, triage
from lotscreen.records import InputError
from lotscreen.second_tests.results import TESTS, kind_of_test

SPOT = ["--spot", "silver=30", "--currency", "USD", "--at", "2026-03-02 14:05"]
SENSITIVITY, SPECIFICITY = 0.95, 0.98
MARGIN, LOSS, COST = 0.54, 10.31, 0.30


def _value(p: float) -> tuple[float, float]:
    """Value of testing first, less its cost, and of the better of paying and refusing."""
    probability = np.array([[1 - p, p]])
    profit, refusal = np.array([[MARGIN, -LOSS]]), np.zeros((1, 2))
    chances = np.array([[SPECIFICITY, 1 - SPECIFICITY], [1 - SENSITIVITY, SENSITIVITY]])
    test = Outcomes(kind_of_test("water_density"), chances)
    pay, refuse = value_now(probability, profit, refusal)
    tested = value_after(probability, profit, test, refusal)
    return float(tested[0]) - COST, max(float(pay[0]), float(refuse[0]))


@pytest.mark.parametrize("p", [0.001, 0.01, 0.03, 0.05, 0.08, 0.2, 0.5])
def test_a_test_is_worth_what_the_rule_of_thumb_says(p: float) -> None:
    """Where one would pay untested: worth it when p x loss x sensitivity less
    (1 - p) x (1 - specificity) x margin exceeds its cost; where one would refuse, when
    (1 - p) x specificity x margin less p x (1 - sensitivity) x loss does."""
    tested, now = _value(p)
    if (1 - p) * MARGIN > p * LOSS:
        rule = p * LOSS * SENSITIVITY - (1 - p) * (1 - SPECIFICITY) * MARGIN - COST
    else:
        rule = (1 - p) * SPECIFICITY * MARGIN - p * (1 - SENSITIVITY) * LOSS - COST
    assert (tested > now) == (rule > 0)
    if rule > 0:
        assert tested - now == pytest.approx(rule)


def test_a_test_without_cost_never_does_harm() -> None:
    for p in np.linspace(0.0, 1.0, 41):
        tested, now = _value(float(p))
        assert tested + COST >= now - 1e-12


def test_special_instruments_are_named_before_they_count() -> None:
    assert {k.key for k in kinds_at_hand(())} == {k.key for k in TESTS if not k.needs}
    assert [k.key for k in kinds_at_hand(("x_ray",))] == ["x_ray"]
    assert cost_of_test(kind_of_test("x_ray"), Terms(wage=60.0)) == pytest.approx(45.0)


def _print_on_friday() -> list[LotListed]:
    """187 lots, 64 of them unmeasured; invented."""
    rng = np.random.default_rng(6)
    return [
        LotListed(f"{n + 1}", float(rng.integers(1, 40)), float(rng.integers(40, 4000)),
                  float(rng.choice([0.005, 0.02, 0.1])), float("nan"), n >= 64)
        for n in range(187)
    ]  # fmt: skip


def test_lots_are_ordered_by_estimate_times_doubt_over_minutes() -> None:
    listed, terms = _print_on_friday(), Terms(loss_multiple=1.0, minutes_a_coin=0.5, wage=0.0)
    found = triage(listed, terms, 0.02, None)
    assert len(found.lots) == 64
    by_hand = {own.lot: own.estimate * own.doubt / (own.coins * 0.5) for own in listed[:64]}
    assert [lot.lot for lot in found.lots] == sorted(by_hand, key=lambda name: -by_hand[name])
    risk = sum(own.estimate * own.doubt for own in listed[:64])
    assert found.at_risk_now == pytest.approx(risk)
    assert found.at_risk_after == pytest.approx(0.0, abs=1e-9)


def test_the_risk_left_falls_with_the_minutes_at_hand() -> None:
    listed, terms = _print_on_friday(), Terms()
    left = [triage(listed, terms, 0.02, m).at_risk_after for m in (0.0, 60.0, 240.0, 5000.0)]
    assert left[0] == pytest.approx(triage(listed, terms, 0.02, None).at_risk_now)
    assert all(a > b for a, b in pairwise(left))
    short = triage(listed, terms, 0.02, 60.0)
    assert short.minutes <= 60.0
    assert short.planned < 64


def test_a_lot_measured_in_the_sheet_is_not_asked_for_again() -> None:
    listed = _print_on_friday()
    found = triage(listed, Terms(), 0.02, None, done={"1", "2"})
    assert len(found.lots) == 62
    assert not {"1", "2"} & {lot.lot for lot in found.lots}


LOTS = """Fund 12 (invented)
Los;Anzahl;Estimate low;Estimate high;Doubt;Min
K-01;1;400;600;high;
K-02;60;1.200,00;1.800,00;2 %;30
K-03;2;40;60;0,01;
K-04;1;;;;
"""


def test_a_list_of_lots_is_read_as_people_write_it(tmp_path: Path) -> None:
    path = tmp_path / "lots.csv"
    path.write_text(LOTS, encoding="utf-8")
    lots = read_lots(path)
    assert [lot.lot for lot in lots] == ["K-01", "K-02", "K-03", "K-04"]
    assert [lot.estimate for lot in lots] == [500.0, 1500.0, 50.0, 0.0]
    assert [lot.doubt for lot in lots[:3]] == pytest.approx([0.1, 0.02, 0.01])
    assert np.isnan(lots[3].doubt)
    assert lots[1].minutes == 30.0
    path.write_text(LOTS.replace("400", "four hundred"), encoding="utf-8")
    with pytest.raises(InputError, match=r"row 3.*low.*four hundred"):
        read_lots(path)
    path.write_text("a;b\n1;2\n", encoding="utf-8")
    with pytest.raises(InputError, match="estimate"):
        read_lots(path)


def test_the_sheet_of_measurements_is_a_list_of_lots(tmp_path: Path) -> None:
    path = tmp_path / "fund.csv"
    path.write_text(
        "lot,sub,description,W (g),estimate low,estimate high\n"
        "1,a,half,12.41,40,60\n2,a,half,,40,60\n  ,b,half,12.3,20,30\n3,,crown,n/a,100,200\n",
        encoding="utf-8",
    )
    one, two, three = read_lots(path)
    assert (one.measured, two.measured, three.measured) == (True, False, False)
    assert (two.coins, two.estimate, three.estimate) == (2.0, 75.0, 150.0)


def test_the_command_orders_lots_and_says_what_is_left(tmp_path: Path) -> None:
    path = tmp_path / "lots.csv"
    path.write_text(LOTS, encoding="utf-8")
    run = CliRunner().invoke(app, ["next", "--lots", str(path), "--minutes", "10"])
    assert run.exit_code == 0, run.output
    assert max(map(len, run.stdout.splitlines())) <= 80
    assert "1. lot K-01" in run.stdout
    assert "Risk left if one stops tonight: 241.50" in run.stdout.replace("\n  ", " ")
    told = json.loads(CliRunner().invoke(app, ["next", "--lots", str(path), "--json"]).stdout)
    assert [lot["lot"] for lot in told["lots"]] == ["K-01", "K-02", "K-03", "K-04"]
    assert not told["lots"][3]["worth_it"]


def test_the_command_says_when_no_test_is_worth_it() -> None:
    dear = ["next", "sample_lots/all_honest.csv", *SPOT, "--have", "x_ray"]
    run = CliRunner().invoke(app, dear)
    assert run.exit_code == 0, run.output
    assert "No test at hand is worth its minutes or fee" in run.stdout
    assert "Not advice" in run.stdout


def test_the_command_asks_for_the_spot() -> None:
    run = CliRunner().invoke(app, ["next", "sample_lots/all_honest.csv"])
    assert run.exit_code == 2
    assert "--spot" in run.output
    assert CliRunner().invoke(app, ["next"]).exit_code == 2


@pytest.mark.slow
def test_a_dear_coin_is_worth_a_laboratory_where_a_cheap_one_is_not() -> None:
    def tests_at(price: str) -> int:
        asked = ["next", "sample_lots/tin_box.xlsx", "--unit", "grain", "--sells-for", price]
        run = CliRunner().invoke(app, [*asked, "--have", "x_ray", "--json"])
        assert run.exit_code in (0, 3), run.output
        told = json.loads(run.stdout)
        assert all(test["gain"] > 0 for test in told["tests"])
        assert told["loss_left"][0] >= told["loss_left"][1]
        return len(told["tests"])

    assert tests_at("100") < tests_at("20000")
