"""Slips that strike neighbouring rows together are weighed as blocks."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

import lotscreen
from lotscreen.evidence.block_chain import chances
from lotscreen.quantities import DWT_G, GRAIN_G, INCH_MM
from lotscreen.records import FindingKind
from lotscreen.screening import Screening
from lotscreen.settings import Settings

COINS = 120
BLOCK = slice(40, 50)
AGAIN = FindingKind.RE_MEASURE.value


def _sheet() -> pd.DataFrame:
    rng = np.random.default_rng(11)
    year = rng.integers(1916, 1947, COINS)
    worn = 1 - 0.0006 * (1964 - year) * rng.gamma(4.0, 0.25, COINS)
    return pd.DataFrame(
        {
            "no": np.arange(1, COINS + 1),
            "type": "US half dollar",
            "date": year,
            "weight_g": (12.5 * worn + rng.normal(0, 0.04, COINS)).round(2),
            "diameter_mm": (30.6 + rng.normal(0, 0.03, COINS)).round(2),
            "thickness_mm": (2.15 * worn + rng.normal(0, 0.03, COINS)).round(2),
        }
    )


def _screened(sheet: pd.DataFrame, **settings: float) -> Screening:
    return lotscreen.screen(sheet, settings=Settings(**settings), again=False)  # type: ignore[arg-type]


def _exchange(sheet: pd.DataFrame, one: str, other: str) -> None:
    rows = sheet.index[BLOCK]
    sheet.loc[rows, [one, other]] = sheet.loc[rows, [other, one]].to_numpy()


@pytest.mark.parametrize(
    ("fault", "key"),
    [
        (lambda s: _exchange(s, "weight_g", "diameter_mm"), "columns_swapped"),
        (lambda s: _exchange(s, "diameter_mm", "thickness_mm"), "columns_swapped"),
        (lambda s: _times(s, "weight_g", 1 / GRAIN_G, 1), "wrong_unit"),
        (lambda s: _times(s, "weight_g", 1 / DWT_G, 2), "wrong_unit"),
        (lambda s: _times(s, "diameter_mm", 1 / INCH_MM, 3), "wrong_unit"),
        (lambda s: _times(s, "weight_g", 10, 1), "decimal_slip"),
        (lambda s: _plus(s, 1.37), "not_tared"),
    ],
)
def test_a_block_is_found_with_its_fault_and_nothing_else_is(fault, key) -> None:  # type: ignore[no-untyped-def]
    right, sheet = _sheet(), _sheet()
    fault(sheet)
    found = _screened(sheet).findings
    again = found.finding == AGAIN
    struck = np.zeros(COINS, np.bool_)
    struck[BLOCK] = True
    # The block's last coin is worn by a twentieth: with a holder it could as well be another.
    assert again[BLOCK].sum() == (9 if key == "not_tared" else 10)
    assert not again[~struck].any()
    assert (found.reason_code[again] == key).all()
    assert all(f"{again.sum()} coins in a row" in reason for reason in found.reason[again])
    assert (found.shares[again][:, found.mechanisms.index(key)] > 0.5).all()
    if key == "not_tared":
        proposed = [float(r.split("may stand for ")[1].split(";")[0]) for r in found.reason[again]]
        assert np.abs(np.array(proposed) - right["weight_g"][again]).max() < 0.15


def _times(sheet: pd.DataFrame, column: str, factor: float, decimals: int) -> None:
    sheet[column] = sheet[column].astype(float)
    sheet.loc[sheet.index[BLOCK], column] = (sheet[column][BLOCK] * factor).round(decimals)


def _plus(sheet: pd.DataFrame, grams: float) -> None:
    sheet.loc[sheet.index[BLOCK], "weight_g"] = (sheet["weight_g"][BLOCK] + grams).round(2)


def test_without_slips_no_block_is_guessed() -> None:
    sheet = _sheet()
    _times(sheet, "weight_g", 1 / DWT_G, 2)
    found = _screened(sheet, slip_rate=0.0).findings
    assert not (found.finding == AGAIN).any()
    assert np.isin(found.finding[BLOCK], [FindingKind.SET_ASIDE, FindingKind.NOT_CONSISTENT]).all()


def test_coins_of_brass_in_a_row_are_no_block() -> None:
    sheet = _sheet()
    rng = np.random.default_rng(2)
    sheet.loc[sheet.index[BLOCK], "weight_g"] = (10.28 + rng.normal(0, 0.12, 10)).round(2)
    found = _screened(sheet).findings
    assert np.isin(found.finding[BLOCK], [FindingKind.SET_ASIDE, FindingKind.NOT_CONSISTENT]).all()


def test_the_chain_is_that_of_every_path_counted() -> None:
    """Three rows, two faults: posteriors by summing over all 27 paths."""
    rng = np.random.default_rng(5)
    log_density, log_next = rng.normal(0, 2, (3, 3)), rng.normal(0, 2, 3)
    begins, goes_on = 0.02, 0.9
    steps = np.array([
        [1 - begins, begins / 2, begins / 2], [1 - goes_on, goes_on, 0], [1 - goes_on, 0, goes_on]
    ])  # fmt: skip
    total = np.zeros((3, 3))
    for path in np.ndindex(3, 3, 3):
        chance, before = 1.0, 0
        for row, state in enumerate(path):
            stays = row > 0 and before == state == 2
            density = log_next[row] if stays else log_density[row, state]
            chance *= steps[before, state] * np.exp(density)
            before = state
        chance *= steps[before, 0]
        for row, state in enumerate(path):
            total[row, state] += chance
    expected = total / total.sum(axis=1, keepdims=True)
    assert chances(log_density, log_next, begins) == pytest.approx(expected, abs=1e-12)


def test_what_no_slip_explains_is_not_taken_for_one() -> None:
    sheet = _sheet()
    for row, weight in zip(range(40, 46), (400.0, 150.3, 400.0, 0.9, 77.7, 61.0), strict=True):
        sheet.loc[row, ["weight_g", "diameter_mm", "thickness_mm"]] = [weight, 55.0, 9.5]
    found = _screened(sheet).findings
    assert not (found.finding == AGAIN).any()
