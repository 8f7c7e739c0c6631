"""What the screen notices, as numbers by kind and size."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binomtest
from typer.testing import CliRunner

from lotscreen.cli import app
from lotscreen.evidence import judge
from lotscreen.foresight import foresee, foresight_sentences
from lotscreen.instruments import instruments_of
from lotscreen.intake import read_frame
from lotscreen.lot.what_is_seen import (
    KINDS,
    SeenKind,
    rate_of,
    rate_of_counts,
    seen_sentence,
    what_is_seen,
)
from lotscreen.records import Findings, ItemTable, StandardsError
from lotscreen.settings import Settings
from lotscreen.simulate import CoinSpec, KindCount, LotSpec, Wear, draw_lot
from lotscreen.standards import load_standards
from lotscreen.summary import summarise
from lotscreen.wear import Fit, fit
from lotscreen.wear.allowance import slick_wear
from lotscreen.wear.fit import with_types

STANDARDS, SETTINGS = load_standards(), Settings()
HALF = STANDARDS.get("us-half-1873")


def _table(spec: LotSpec, seed: int) -> ItemTable:
    intake = read_frame(draw_lot(spec, seed).sheet)
    table = summarise(intake.items, intake.readings, instruments_of(intake.readings, SETTINGS))
    return with_types(table, STANDARDS)


def _coins(count: int, kinds: tuple[KindCount, ...] = ()) -> CoinSpec:
    years = tuple(range(1940, 1961))
    return CoinSpec(HALF, "US half dollar", count, years, 1965, Wear("gamma", 0.38), kinds=kinds)


@pytest.fixture(scope="module")
def judged() -> tuple[ItemTable, Findings, Fit]:
    table = _table(LotSpec((_coins(150),), measured=0), 1)
    fitted = fit(table, STANDARDS, SETTINGS, 0)
    return table, judge(table, fitted, SETTINGS), fitted


def test_a_rate_has_its_exact_interval() -> None:
    for alarms, coins in ((0, 50), (3, 2000), (50, 50)):
        rate = rate_of_counts(alarms, coins)
        expected = binomtest(alarms, coins).proportion_ci(method="exact")
        assert (rate.low, rate.high) == pytest.approx((expected.low, expected.high))


def test_coins_not_judged_do_not_count(judged: tuple[ItemTable, Findings, Fit]) -> None:
    _, found, _ = judged
    finding = found.finding.copy()
    finding[:3] = ["not judged", "set aside", "not consistent"]
    rate = rate_of(replace(found, finding=finding))
    assert (rate.alarms, rate.coins) == (2 + int((finding[3:] != "consistent").sum()), 149)


def test_the_further_the_oftener_noticed(judged: tuple[ItemTable, Findings, Fit]) -> None:
    table, found, fitted = judged
    (seen,) = what_is_seen(table, found, HALF.key, fitted, SETTINGS)
    assert seen.key == "same_size"
    assert not seen.lengths
    assert np.all(np.diff(seen.chance) >= 0)
    assert seen.chance[0] < 0.6 < seen.chance[-1] == 1.0
    smallest = [seen.smallest(s) for s in (0.95, 0.8, 0.5)]
    assert None not in smallest
    assert smallest == sorted(smallest, reverse=True)  # type: ignore[type-var]


def test_the_chance_told_is_the_chance_met(judged: tuple[ItemTable, Findings, Fit]) -> None:
    """Coins of brass at the right size that the simulator makes are noticed about as often
    as the altered coins of the lot say for their distance."""
    table, found, fitted = judged
    (seen,) = what_is_seen(table, found, HALF.key, fitted, SETTINGS)
    brass = _table(LotSpec((_coins(60, (KindCount("brass, right size", 60),)),), measured=0), 2)
    finding = judge(brass, fitted, SETTINGS).finding
    met = np.isin(finding, ["set aside", "not consistent"]).mean()
    assert met >= np.interp(15, seen.sizes, seen.chance) - 0.1


def test_nothing_is_told_of_a_type_without_coins(judged: tuple[ItemTable, Findings, Fit]) -> None:
    table, found, fitted = judged
    assert what_is_seen(table, found, "us-dime-1873", fitted, SETTINGS) == ()


def test_a_gap_in_the_sizes_noticed_counts_as_missed() -> None:
    sizes = np.array([1.0, 2.0, 3.0, 4.0])
    seen = SeenKind("same_size", False, sizes, np.array([0.9, 0.7, 0.9, 1.0]), 20)
    assert seen.smallest(0.8) == 3.0
    assert seen.smallest(0.6) == 1.0
    assert SeenKind("same_size", False, sizes, np.full(4, 0.1), 20).smallest(0.5) is None


def test_sentences_name_kinds_and_sizes() -> None:
    sizes, chance = np.array([5.0, 10.0]), np.array([0.6, 1.0])
    seen = [SeenKind("same_size", False, sizes, chance, 24)]
    assert "cheaper metal at the right size from 10 % lighter" in seen_sentence(seen, 0.95, False)
    assert "from 5 % lighter" in seen_sentence(seen, 0.5, False)
    assert "no kind that was tried" in seen_sentence(seen, 0.95, True)


@pytest.mark.parametrize("kind", KINDS, ids=[kind.key for kind in KINDS])
def test_each_kind_alters_what_it_says(kind) -> None:
    table = _table(LotSpec((_coins(5),)), 3)
    small, large = (kind.make(table, size) for size in (kind.sizes[0], kind.sizes[-1]))
    changed = {
        name
        for name in ("weight_g", "diameter_mm", "thickness_mm")
        if not np.allclose(getattr(large, name), getattr(table, name))
    }
    assert ("diameter_mm" in changed) == kind.needs_diameter
    assert changed
    for name in changed:
        far = np.abs(getattr(large, name) - getattr(table, name))
        assert np.all(far > np.abs(getattr(small, name) - getattr(table, name)))
    steps = large.weight_g / large.weight_step_g
    assert steps == pytest.approx(np.round(steps))
    assert large.weight_high_g - large.weight_low_g == pytest.approx(table.weight_step_g)


def test_a_type_without_diameter_cannot_be_foreseen() -> None:
    with pytest.raises(StandardsError, match="no diameter on file"):
        foresee(replace(HALF, diameter_mm=None), STANDARDS, SETTINGS, mean_loss=0.01, step_g=0.01)


def test_slick_coins_cannot_be_foreseen() -> None:
    with pytest.raises(StandardsError, match="lost 11 % are slick"):
        foresee(HALF, STANDARDS, SETTINGS, mean_loss=0.12, step_g=0.01)


@pytest.mark.slow
def test_coins_nearly_slick_can_be_foreseen() -> None:
    found = foresee(HALF, STANDARDS, SETTINGS, mean_loss=0.1, step_g=0.01, coins=200)
    assert found.by_all.coins >= 200


def test_the_command_wants_a_type_for_it() -> None:
    result = CliRunner().invoke(app, ["plan", "--coins", "500", "--share", "5", "--seen"])
    assert result.exit_code == 2
    assert "--seen needs --type" in " ".join(result.stderr.replace("│", " ").split())


@pytest.mark.slow
def test_foresight_tells_rates_and_kinds_of_both_sets_of_readings() -> None:
    told: list[str] = []
    found = foresee(HALF, STANDARDS, SETTINGS, mean_loss=0.017, step_g=0.01, coins=100,
                    progress=told.append)  # fmt: skip
    assert 395 <= found.by_weight.coins == found.by_all.coins <= 400
    assert found.by_all.low <= 0.003
    assert {kind.lengths for kind in found.seen} == {False, True}
    assert {kind.key for kind in found.seen} == {kind.key for kind in KINDS}
    assert len(told) == 8
    text = " ".join(foresight_sentences(found))
    assert "in invented lots of four kinds of wear, no coin of them slick" in text
    assert "By weight, diameter and thickness noticed at least 95 %" in text


@pytest.mark.slow
@pytest.mark.parametrize(("key", "loss"), [("us-half-1873", 0.03), ("us-dime-1873", 0.05)])
def test_coins_to_be_foreseen_are_worn_as_asked_and_none_is_slick(
    key: str, loss: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Slick coins are in no lot by date: were they in the invented ones, more honest coins
    than the limit of 1 in 500 lets through would be foretold to be set aside."""
    coin_type, lost = STANDARDS.get(key), []

    def listened(table: ItemTable, fitted: Fit, settings: Settings) -> Findings:
        lost.append(1 - table.weight_g / coin_type.weight_g)
        return judge(table, fitted, settings)

    monkeypatch.setattr("lotscreen.foresight.judge", listened)
    found = foresee(coin_type, STANDARDS, SETTINGS, mean_loss=loss, step_g=0.01, coins=300)
    assert len(lost) == 8
    for of_one in lost:
        assert float(of_one.mean()) == pytest.approx(loss, rel=0.05)
        assert float(of_one.max()) < slick_wear(coin_type) + 0.01
    assert found.by_weight.low < 0.002
    assert found.by_all.low < 0.002
