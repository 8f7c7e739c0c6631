"""Bags and rolls weighed whole: count and wear, what could hide, which to open."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from typer.testing import CliRunner

from lotscreen.cli import app
from lotscreen.lot.bag import (
    BagWeighing,
    bag_statement,
    hidden_by_uncertainty,
    ounces,
    wear_of_type,
    wear_stated,
)
from lotscreen.lot.bag_words import bag_sentences
from lotscreen.lot.groups import group_statements, opening_order
from lotscreen.records import ItemTable, SettingsError
from lotscreen.settings import Settings
from lotscreen.standards import load_standards
from lotscreen.wear import Fit, GaugeFit
from lotscreen.wear.fit import fit

STANDARDS = load_standards()
HALF = STANDARDS.get("us-half-1873")
BAG = BagWeighing(HALF, 24_690.0, 0.6, 0.0002, 2000)
WORN = wear_stated(0.012, 0.002)


def test_shares_that_hide_where_wear_is_known_so_well() -> None:
    """One-sided 95 %, each stranger 17.5 % light: 1.9 % and 4.7 % of the bag."""
    assert hidden_by_uncertainty(0.002, 0.175) == pytest.approx(0.019, abs=0.0005)
    assert hidden_by_uncertainty(0.005, 0.175) == pytest.approx(0.047, abs=0.0005)
    assert hidden_by_uncertainty(0.5, 0.175) == 1.0


def test_count_and_wear_go_together() -> None:
    found = bag_statement(replace(BAG, count=None), WORN, 0.175)
    assert found.counts[0] < 2000 < found.counts[1]
    assert found.losses[0] < 0.0124 < found.losses[1]
    assert found.loss_per_coin == pytest.approx(1 / 2000, rel=0.03)
    for count, loss in zip(found.counts, found.losses, strict=True):
        assert count * HALF.weight_g * (1 - loss) == pytest.approx(24_690)
    assert found.expected_g is None
    assert found.hidden_share is None


def test_the_interval_of_counts_holds_as_often_as_it_says() -> None:
    rng = np.random.default_rng(7)
    held = 0
    for _ in range(200):
        loss = rng.normal(0.012, 0.002)
        net = 2000 * 12.5 * (1 - loss) * (1 + rng.normal(0, 0.0002)) + rng.normal(0, 0.6)
        found = bag_statement(BagWeighing(HALF, net, 0.6, 0.0002, None), WORN, 0.175)
        held += found.counts[0] <= 2000 <= found.counts[1]
    assert 180 <= held <= 199


def test_a_bag_of_the_claimed_count_agrees_and_others_do_not() -> None:
    found = bag_statement(BAG, WORN, 0.175)
    assert found.expected_g is not None
    assert found.loss_if_count is not None
    assert found.rate is not None
    assert found.expected_g[0] < 24_690 < found.expected_g[1]
    assert found.loss_if_count[0] == pytest.approx(0.0124)
    assert found.rate > 0.5
    for net, word in ((24_300.0, "lighter than that"), (25_080.0, "heavier than that")):
        off = bag_statement(replace(BAG, net_g=net), WORN, 0.175)
        assert off.rate is not None
        assert off.rate < 0.05
        assert any(word in said for said in bag_sentences(off, True, True))
    heavy = " ".join(bag_sentences(off, True, True))
    (tare,) = re.findall(r"A tare of (\d+) g not taken off", heavy)
    assert int(tare) == pytest.approx(25_080 - 25_000 * (1 - 0.012), abs=20)


@pytest.mark.parametrize(
    ("net", "count", "explained"), [(500.0, 80, "few"), (24.7, 5, "few"), (9170.0, 500, "many")]
)
def test_the_coins_that_explain_a_weight_agree_with_count_and_wear(
    net: float, count: int, explained: str
) -> None:
    weighing = BagWeighing(HALF, net, 0.03, 0.001, count)
    found = bag_statement(weighing, wear_of_type(HALF), 0.175)
    said = " ".join(bag_sentences(found, True, True))
    (off,) = re.findall(rf"([\d.]+) coins too {explained}", said)
    there = count + float(off) if explained == "many" else count - float(off)
    assert found.counts[0] - 0.5 < there < found.counts[1] + 0.5


def test_more_could_hide_in_a_lighter_bag() -> None:
    shares = [
        bag_statement(replace(BAG, net_g=net), WORN, 0.175).hidden_share
        for net in (24_750.0, 24_690.0, 24_500.0)
    ]
    assert None not in shares
    assert shares == sorted(shares)  # type: ignore[type-var]
    mean_room = 0.0124 - WORN.quantile(0.05) + 1.645 * 0.0002
    assert shares[1] == pytest.approx(mean_room / 0.175, rel=0.01)


def test_a_known_error_of_scale_is_allowed_for() -> None:
    off = replace(BAG, net_g=24_690 * 1.003, scale_error=0.003)
    found, true = bag_statement(off, WORN, 0.175), bag_statement(BAG, WORN, 0.175)
    assert found.loss_if_count == pytest.approx(true.loss_if_count)
    assert found.counts == true.counts


def test_ounces_by_weight_and_by_face() -> None:
    held = ounces(BAG)
    assert held is not None
    assert held.fine == pytest.approx(714.42, abs=0.005)
    assert (held.face, held.by_worn, held.by_struck) == (1000.0, 715.0, 723.0)
    assert held.per_thousand == pytest.approx(714.42, abs=0.005)
    struck = ounces(replace(BAG, net_g=25_000.0))
    assert struck is not None
    assert struck.per_thousand == pytest.approx(723.39, abs=0.005)
    dollar = ounces(BagWeighing(STANDARDS.get("us-dollar-1840"), 26_730.0, 0.6, 0.001, 1000))
    assert dollar is not None
    assert (dollar.face, dollar.by_worn) == (1000.0, None)  # 773 ounces: no such reckoning
    shilling = ounces(BagWeighing(STANDARDS.get("uk-shilling-1816"), 5000.0, 0.6, 0.001, 900))
    assert shilling is not None
    assert shilling.face is None


def test_the_allowance_of_a_type_is_wide() -> None:
    allowance = wear_of_type(HALF)
    assert allowance.quantile(0.025) < 0.01 < 0.03 < allowance.quantile(0.975)
    assert sum(allowance.weights) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (lambda: replace(BAG, net_g=0.0), "net weight 0"),
        (lambda: replace(BAG, count=0), "count is 0"),
        (lambda: replace(BAG, net_g=1e12), "no more than a million coins"),
        (lambda: bag_statement(BAG, wear_of_type(HALF), 0.0), "lacks 0 %"),
        (lambda: wear_stated(0.0, 0.01), "mean loss 0"),
    ],
)
def test_figures_out_of_range_are_named(wrong, said: str) -> None:
    with pytest.raises(SettingsError, match=said):
        wrong()


def _run(*arguments: str) -> tuple[int, str, str]:
    result = CliRunner().invoke(app, ["bag", *arguments])
    return result.exit_code, " ".join(result.stdout.split()), result.stderr


def test_the_command_says_what_the_weight_can_say() -> None:
    code, said, _ = _run("--type", "us-half-1873", "--gross", "24770", "--tare", "80",
                         "--count", "2000", "--check", "1000=1000")  # fmt: skip
    assert code == 0
    assert "The weight agrees with the count: it means a mean loss of 1.24 %" in said
    assert "715.0 ounces at 715" in said
    assert "both common practice, no source" in said
    assert "weigh the empty bag" not in said
    code, said, _ = _run("--type", "us-half-1873", "--net", "24690")
    assert "weigh the empty bag" in said
    assert "No check weight was read" in said


def test_the_command_gives_json() -> None:
    code, said, _ = _run("--type", "us-half-1873", "--net", "24690", "--count", "2000", "--loss",
                         "1.2", "--loss-sd", "0.2", "--json")  # fmt: skip
    told = json.loads(said)
    assert code == 0
    assert told["count"] == 2000
    assert told["counts_95"][0] < 2000 < told["counts_95"][1]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--net", "1", "--tare", "2"), "not both"),
        ((), "give the weight"),
        (("--gross", "80", "--tare", "90"), "below --gross"),
        (("--gross", "80", "--tare", "-5"), "0 or more"),
        (("--net", "100", "--loss", "2"), "belong together"),
    ],
)
def test_the_command_asks_for_what_it_needs(arguments: tuple[str, ...], said: str) -> None:
    code, _, error = _run("--type", "us-half-1873", *arguments)
    assert code == 2
    assert said in " ".join(error.replace("│", " ").split())


def _groups(weights: list[float], heights: list[float] | None = None) -> ItemTable:
    n = len(weights)
    weight = np.array(weights)
    blank, nan, none = np.full(n, "", object), np.full(n, np.nan), np.zeros(n, np.int64)
    ids = np.array([f"g{i}" for i in range(n)], object)
    height = nan if heights is None else np.array(heights)
    return ItemTable(
        item_id=ids, kind=np.full(n, "group", object), count=np.full(n, 20), lot=blank,
        type_text=blank, type_key=np.full(n, HALF.key, object), type_note=blank, year=nan,
        group=ids, order=np.arange(n), weight_g=weight, weight_low_g=weight - 0.05,
        weight_high_g=weight + 0.05, weight_u_g=np.full(n, 0.07), weight_n=none + 1,
        weight_step_g=np.full(n, 0.1), diameter_mm=nan, diameter_min_mm=nan,
        diameter_max_mm=nan, diameter_u_mm=nan, diameter_n=none, thickness_mm=height,
        thickness_u_mm=np.full(n, 0.02), thickness_n=none + 1, doubtful=none > 0,
        suspended=none > 0,
    )  # fmt: skip


def _fit(table: ItemTable) -> Fit:
    return fit(table, STANDARDS, Settings(), 0)


def test_the_oddest_group_is_opened_first() -> None:
    weights = [246.8, 247.0, 246.6, 244.6, 247.1, 246.9, 247.9, 246.7]
    table = _groups(weights)
    stated = group_statements(table, [str(i) for i in range(8)], _fit(table), Settings())
    ranks = opening_order(stated)
    assert ranks["g3"] == 1
    assert ranks["g6"] == 2
    assert sorted(ranks.values()) == list(range(1, 9))
    few = opening_order(stated[:4])
    assert few["g3"] in (1, 4)  # two or three groups say little: by the allowance for wear
    assert opening_order(()) == {}


def test_a_tall_stack_of_the_right_weight_is_set_aside() -> None:
    table = _groups([246.8, 246.8, 246.8], [43.0, 43.9, np.nan])
    fitted = _fit(table)
    known = replace(
        fitted,
        types={
            HALF.key: replace(
                _type_fit(), thickness=GaugeFit(2.16, -1.0, 0.03, 0.002, 50.0, 60, "")
            )
        },
    )
    stated = group_statements(table, ["1", "2", "3"], known, Settings())
    assert [s.finding for s in stated] == ["consistent", "set aside", "consistent"]
    assert "taller than expected: 43.90 mm" in stated[1].reason
    assert "43.00 mm high" in stated[0].reason
    assert [s.odd for s in stated] == ["", "height", ""]
    assert "mm" not in stated[2].reason


def test_a_roll_says_whether_weight_height_or_both_are_odd() -> None:
    heights = [43.0, 43.1, 43.2, 43.0, 43.1, 44.6, 43.2, 43.0, 43.1, 44.7]
    weights = [246.8, 247.0, 200.0, 246.7, 247.1, 246.9, 246.8, 246.7, 247.0, 200.0]
    table = _groups(weights, heights)
    stated = group_statements(table, [str(i) for i in range(10)], _fit(table), Settings())
    odd = {s.coin_id: s.odd for s in stated if s.finding == "set aside"}
    assert odd == {"2": "weight", "5": "height", "9": "both"}
    assert "lighter than" in stated[9].reason
    assert "taller than" in stated[9].reason
    assert "taller than" not in stated[2].reason


def test_stacks_of_rolls_alone_are_compared_with_one_another() -> None:
    heights = [43.0, 43.1, 43.2, 43.0, 43.1, 44.6, 43.2, 43.0, 43.1, 42.0]
    table = _groups([246.8, 247.0, 246.6, 246.7, 247.1, 246.9, 246.8, 246.7, 247.0, 246.9], heights)
    stated = group_statements(table, [str(i) for i in range(10)], _fit(table), Settings())
    assert [s.finding for s in stated].count("set aside") == 1
    assert "taller than expected: 44.60 mm" in stated[5].reason
    assert opening_order(stated)["g5"] == 1
    assert opening_order(stated)["g9"] > 1  # a low stack points to wear, which weight shows
    few = group_statements(table.rows(np.arange(4, 7)), list("abc"), _fit(table), Settings())
    assert all(np.isnan(s.stack_off_sd) for s in few)


def _type_fit():
    from lotscreen.instruments import ScaleBelief
    from lotscreen.wear.fit import unfitted

    return unfitted(HALF, ScaleBelief(0.0, 0.001, False), Settings())


def test_a_roll_of_one_date_is_expected_to_have_worn_as_its_date() -> None:
    table = _groups([246.8, 246.8, 246.8])
    dated = replace(table, year=np.array([1964.0, 1917.0, np.nan]))
    new, old, undated = group_statements(dated, list("abc"), _fit(dated), Settings())
    assert new.expected_weight_g > old.expected_weight_g
    assert new.expected_low_g > old.expected_low_g
    assert new.expected_high_g - new.expected_low_g < old.expected_high_g - old.expected_low_g
    (plain,) = group_statements(table.rows(np.array([2])), ["c"], _fit(dated), Settings())
    assert undated.expected_weight_g == pytest.approx(plain.expected_weight_g)
