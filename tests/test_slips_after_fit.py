"""Single slips of the pen, after the fit: each is to be measured again, with the value it may
stand for, and the cell stays as it was typed."""

from __future__ import annotations

import re
from functools import lru_cache

import numpy as np
import pandas as pd
import pytest

import lotscreen
from lotscreen.evidence.slips import SLIP_KEYS
from lotscreen.quantities import GRAIN_G, INCH_MM
from lotscreen.records import FindingKind
from lotscreen.screening import Screening
from lotscreen.settings import Settings
from lotscreen.words import phrase

COINS = 90
PULLED = (FindingKind.SET_ASIDE, FindingKind.NOT_CONSISTENT)
# Row, its cells as typed, what each slip is, and the quantity and value to be proposed. The
# coin of each row weighs 12.41 g, is 30.62 mm across and 2.14 mm thick.
SLIPS = {
    5: ({"weight_g": "1.241"}, "decimal_slip", "weight", 12.41),
    15: ({"weight_g": "124.1"}, "decimal_slip", "weight", 12.41),
    25: ({"weight_g": "21.41"}, "swapped_digits", "weight", 12.41),
    35: ({"diameter_mm": "03.62"}, "swapped_digits", "diameter", 30.62),
    45: ({"weight_g": "30.62", "diameter_mm": "12.41"}, "columns_swapped", "weight", 30.62),
    50: ({"diameter_mm": "2.14", "thickness_mm": "30.62"}, "columns_swapped", "diameter", 30.62),
    55: ({"weight_g": f"{12.41 / GRAIN_G:.1f}"}, "wrong_unit", "weight", 12.41),
    65: ({"diameter_mm": f"{30.62 / INCH_MM:.3f}"}, "wrong_unit", "diameter", 30.62),
    75: ({"weight_g": "24.79"}, "two_on_the_pan", "weight", 12.395),
    85: ({"thickness_mm": "9.14"}, "wrong_digit", "thickness", 2.14),
}
BRASS = 60


def _sheet() -> pd.DataFrame:
    rng = np.random.default_rng(21)
    worn = 1 - 0.02 * rng.gamma(4.0, 0.25, COINS)
    frame = pd.DataFrame(
        {
            "no": np.arange(1, COINS + 1),
            "type": "US half dollar",
            "date": rng.integers(1940, 1947, COINS),
            "weight_g": [f"{w:.2f}" for w in 12.5 * worn + rng.normal(0, 0.04, COINS)],
            "diameter_mm": [f"{d:.2f}" for d in 30.6 + rng.normal(0, 0.03, COINS)],
            "thickness_mm": [f"{t:.2f}" for t in 2.15 * worn + rng.normal(0, 0.03, COINS)],
        }
    )
    for row, (cells, *_) in SLIPS.items():
        right = {"weight_g": "12.41", "diameter_mm": "30.62", "thickness_mm": "2.14"}
        for column, text in {**right, **cells}.items():
            frame.loc[row, column] = text
    frame.loc[BRASS, "weight_g"] = "10.14"  # 12.41 g, had it been silver; digits swap to 11.04
    return frame


@lru_cache(maxsize=2)
def _screened(rate: float) -> Screening:
    return lotscreen.screen(_sheet(), settings=Settings(slip_rate=rate), again=False)


@pytest.mark.parametrize("row", SLIPS)
def test_a_slip_is_to_be_measured_again_with_its_proposal(row: int) -> None:
    cells, key, quantity, right = SLIPS[row]
    result = _screened(0.01)
    found = result.findings
    assert (found.finding[row], found.reason_code[row]) == (FindingKind.RE_MEASURE, key)
    pattern = re.escape(phrase("findings.reason.slip")).replace(r"\{proposed\}", "([0-9.]+)")
    said = re.match(re.sub(r"\\\{\w+\\\}", "(.+?)", pattern), str(found.reason[row]))
    assert said is not None
    assert said[2] == quantity
    stands_for = 12.41 if cells == {"weight_g": "30.62", "diameter_mm": "12.41"} else right
    assert float(said[4]) == pytest.approx(stands_for, abs=0.015)
    own = result.intake.readings["item_id"] == result.intake.items["item_id"][row]
    raws = set(result.intake.readings.loc[own, "raw"])
    assert set(cells.values()) <= raws


def test_a_swap_that_is_only_possible_parks_no_coin_of_brass() -> None:
    found = _screened(0.01).findings
    assert found.finding[BRASS] in PULLED
    assert "re-measure" not in found.finding[[1, 11, 31, 41]]


def test_without_a_rate_of_slips_none_is_guessed() -> None:
    found = _screened(0.0).findings
    assert not (found.finding == FindingKind.RE_MEASURE).any()
    assert np.isin(found.finding[[5, 15, 25, 45, 75]], PULLED).all()


def test_the_rate_of_slips_moves_what_they_hold_of_the_evidence() -> None:
    shares = []
    for rate in (0.001, 0.01):
        found = _screened(rate).findings
        slips = [found.mechanisms.index(key) for key in SLIP_KEYS]
        shares.append(found.shares[BRASS, slips].sum())
    assert 0 < shares[0] < shares[1] < 0.5
