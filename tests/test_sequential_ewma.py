"""The moving average and its run lengths."""

from __future__ import annotations

import numpy as np
import pytest
from reference import ewma_run_lengths as reference

from lotscreen.records import SettingsError
from lotscreen.sequential.ewma import EwmaScheme, ewma_for, ewma_path, ewma_run_length


@pytest.mark.parametrize("scheme", sorted(reference.COMPUTED))
def test_run_lengths_computed_by_two_other_routes(scheme: tuple[float, float]) -> None:
    for shift, length in reference.COMPUTED[scheme].items():
        assert ewma_run_length(EwmaScheme(*scheme), shift) == pytest.approx(
            length, rel=3e-5, abs=6e-4
        )


@pytest.mark.parametrize("scheme", sorted(reference.PUBLISHED))
def test_run_lengths_published(scheme: tuple[float, float]) -> None:
    for shift, length in reference.PUBLISHED[scheme].items():
        assert ewma_run_length(EwmaScheme(*scheme), shift) == pytest.approx(length, rel=2e-3)


@pytest.mark.parametrize("length", sorted(reference.LIMITS))
def test_limits_for_a_run_length(length: float) -> None:
    scheme = ewma_for(length, 0.1)
    assert scheme.limit_sds == pytest.approx(reference.LIMITS[length], abs=2e-4)
    assert ewma_run_length(scheme) == pytest.approx(length, rel=1e-8)


@pytest.mark.parametrize("coins", [1e4, 1e6, 1e8])
def test_a_large_lot_has_limits_too(coins: float) -> None:
    """A false signal in one lot of five hundred: the mean run length is 500 lots."""
    scheme = ewma_for(500.0 * coins, 0.1)
    assert 5.0 < scheme.limit_sds < 7.0
    assert ewma_run_length(scheme) == pytest.approx(500.0 * coins, rel=1e-4)


def test_the_path_step_by_step() -> None:
    scheme = EwmaScheme(0.2, 3.0)
    residuals = np.array([np.nan, 1.0, -2.0, np.nan, 3.0])
    average, expected = 0.0, []
    for residual in residuals:
        if np.isfinite(residual):
            average = 0.2 * residual + 0.8 * average
        expected.append(average)
    assert ewma_path(residuals, scheme) == pytest.approx(expected)
    assert not ewma_path(np.full(3, np.nan), scheme).any()
    assert scheme.limit_sd == pytest.approx(3.0 * np.sqrt(0.2 / 1.8))


def test_run_length_against_paths_drawn() -> None:
    scheme, rng = EwmaScheme(0.2, 2.0), np.random.default_rng(5)
    lengths = []
    for _ in range(400):
        beyond = np.abs(ewma_path(rng.normal(0.5, 1.0, 400), scheme)) > scheme.limit_sd
        lengths.append(int(np.argmax(beyond)) + 1)
    error = np.std(lengths) / np.sqrt(len(lengths))
    assert np.mean(lengths) == pytest.approx(ewma_run_length(scheme, 0.5), abs=4 * error)


@pytest.mark.parametrize("wrong", [(0.0, 3.0), (1.1, 3.0), (0.1, 0.0)])
def test_schemes_out_of_range_are_named(wrong: tuple[float, float]) -> None:
    with pytest.raises(SettingsError, match="weight must lie between"):
        EwmaScheme(*wrong)
