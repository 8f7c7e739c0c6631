"""How often honest coins are alarmed, in four worlds of wear that the screen does not know.

Counts with exact binomial 95 % intervals (Clopper and Pearson, Biometrika 26, 1934) on
invented lots with seeds. A rate is refuted when even the interval's lower end lies above
one and a half times the limit; that alarms happen at all is required too, or nothing
would be shown. Run with ``-m calibration -s`` to see the figures.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binomtest

import lotscreen
from lotscreen.evidence import judge
from lotscreen.instruments import instruments_of
from lotscreen.intake import read_frame
from lotscreen.records import Findings
from lotscreen.screening import Screening
from lotscreen.settings import Settings
from lotscreen.simulate import (
    Balance,
    CoinSpec,
    Gauge,
    KindCount,
    LotSpec,
    SimulatedLot,
    Wear,
    draw_lot,
)
from lotscreen.simulate.worlds import WORLDS
from lotscreen.standards import load_standards
from lotscreen.summary import summarise
from lotscreen.wear import fit
from lotscreen.wear.fit import with_types

pytestmark = pytest.mark.calibration

STANDARDS = load_standards()
SETTINGS = Settings()
LIMITS = (0.01, SETTINGS.limit)
DEPARTING = ("set aside", "not consistent")


def _halves(count: int, world: str = "gamma", **changes) -> CoinSpec:
    plain = CoinSpec(
        coin_type=STANDARDS.get("us-half-1873"),
        type_text="US half dollar",
        count=count,
        years=tuple(range(1900, 1961)),
        in_use_until=1965,
        wear=Wear(world, depth_um_per_year=0.38),
        designs=(1916, 1948),
    )
    return replace(plain, **changes)


def _screened(spec: LotSpec, seed: int) -> tuple[SimulatedLot, Screening]:
    lot = draw_lot(spec, seed)
    return lot, lotscreen.screen(lot.sheet, standards=STANDARDS, again=False)


def _by_doors(spec: LotSpec, seed: int) -> Findings:
    """The three doors in order, without the statements of the lot."""
    intake = read_frame(draw_lot(spec, seed).sheet)
    instruments = instruments_of(intake.readings, SETTINGS)
    table = with_types(summarise(intake.items, intake.readings, instruments), STANDARDS)
    return judge(table, fit(table, STANDARDS, SETTINGS, 0), SETTINGS)


def _rates(name: str, p_value: np.ndarray) -> dict[float, tuple[int, float, float]]:
    """Alarms at each limit: count, and the interval of their rate."""
    found = {}
    for limit in LIMITS:
        alarms = int((p_value <= limit).sum())
        interval = binomtest(alarms, len(p_value)).proportion_ci(method="exact")
        found[limit] = (alarms, interval.low, interval.high)
        print(
            f"{name}, limit {limit:.1%}: {alarms} of {len(p_value)} = "
            f"{alarms / len(p_value):.2%} (95 %: {interval.low:.2%} to {interval.high:.2%})"
        )
    return found


def _not_refuted(rates: dict[float, tuple[int, float, float]]) -> None:
    for limit, (_, low, _) in rates.items():
        assert low <= 1.5 * limit


def _share(findings: np.ndarray, wanted: Sequence[str]) -> float:
    return float(np.isin(findings, wanted).mean())


@pytest.fixture(scope="module")
def by_world() -> dict[str, np.ndarray]:
    """p-values of 6,000 honest coins a world: half of them loose, half in rolls of 20."""
    found = {}
    for world in WORLDS:
        loose = LotSpec((_halves(3000, world),))
        in_rolls = replace(loose, roll_size=20)
        lots = [_screened(loose, 1)[1], _screened(in_rolls, 2)[1]]
        found[world] = np.concatenate([lot.findings.p_value for lot in lots])
    return found


@pytest.mark.parametrize("world", sorted(WORLDS))
def test_honest_alarms_keep_to_the_limit_in_every_world(
    world: str, by_world: dict[str, np.ndarray]
):
    rates = _rates(world, by_world[world])
    _not_refuted(rates)
    for limit, (alarms, _, high) in rates.items():
        assert alarms > 0
        assert high > limit / 3


def test_over_all_worlds_the_rate_itself_keeps_to_one_and_a_half_limits(
    by_world: dict[str, np.ndarray],
):
    pooled = np.concatenate(list(by_world.values()))
    for limit, (alarms, _, _) in _rates("all worlds", pooled).items():
        assert alarms / len(pooled) <= 1.5 * limit


def test_a_gauge_in_tenths_of_a_millimetre_alarms_no_oftener():
    """Most coins read alike then, and those at the next step are rounding: whatever phase
    the rounding has (sizes and thicknesses of four types)."""
    types = (
        ("us-half-1873", "US half dollar", 0), ("us-quarter-1873", "US quarter dollar", 0),
        ("us-dime-1873", "US dime", 0), ("us-dollar-1840", "US silver dollar", 25),
    )  # fmt: skip
    found = []
    for number, world in enumerate(sorted(WORLDS) * 3):
        key, text, earlier = types[(number + number // 4) % 4]
        years = tuple(year - earlier for year in range(1900, 1961))
        coins = _halves(800, world, coin_type=STANDARDS.get(key), type_text=text, years=years)
        spec = LotSpec((coins,), gauge=Gauge(step_mm=0.1, sd_mm=0.03))
        found.append(_by_doors(spec, 80 + number).p_value)
    for limit, (_, low, _) in _rates("gauge in 0.1 mm", np.concatenate(found)).items():
        assert low <= limit


def test_a_coin_without_mates_is_not_alarmed_oftener():
    worlds = sorted(WORLDS)
    specs = [LotSpec((_halves(1, worlds[n % 4]),)) for n in range(120)]
    p_value = [_by_doors(spec, seed).p_value for seed, spec in enumerate(specs)]
    _not_refuted(_rates("a coin alone", np.concatenate(p_value)))


def test_small_lots_are_not_alarmed_oftener():
    sizes = np.random.default_rng(3).integers(5, 21, 40)
    worlds = sorted(WORLDS)
    specs = [LotSpec((_halves(int(n), worlds[k % 4]),)) for k, n in enumerate(sizes)]
    p_value = [_by_doors(spec, 1000 + seed).p_value for seed, spec in enumerate(specs)]
    _not_refuted(_rates("lots of 5 to 20", np.concatenate(p_value)))


@pytest.mark.parametrize("measured", [None, 0], ids=["all measured", "weight only"])
def test_three_in_ten_of_base_metal_neither_hide_nor_accuse_the_others(measured: int | None):
    kinds = (KindCount("brass, right size", 600),)
    lot, result = _screened(
        LotSpec((_halves(2000, "lognormal", kinds=kinds),), measured=measured), 6
    )
    honest = (lot.key["true_kind"] == "honest").to_numpy()
    _not_refuted(_rates("honest among 30 % brass", result.findings.p_value[honest]))
    assert _share(result.findings.finding[~honest], DEPARTING) >= 0.95


def test_kinds_mixed_to_three_in_ten_accuse_no_honest_coin_oftener():
    names = ("brass, right size", "copper, right weight", "cast", "light alloy")
    kinds = tuple(KindCount(name, 150) for name in names)
    lot, result = _screened(LotSpec((_halves(2000, kinds=kinds),)), 5)
    kind = lot.key["true_kind"].to_numpy()
    honest = kind == "honest"
    _not_refuted(_rates("honest among 30 % of all kinds", result.findings.p_value[honest]))
    for name in ("brass, right size", "cast"):
        assert _share(result.findings.finding[kind == name], DEPARTING) >= 0.95


@pytest.mark.parametrize("measured", [None, 0], ids=["all measured", "weight only"])
def test_ties_of_a_coarse_balance_raise_no_alarms(measured: int | None):
    coarse = Balance(step_g=0.1, sd_g=0.05)
    spec = LotSpec((_halves(3000),), balance=coarse, measured=measured)
    lot, result = _screened(spec, 7)
    assert lot.sheet["weight_g"].nunique() < 40
    _not_refuted(_rates("0.1 g", result.findings.p_value))
    assert _share(result.findings.finding, ("not judged", "re-measure")) == 0.0


def _alerts(result: Screening) -> str:
    (lot,) = result.lots.values()
    return " ".join(lot.alerts)


def test_a_lot_all_of_base_metal_does_not_pass_because_it_agrees_with_itself():
    kinds = (KindCount("brass, right size", 300),)
    _, result = _screened(LotSpec((_halves(300, kinds=kinds),)), 9)
    assert "suspect the scale first" in _alerts(result)
    assert _share(result.findings.finding, DEPARTING) > 0.5


@pytest.mark.parametrize("scale_error", [0.02, 0.05])
def test_a_lot_wholly_heavy_is_told_to_suspect_the_scale(scale_error: float):
    spec = LotSpec((_halves(500),), balance=Balance(scale_error=scale_error))
    assert "suspect the scale first" in _alerts(_screened(spec, 8)[1])


def test_a_lot_on_standard_raises_no_such_alert():
    assert "suspect the scale first" not in _alerts(_screened(LotSpec((_halves(500),)), 8)[1])
