"""Second tests: errors that repeats share, what each test tells, what is said of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from reference import water_tanaka_2001 as tanaka
from scipy.stats import multivariate_normal

from lotscreen.records import InputError
from lotscreen.screening import Screening, screen
from lotscreen.second_tests.explained import Explained, explained, shares_by_mechanism
from lotscreen.second_tests.likelihood import Run, log_likelihood, run_of, tail_chance
from lotscreen.second_tests.metals import load_metals, metal_of
from lotscreen.second_tests.results import SecondResult
from lotscreen.second_tests.together import LotExplained, with_results
from lotscreen.second_tests.told import coin_sentences
from lotscreen.second_tests.update import CoinWithTests
from lotscreen.second_tests.water import density_from_immersed, water_density
from lotscreen.standards import load_standards
from lotscreen.standards.alloys import load_alloys

NO_SHIFT = ((1.0, 0.0),)
ROLL_3 = {"group": "3", "coin": "3"}  # set aside: read like a clad half


@pytest.fixture(scope="module")
def jar() -> Screening:
    return screen("sample_lots/jar_of_halves.xlsx", again=False)


_BEFORE: dict[int, Mapping[str, Explained]] = {}


def with_tests(lot: Screening, *results: SecondResult) -> LotExplained:
    if id(lot) not in _BEFORE:
        _BEFORE[id(lot)] = explained(lot.table, lot.fit, lot.findings, lot.settings)
    return with_results(
        _BEFORE[id(lot)], lot.intake.items, lot.table, lot.fit, lot.settings, results
    )


def one(lot: Screening, *results: SecondResult) -> CoinWithTests:
    (coin,) = with_tests(lot, *results).tested
    return coin


def after(coin: CoinWithTests, key: str) -> float:
    return shares_by_mechanism(coin.hypotheses, coin.after).get(key, 0.0)


def metal_share(coin: CoinWithTests, metal: str) -> float:
    at = [h.metal.key == metal for h in coin.hypotheses]
    return float(coin.after[at].sum())


@pytest.mark.parametrize(("celsius", "kg_m3"), tanaka.TANAKA_KG_M3.items())
def test_water_is_as_dense_as_published(celsius: int, kg_m3: float) -> None:
    assert 1000 * water_density(celsius) == pytest.approx(kg_m3, abs=6e-5)


@pytest.mark.parametrize(("celsius", "kg_m3"), tanaka.IAPWS_95_KG_M3.items())
def test_water_agrees_with_another_formulation(celsius: int, kg_m3: float) -> None:
    assert 1000 * water_density(celsius) == pytest.approx(kg_m3, abs=1.3e-3)


def test_a_sovereign_in_water() -> None:
    density = density_from_immersed(tanaka.SOVEREIGN_AIR_G, tanaka.SOVEREIGN_IMMERSED_G, 20.0)
    assert density == pytest.approx(tanaka.SOVEREIGN_DENSITY, abs=5e-4)


def test_water_that_is_no_water_is_refused() -> None:
    with pytest.raises(InputError, match="0 to 40"):
        water_density(98.6)


def test_every_alloy_on_file_has_what_second_tests_see() -> None:
    assert set(load_metals()) == set(load_alloys())


def test_every_type_is_of_a_metal_on_file() -> None:
    for coin_type in load_standards().types:
        metal = metal_of(coin_type)
        on_file = load_metals()[metal.key]
        assert abs(on_file.density_g_cm3 - coin_type.density_g_cm3) < 0.06, coin_type.key
        assert metal.key.split("-")[0] in coin_type.metal.replace(" ", "-") or metal.key in (
            "manganese-brass", "nickel-brass", "nordic-alloy", "zinc-copper-plated",
        ), coin_type.key  # fmt: skip


def test_repeats_with_a_shared_offset_weigh_as_their_joint_distribution_says() -> None:
    """Against the multivariate normal of all readings, written out."""
    values, offset, repeat = [10.30, 10.35, 10.31, 10.28], 0.08, 0.03
    run = Run(float(np.mean(values)), 4, repeat, offset, NO_SHIFT, 1e-280, 20.0)
    mean, sd = np.array([10.31, 8.55, 10.15]), np.array([0.03, 0.12, 0.03])
    written_out = []
    for m, s in zip(mean, sd, strict=True):
        covariance = (offset**2 + s**2) * np.ones((4, 4)) + repeat**2 * np.eye(4)
        written_out.append(multivariate_normal(np.full(4, m), covariance).logpdf(values))
    found = log_likelihood([run], mean, sd)
    assert np.diff(found) == pytest.approx(np.diff(written_out), rel=1e-9)


def test_two_instruments_share_the_coin_and_not_the_offset() -> None:
    runs = [Run(10.40, 3, 0.03, 0.08, NO_SHIFT, 1e-280, 20.0),
            Run(10.20, 1, 0.05, 0.02, NO_SHIFT, 1e-280, 20.0)]  # fmt: skip
    mean, sd = np.array([10.31, 10.0]), np.array([0.03, 0.1])
    written_out = [
        multivariate_normal([m, m], s**2 * np.ones((2, 2)) + np.diag([r.sd**2 for r in runs]))
        .logpdf([10.40, 10.20])
        for m, s in zip(mean, sd, strict=True)
    ]  # fmt: skip
    assert log_likelihood(runs, mean, sd) == pytest.approx(written_out, rel=1e-9)


def test_repeats_do_not_lower_the_offset() -> None:
    spread = [run_of([10.0] * n, 0.05, 0.1, NO_SHIFT, 0.01, 20.0).sd for n in (1, 50, 5000)]
    assert spread[0] > spread[1] > spread[2] >= 0.1


def test_repeats_that_scatter_more_than_declared_count_for_less() -> None:
    run = run_of([9.8, 10.4, 10.1], 0.01, 0.05, NO_SHIFT, 0.01, 20.0)
    assert run.repeat_sd == pytest.approx(0.3)


def test_what_a_run_can_say_is_bounded() -> None:
    """A reading a hundred sds away from one metal and on another: no more than the chance
    that the whole run says nothing."""
    run = Run(10.3, 10_000, 0.01, 0.01, NO_SHIFT, 0.01, 20.0)
    found = log_likelihood([run], np.array([10.3, 8.5]), np.array([0.01, 0.01]))
    most = np.log(0.99 / (np.sqrt(2 * np.pi) * 0.014) / (0.01 / 20.0) + 1)
    assert found[0] - found[1] == pytest.approx(most, abs=0.05)
    assert tail_chance(run, np.array([8.5]), np.array([0.01]))[0] < 1e-10


def test_fifty_weighings_in_water_on_a_biased_balance_leave_the_doubt(jar: Screening) -> None:
    """A balance that reads the displaced water two of its offsets too high: fifty times says
    hardly more than five times, and the coin is not lost to it."""
    row = 5
    weight = float(jar.table.weight_g[row])
    displaced = weight * water_density(20.0) / 10.31 + 0.02
    rng = np.random.default_rng(1)

    def many(n: int) -> CoinWithTests:
        read = displaced + 0.01 * rng.standard_normal(n)
        coin = str(jar.intake.items["item_id"].iloc[row])
        return one(jar, *(
            SecondResult(coin, "water_density", displaced_g=float(d), step=0.01, instrument="b1",
                         temperature_c=20.0)
            for d in read
        ))  # fmt: skip

    five, fifty = many(5), many(50)
    assert fifty.said[0].repeats == 50
    assert fifty.said[0].shown_sd > 0.8 * five.said[0].shown_sd
    assert abs(fifty.said[0].log10_lr - five.said[0].log10_lr) < 0.3
    assert after(fifty, "wear") > 0.5
    assert fifty.said[0].fits


def test_weighing_again_tells_a_slip_and_no_metal(jar: Screening) -> None:
    """Fifty re-weighings that agree: shares among explanations that are no slip stay."""
    light = int(np.flatnonzero(jar.findings.finding == "set aside")[3])
    coin = str(jar.intake.items["item_id"].iloc[light])
    again = [
        SecondResult(coin, "re_weigh", value=float(jar.table.weight_g[light]), step=0.01)
        for _ in range(50)
    ]
    found = one(jar, *again)
    kept = [h.mechanism for h in found.hypotheses]
    slips = [
        k.endswith(("slip", "digit", "digits", "unit", "pan", "swapped", "tared")) for k in kept
    ]
    same = ~np.array(slips)
    before = found.before[same] / found.before[same].sum()
    left = found.after[same] / found.after[same].sum()
    assert left == pytest.approx(before, abs=1e-9)
    assert found.said[0].admits == ()


def test_a_reweighing_that_agrees_with_the_slip_settles_it(jar: Screening) -> None:
    """One that agrees with the entry settles it the other way, however sure the slip was."""
    own = with_tests(jar).coins["us-half-1873"]
    again = (jar.findings.finding[own.rows] == "re-measure") & np.isfinite(own.slip_g)
    slips = ("decimal_slip", "swapped_digits", "wrong_digit", "wrong_unit", "two_on_the_pan")
    tried = 0
    for place in np.flatnonzero(again):
        row = int(own.rows[place])
        if abs(own.slip_g[place] - jar.table.weight_g[row]) < 0.2:
            continue
        coin = str(jar.intake.items["item_id"].iloc[row])
        as_slip = one(
            jar, SecondResult(coin, "re_weigh", value=float(own.slip_g[place]), step=0.01)
        )
        read = float(jar.table.weight_g[row])
        as_typed = one(jar, SecondResult(coin, "re_weigh", value=read, step=0.01))
        assert sum(after(as_slip, key) for key in slips) > 0.99
        assert sum(after(as_typed, key) for key in slips) < 0.1
        tried += 1
    assert tried >= 3


def test_density_tells_clad_from_silver_and_not_800_from_900(jar: Screening) -> None:
    clad = one(jar, SecondResult(**ROLL_3, test="water_density", value=8.95))
    assert after(clad, "wear") < 0.01
    assert metal_share(clad, "silver-900") < 0.05
    honest = str(jar.intake.items["item_id"].iloc[5])
    poorer = one(jar, SecondResult(honest, "water_density", value=10.15))
    assert abs(poorer.said[0].log10_lr) < 0.6
    assert any("debased" in h.metal.key or h.metal.key == "silver-800" for h in poorer.hypotheses)


def test_a_test_of_a_coin_whose_weight_left_one_side_only_speaks_for_none() -> None:
    """Light base metal: brass's conductivity is no sign of an honest coin, nor silver's of
    one that is not."""
    weights = [*np.random.default_rng(5).normal(12.4, 0.05, 30).round(2), 10.9]
    sheet = pd.DataFrame({"type": "US half dollar", "year": 1943, "weight_g": weights})
    lot = screen(sheet, again=False)
    light = str(lot.intake.items["item_id"].iloc[-1])
    for conductivity in (14.0, 48.0):
        found = one(lot, SecondResult(light, "conductivity", value=conductivity))
        assert np.isnan(found.said[0].log10_lr)
        said = " ".join(coin_sentences(found))
        assert "one side only was left" in said
        assert " to 1 for " not in said


def test_a_magnet_asked_twice_says_no_more(jar: Screening) -> None:
    once = one(jar, SecondResult(**ROLL_3, test="magnet", word="no", instrument="m"))
    twice = one(jar, *(SecondResult(**ROLL_3, test="magnet", word="no", instrument="m"),) * 2)
    assert twice.after == pytest.approx(once.after)
    drawn = one(jar, SecondResult(**ROLL_3, test="magnet", word="yes"))
    assert drawn.hypotheses[int(np.argmax(drawn.after))].metal.key == "steel"
    assert metal_share(drawn, "steel") > 0.4
    assert metal_share(once, "steel") < 0.02


def test_lead_and_tin_of_the_right_density_has_no_tone(jar: Screening) -> None:
    coin = str(jar.intake.items["item_id"].iloc[5])
    dense = SecondResult(coin, "water_density", value=10.31)
    dead = SecondResult(coin, "ring", word="dead")
    by_density, by_both = one(jar, dense), one(jar, dense, dead)
    assert metal_share(by_both, "lead-tin-82") > 5 * metal_share(by_density, "lead-tin-82")
    tone = SecondResult(coin, "ring", value=5200.0 * 2.0, reference=5200.0)
    assert metal_share(one(jar, dense, tone), "molybdenum") > 0.5


def test_a_result_that_no_explanation_fits_is_said_to_be_so(jar: Screening) -> None:
    coin = str(jar.intake.items["item_id"].iloc[5])
    odd = one(jar, SecondResult(coin, "water_density", value=4.9))
    assert not odd.said[0].fits
    assert any("no explanation named here fits" in said for said in coin_sentences(odd))
    plain = one(jar, SecondResult(coin, "water_density", value=10.3))
    assert plain.said[0].fits
    assert not any("no explanation" in said for said in coin_sentences(plain))


def test_results_that_contradict_each_other_are_said_to(jar: Screening) -> None:
    """Density of silver, conductivity of a poorer alloy, and a magnet that draws it."""
    coin = str(jar.intake.items["item_id"].iloc[5])
    odd = one(
        jar,
        SecondResult(coin, "water_density", displaced_g=1.2079, step=0.001),
        SecondResult(coin, "conductivity", value=55.0, reference=85.0),
        SecondResult(coin, "magnet", word="yes"),
    )
    assert not odd.fits_together
    assert any("No single explanation" in said for said in coin_sentences(odd))
    plain = one(jar, SecondResult(coin, "conductivity", value=85.0, reference=85.0))
    assert plain.fits_together


def test_a_tone_heard_and_a_tone_measured_go_together(jar: Screening) -> None:
    coin = str(jar.intake.items["item_id"].iloc[5])
    both = one(
        jar,
        SecondResult(coin, "ring", word="right"),
        SecondResult(coin, "ring", value=5200.0, reference=5200.0),
    )
    assert [run.word for run in both.said] == ["right", ""]
    assert after(both, "wear") > 0.5


def test_xray_sees_the_skin_and_assay_the_body(jar: Screening) -> None:
    coin = {**ROLL_3}
    skin = one(jar, SecondResult(**coin, test="x_ray", value=0.95))
    body = one(jar, SecondResult(**coin, test="assay", value=0.9))
    plated = [h.plated for h in skin.hypotheses]
    assert skin.after[plated].sum() > 0.5
    assert body.after[plated].sum() < 0.2


@pytest.mark.parametrize("immersed_g", [12.9, 12.6])
def test_a_coin_that_would_float_is_not_taken(jar: Screening, immersed_g: float) -> None:
    coin = str(jar.intake.items["item_id"].iloc[1])
    lot = with_tests(jar, SecondResult(coin, "water_density", immersed_g=immersed_g))
    assert lot.tested == ()
    assert "cannot be the weight in water" in lot.not_taken[0]


def test_results_at_two_temperatures_are_one_run(jar: Screening) -> None:
    coin = str(jar.intake.items["item_id"].iloc[5])
    weight = float(jar.table.weight_g[5])
    pair = [
        SecondResult(coin, "water_density", immersed_g=weight - weight * water_density(t) / 10.3,
                     temperature_c=t, step=0.001)
        for t in (5.0, 35.0)
    ]  # fmt: skip
    (said,) = one(jar, *pair).said
    assert said.repeats == 2
    buoyed_up = 0.0012 * (10.3 - 1)  # by air, which the pair above leaves out
    assert said.shown == pytest.approx(10.3 - buoyed_up, abs=0.001)


def test_no_finding_changes(jar: Screening) -> None:
    before = jar.findings.finding.copy()
    one(jar, SecondResult(**ROLL_3, test="water_density", value=8.95))
    assert (jar.findings.finding == before).all()


def test_a_result_of_another_balance_does_not_share_its_error(jar: Screening) -> None:
    """The balance of the first weighing is told by the sheet's own column."""
    readings = jar.intake.readings.assign(instrument="b1")

    def sd(instrument: str) -> float:
        result = SecondResult(**ROLL_3, test="water_density", displaced_g=1.2, step=0.001,
                              instrument=instrument)  # fmt: skip
        lot = with_results(
            with_tests(jar).coins, jar.intake.items, jar.table, jar.fit, jar.settings, [result],
            readings,
        )  # fmt: skip
        return lot.tested[0].said[0].shown_sd

    assert sd("b2") > sd("b1") == sd("")


@pytest.mark.parametrize(("step", "displaced_error_g"), [(0.01, 0.02), (0.001, 0.005)])
def test_a_density_is_as_unsure_as_the_water_displaced(
    jar: Screening, step: float, displaced_error_g: float
) -> None:
    """Common practice, no source: on balances of 0.01 and 0.001 g the displaced water is known
    to about 0.02 and 0.005 g, a density of a half to 1.7 and 0.4 per cent. The coin was first
    weighed on 0.01 g, whose error a finer balance does not take away."""
    result = SecondResult(**ROLL_3, test="water_density", displaced_g=1.21, step=step)
    (said,) = one(jar, result).said
    first_g = float(jar.table.weight_u_g[0])
    expected = np.hypot(displaced_error_g, first_g if step < 0.01 else 0.0) / 1.21
    assert said.shown_sd / said.shown == pytest.approx(expected, rel=0.25)


def test_another_balance_is_no_finer_than_the_first(jar: Screening) -> None:
    result = SecondResult(**ROLL_3, test="water_density", displaced_g=1.2, step=0.001)
    same = one(jar, result).said[0].shown_sd
    other = one(jar, replace(result, same_balance=False)).said[0].shown_sd
    assert other > same
