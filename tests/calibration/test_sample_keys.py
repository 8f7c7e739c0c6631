"""The promises made of the four sample lots, scored against their keys."""

from __future__ import annotations

import pandas as pd
import pytest
from sample_keys import SHEETS, Claim, claims, scored


@pytest.fixture(scope="module")
def coins() -> pd.DataFrame:
    return pd.concat([scored(sheet) for sheet in SHEETS], ignore_index=True)


@pytest.mark.calibration
def test_every_promise_holds_on_the_sample_lots(coins: pd.DataFrame):
    found = claims(coins)
    assert [claim.coins for claim in found[3:]] == [134, 6, 7]
    assert found[0].coins > 6800
    broken = [claim.line() for claim in found if not claim.holds]
    assert not broken, "\n".join(broken)


def test_a_claim_prints_its_count_with_the_exact_interval():
    """0 of 10: the upper 95 % bound is 1 - 0.025 ** (1 / 10) = 30.85 %."""
    line = Claim("honest coins set aside", 0, 10, 0.003, True).line()
    assert "0 of 10 = 0.00 % (95 %: 0.00 % to 30.85 %)" in line.replace("%", " %").replace(
        "  ", " "
    )
    assert line.endswith("holds")
    assert Claim("casts", 5, 7, 0.95, False).line().endswith("DOES NOT HOLD")
