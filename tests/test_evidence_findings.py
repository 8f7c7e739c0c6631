"""Each finding, its order and its first reason, through the doors."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from published import Weighing, frames, screened
from scipy.stats import binomtest

from lotscreen.evidence import judge, mechanisms, second_tests
from lotscreen.evidence.mechanisms import MECHANISMS, Mechanism
from lotscreen.evidence.points import Point, log_evidence, point_table
from lotscreen.evidence.second_tests import SecondTest, telling_test
from lotscreen.evidence.suspension import settle_suspended, with_failed_checks, without_error
from lotscreen.evidence.wording import next_test
from lotscreen.instruments import CheckReading, ScaleBelief, instruments_of
from lotscreen.intake import ReadOptions
from lotscreen.records import Findings, ItemTable
from lotscreen.screening import read, screen
from lotscreen.settings import Settings
from lotscreen.simulate.bodies import strike
from lotscreen.simulate.kinds import clip
from lotscreen.simulate.specs import Gauge
from lotscreen.simulate.writing import felt_diameter
from lotscreen.standards import load_standards
from lotscreen.summary import summarise
from lotscreen.wear import Fit, TypeFit, fit
from lotscreen.wear.fit import unfitted, with_types

HALF = "us-half-1873"


def _halves(extra: list[Weighing]) -> tuple[ItemTable, Fit, Findings]:
    """Sixty halves losing 0.1 to 3 % by age, then ``extra``."""
    mates = [
        Weighing("US half dollar", 1900 + n, round(12.5 * (1 - 0.03 * (64 - n) / 64 * f), 2), 0.01)
        for n in range(0, 60, 3)
        for f in (0.3, 0.8, 1.5)
    ]
    return screened([*mates, *extra])


def _half(weight: float, year: int | None = 1930) -> Weighing:
    return Weighing("US half dollar", year, weight, 0.01)


def test_honest_coins_are_consistent_and_one_light_weighing_only_set_aside() -> None:
    _, _, found = _halves([_half(10.35)])
    assert set(found.finding[:-1]) == {"consistent"}
    assert found.finding[-1] == "set aside"
    assert found.reason[-1].startswith("lighter than expected")
    assert "another metal at the right size" in found.explanations[-1]


def test_heavy_coins_are_found_too() -> None:
    _, _, found = _halves([_half(13.1)])
    assert found.finding[-1] == "set aside"
    assert found.reason[-1].startswith("heavier than the standard")


def test_a_decimal_slip_is_to_be_measured_again_with_the_proposal() -> None:
    _, _, found = _halves([_half(122.4), _half(21.43)])
    assert list(found.finding[-2:]) == ["re-measure", "re-measure"]
    assert "12.24" in found.reason[-2]
    assert "12.43" in found.reason[-1]


def test_coin_of_another_type_on_file_is_named() -> None:
    """A 40 % half (11.5 g) under the date 1964."""
    table, _, found = _halves([_half(11.46, 1964)])
    assert table.type_key[-1] == HALF
    assert found.finding[-1] == "set aside"
    assert found.other_type[-1] == "us-half-1965"
    assert "consistent with us-half-1965" in found.reason[-1]


def test_not_judged_without_standard_weight_or_fine_enough_balance() -> None:
    nothing = replace(_half(12.3), weight_g=float("nan"))
    coarse = Weighing("US dime", 1930, 2.0, 1.0)
    table, _, found = _halves([Weighing("a button", 1900, 3.0, 0.01), nothing, coarse])
    assert list(found.finding[-3:]) == ["not judged"] * 3
    assert list(found.reason_code[-3:]) == ["no_standard", "no_weight", "too_coarse"]
    assert np.isnan(found.score[-2])
    assert table.weight_n[-2] == 0


def test_a_coin_without_lot_mates_says_so() -> None:
    table, _, found = screened([Weighing("UK crown", 1821, 27.9, 0.01)])
    assert table.type_key[0].startswith("uk-crown")
    assert found.finding[0] == "consistent"
    assert "no lot-mates" in found.reason[0]


def test_a_lot_wholly_off_does_not_pass_because_it_agrees_with_itself() -> None:
    """Brass halves only: each is compared with the standard too."""
    coins = [_half(round(10.34 + 0.01 * (n % 7), 2), 1920 + n) for n in range(30)]
    _, _, found = screened(coins)
    assert np.count_nonzero(found.finding == "set aside") == 30


def test_a_coin_without_date_is_judged_as_its_lot_mates() -> None:
    table, _, found = _halves([_half(12.1, None)])
    assert table.type_key[-1] == HALF
    assert "no date" in table.type_note[-1]
    assert found.finding[-1] == "consistent"


def test_probability_only_with_the_users_own_rate() -> None:
    table, fitted, found = _halves([_half(10.35)])
    assert np.isnan(found.prob_not_honest).all()
    with_rate = judge(table, fitted, Settings(own_rate=0.01))
    lr = 10 ** found.log10_lr[-1]
    assert with_rate.prob_not_honest[-1] == pytest.approx(lr / (lr + 99), rel=1e-9)


def test_score_orders_both_sides_and_the_rate_follows_it() -> None:
    """Further off scores higher; no rate is above what the score allows (Markov: the mean
    likelihood ratio of honest coins is one)."""
    _, fitted, found = _halves([_half(11.9), _half(11.4), _half(10.4), _half(13.4)])
    assert found.score[-4] < found.score[-3] < found.score[-2]
    assert found.score[-1] > found.score[-4]
    assert (found.p_value[found.score > 0] <= 10 ** -found.score[found.score > 0] * 1.0001).all()
    # Seven tenths of the score is what the lot's own departures say, less where they are few;
    # pieces of the right weight, which look honest, keep a tenth of it.
    departing = fitted.types[HALF].departing_share * fitted.types[HALF].coins
    own = 0.9 * 0.7 * departing / (departing + 2)
    assert 0.2 < own < 0.5
    assert (found.log10_lr <= found.score - np.log10(own) + 1e-9).all()
    assert (found.log10_lr[-4:] != found.score[-4:]).any()


def test_a_failed_check_suspends_the_coins_around_it() -> None:
    """Coins between the last good check and the next whose finding the error changes."""
    table, fitted, found = _halves([_half(11.3), _half(10.2)])
    checks = (
        CheckReading("a", 50, 20.0, 20.0, 0.01, 0.03),
        CheckReading("b", 61, 20.0, 19.0, 0.01, 0.03),
    )
    marked = with_failed_checks(table, checks, ())
    assert not marked.suspended[:51].any()
    assert marked.suspended[51:].all()
    anew = with_failed_checks(table, checks, {str(table.item_id[-1])})
    assert anew.suspended[51:-1].all()
    assert not anew.suspended[-1]
    corrected = judge(without_error(marked, checks), fitted, Settings())
    settled = settle_suspended(found, corrected, marked)
    assert settled.finding[-2] == "re-measure"
    assert settled.reason_code[-2] == "check_failed"
    assert settled.finding[-1] == "set aside"
    assert with_failed_checks(table, checks[:1], ()) is table


def test_a_coin_judged_alone_is_judged_as_in_its_lot() -> None:
    table, fitted, found = _halves([_half(10.35)])
    for row in (0, 30, len(table) - 1):
        alone = judge(table.rows(slice(row, row + 1)), fitted, Settings())
        assert alone.p_value[0] == pytest.approx(found.p_value[row], rel=1e-12)


def test_repeated_weighings_collapse_and_speak_louder() -> None:
    items, readings = frames([_half(10.35)])
    twice = readings.assign(repeat=2, value=10.36)
    both = type(readings)(
        [*readings.itertuples(index=False), *twice.itertuples(index=False)],
        columns=readings.columns,
    )
    table = summarise(items, both, instruments_of(both, Settings()))
    assert table.weight_n[0] == 2
    assert table.weight_g[0] == pytest.approx(10.355)
    assert table.weight_high_g[0] - table.weight_low_g[0] == pytest.approx(0.005)


def test_adding_a_mechanism_is_one_function_and_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """A register entry of points is enough: it is weighed beside the others."""

    def drilled_and_filled(_: TypeFit) -> list[Point]:
        return [Point(weight=1.18, weight_sd=0.004)]

    entry = Mechanism("lighter_alloy", "departure", 0.05, drilled_and_filled)
    monkeypatch.setattr(mechanisms, "MECHANISMS", [*MECHANISMS, entry])
    _, fitted, _ = _halves([])
    fit = fitted.types[HALF]
    table = point_table([m.points(fit) for m in mechanisms.MECHANISMS])
    from lotscreen.evidence.readings import departures

    heavy, _, _ = screened([_half(14.7)])
    readings = departures(heavy, fit, np.zeros(1, np.bool_)).readings
    evidence = log_evidence(readings, fit, table, len(mechanisms.MECHANISMS))[0]
    assert int(np.argmax(evidence)) == len(mechanisms.MECHANISMS) - 1
    assert sum(m.share for m in MECHANISMS if m.side == "departure") == pytest.approx(1.0)
    honest = sum(m.share for m in MECHANISMS if m.side == "honest")
    assert honest + mechanisms.OTHER_TYPE_SHARE == pytest.approx(1.0)


def test_a_reference_piece_lets_thickness_speak_without_lot_mates() -> None:
    """Four crowns and one known piece: the thick one is found, the reference not judged."""
    sheet = pd.DataFrame(
        {
            "coin_id": ["1", "2", "3", "4", "known"],
            "type": ["UK crown 1821"] * 5,
            "date": [1821, 1821, 1822, 1821, 1821],
            "weight_g": [27.95, 27.80, 27.90, 28.02, 28.10],
            "thickness_mm": [2.92, 2.90, 2.93, 3.45, 2.94],
        }
    )
    without = screen(sheet[:4])
    assert without.findings.finding[3] == "consistent"
    intake = read(sheet, ReadOptions())
    items = intake.items.assign(kind=["coin"] * 4 + ["reference"])
    settings = Settings()
    table = summarise(items, intake.readings, instruments_of(intake.readings, settings))
    table = with_types(table, load_standards())
    fitted = fit(table, load_standards(), settings, seed=0)
    found = judge(table, fitted, settings)
    assert list(found.finding[:3]) == ["consistent"] * 3
    assert found.finding[3] == "set aside"
    assert found.reason[3].startswith("thicker than")
    assert found.finding[4] == ""
    assert found.of(3).explanations[0][0] == "same_weight"


def test_adding_a_second_test_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    entry = SecondTest("look_at_surface", frozenset({"same_size"}))
    assert telling_test("same_size") == "water_density"
    monkeypatch.setattr(second_tests, "TESTS", [entry, *second_tests.TESTS])
    _, _, found = _halves([_half(10.35)])
    assert found.next_test[-1] == next_test("look_at_surface")
    told = {key for test in second_tests.TESTS for key in test.tells}
    assert {m.key for m in MECHANISMS} | {"other_type"} == told


@pytest.mark.parametrize(
    ("weight", "diameter", "thickness"),
    [(400.0, 55.0, 2.1), (12.4, 30.6, 40.0), (0.9, 30.6, 2.1), (12.4, 250.0, 2.1)],
)
def test_a_reading_beyond_all_densities_is_never_consistent(
    weight: float, diameter: float, thickness: float
) -> None:
    """Where both sides of the ratio vanish, the farthest reading speaks by itself."""
    rows = [
        ["US half dollar", 1940, round(12.5 - 0.01 * n, 2), 30.6, round(2.15 - 0.005 * n, 2)]
        for n in range(12)
    ]
    rows.append(["US half dollar", 1940, weight, diameter, thickness])
    columns = ["type", "date", "weight_g", "diameter_mm", "thickness_mm"]
    result = screen(pd.DataFrame(rows, columns=columns))
    assert result.findings.finding[-1] in {"re-measure", "set aside", "not consistent"}
    assert result.findings.p_value[-1] < 1e-20
    assert set(result.findings.finding[:-1]) == {"consistent"}


@pytest.mark.parametrize("depth_mm", [0.5, 1.2, 2.7])
def test_one_diameter_meets_a_clip_as_often_as_a_clip_is_long(depth_mm: float) -> None:
    """The points of a clipped coin against diameters taken of clipped discs at random."""
    half = load_standards().get(HALF)
    across = half.diameter_mm or 0.0
    rng = np.random.default_rng(17)
    discs = strike(half, np.full(40_000, 1900), (), 0.0, rng)
    discs = replace(discs, diameter_mm=np.full(40_000, across))
    taken = felt_diameter(clip(discs, np.full(40_000, depth_mm)), Gauge(sd_mm=1e-6), rng)
    points = mechanisms.clipped(unfitted(half, ScaleBelief(0.0, 0.001, False), Settings()))
    here = [p for p in points if p.out_of_round_mm == depth_mm]
    met = sum(p.prior for p in here if p.diameter < 1) / sum(p.prior for p in here)
    low, high = binomtest(int((taken < across - 1e-4).sum()), 40_000).proportion_ci(0.999)
    assert low <= met <= high
    short = [p for p in here if p.diameter < 1]
    mean = sum(p.prior * (1 - p.diameter) for p in short) / sum(p.prior for p in short)
    missing = across - taken[taken < across - 1e-4]
    assert mean * across == pytest.approx(float(missing.mean()), rel=0.25)
