"""Zero-acceptance draws: whole numbers, without replacement."""

from __future__ import annotations

import pytest
from reference import zero_acceptance as table
from scipy.stats import hypergeom

from lotscreen.sequential.samples import coins_of_share, zero_acceptance_coins


@pytest.mark.parametrize("lot", table.DRAWS)
def test_draws_of_the_table(lot: int) -> None:
    found = tuple(
        zero_acceptance_coins(lot, coins_of_share(lot, share), table.RISK) for share in table.SHARES
    )
    assert found == table.DRAWS[lot]


@pytest.mark.parametrize(("lot", "bad", "risk"), [(50, 1, 0.05), (50, 50, 0.05), (317, 9, 0.013)])
def test_the_draw_is_the_smallest_that_keeps_the_risk(lot: int, bad: int, risk: float) -> None:
    draw = zero_acceptance_coins(lot, bad, risk)
    assert hypergeom.pmf(0, lot, bad, draw) <= risk
    assert hypergeom.pmf(0, lot, bad, draw - 1) > risk


def test_a_share_is_rounded_up_to_whole_coins() -> None:
    assert coins_of_share(100, 0.07) == 7
    assert coins_of_share(101, 0.07) == 8


@pytest.mark.parametrize("bad", [0, 201])
def test_impossible_numbers_are_refused(bad: int) -> None:
    with pytest.raises(ValueError, match=f"bad_coins is {bad}"):
        zero_acceptance_coins(200, bad, 0.05)
