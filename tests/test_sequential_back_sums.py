"""Running sums that look back: by rank, with the chance that is asked for."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from lotscreen.sequential.back_sums import back_sums, chance_looking_back
from lotscreen.sequential.run_length import false_signal_chance

CHANCE = 0.002


def test_sums_are_those_of_the_definition() -> None:
    """Step by step, on normal scores of ranks."""
    z = np.random.default_rng(3).gamma(2.0, 1.0, 60)
    z[[0, 33]] = np.nan
    z[40:] += 2.0
    found = back_sums(z, CHANCE)
    assert found is not None
    known = z[np.isfinite(z)]
    up = down = 0.0
    for n, value in enumerate(z):
        if np.isfinite(value):
            score = float(norm.ppf(((known < value).sum() + 1) / (len(known) + 1)))
            up, down = max(0.0, up + score - 0.5), max(0.0, down - score - 0.5)
        assert found.up[n] == pytest.approx(up, abs=1e-9)
        assert found.down[n] == pytest.approx(down, abs=1e-9)


def test_only_the_ranks_count() -> None:
    z = np.random.default_rng(4).normal(size=300)
    plain, skewed = back_sums(z, CHANCE), back_sums(-np.exp(-2 * z), CHANCE)
    assert plain is not None
    assert skewed is not None
    np.testing.assert_array_equal(plain.up, skewed.up)
    assert plain.rate == skewed.rate


@pytest.mark.parametrize("coins", [40, 200, 1500])
def test_the_sums_signal_where_the_rate_is_at_the_chance_and_nowhere_else(coins: int) -> None:
    rng, signals = np.random.default_rng(coins), 0
    for length in range(1, coins // 2, max(coins // 80, 1)):
        z = rng.normal(size=coins)
        z[:length] += 3.0
        found = back_sums(z, CHANCE)
        assert found is not None
        assert (found.signal_at > 0) == (found.rate <= CHANCE)
        signals += found.signal_at > 0
    assert signals > 0


@pytest.mark.parametrize("coins", [20, 40, 150, 1500, 10_000])
def test_the_limit_is_the_lowest_that_keeps_the_chance(coins: int) -> None:
    found = back_sums(np.arange(float(coins)) % 7, CHANCE)
    assert found is not None
    limit = found.scheme.limit_sd
    assert chance_looking_back(limit, coins) <= CHANCE
    assert chance_looking_back(round(limit - 0.1, 1), coins) > CHANCE
    # coins of one order are no independent draws: less is enough, and in the end no less
    assert chance_looking_back(limit, coins) < false_signal_chance(found.scheme, coins)


def test_few_coins_are_not_asked_and_coins_all_alike_say_nothing() -> None:
    assert back_sums(np.arange(19.0), CHANCE) is None
    alike = back_sums(np.zeros(100), CHANCE)
    assert alike is not None
    assert alike.rate == 1.0
    assert alike.signal_at == 0
