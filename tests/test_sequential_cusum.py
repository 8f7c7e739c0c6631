"""Running sums of residuals and their run lengths, published and by a second route."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest
from reference import cusum_run_lengths as published
from scipy.stats import norm

from lotscreen.records import SettingsError
from lotscreen.sequential.cusum import CusumScheme, cusum_path
from lotscreen.sequential.run_length import average_run_length, false_signal_chance, scheme_for


def _scheme(limit: float, reference: float = 0.5) -> CusumScheme:
    return CusumScheme(reference, limit, inf)


@pytest.mark.parametrize(
    ("case", "expected"), [*published.PUBLISHED.items(), *published.FROM_MEMORY.items()]
)
def test_published_run_lengths_are_those_of_two_sums(
    case: tuple[float, float], expected: tuple[float, int]
) -> None:
    (limit, shift), (length, digits) = case, expected
    assert round(average_run_length(_scheme(limit), shift), digits) == length


@pytest.mark.parametrize(("case", "lengths"), published.COMPUTED.items())
def test_run_lengths_to_five_digits(
    case: tuple[float, float], lengths: tuple[float, float]
) -> None:
    (limit, shift), (both, one) = case, lengths
    scheme = _scheme(limit)
    assert average_run_length(scheme, shift) == pytest.approx(both, rel=2e-8, abs=6e-6)
    assert average_run_length(scheme, shift, two_sided=False) == pytest.approx(
        one, rel=2e-8, abs=6e-6
    )


def test_run_lengths_of_one_sum() -> None:
    for shift, length in published.BROOK_EVANS_COMPUTED.items():
        found = average_run_length(_scheme(3.0), shift, two_sided=False)
        assert found == pytest.approx(length, rel=1e-6)
        printed, digits = published.BROOK_EVANS[shift]
        assert found == pytest.approx(printed, abs=10.0**-digits)
    for shift, length in published.WALDMANN_COMPUTED.items():
        found = average_run_length(_scheme(3.0), shift, two_sided=False)
        assert found == pytest.approx(length, rel=5e-6)
    scheme = _scheme(published.SAS_LIMIT, published.SAS_REFERENCE)
    found = average_run_length(scheme, published.SAS_SHIFT, two_sided=False)
    assert found == pytest.approx(published.SAS_ONE_SIDED, abs=published.SAS_SIX_DIGITS)


@pytest.mark.parametrize("shift", [-0.3, 0.0, 0.7])
def test_run_length_solves_the_integral_equation(shift: float) -> None:
    """A second route: Page's integral equation on the nodes of Gauss and Legendre."""
    reference, limit = 0.4, 3.5
    nodes, weights = np.polynomial.legendre.leggauss(60)
    nodes, weights = (nodes + 1.0) * limit / 2.0, weights * limit / 2.0
    start = np.concatenate([[0.0], nodes])
    system = np.eye(61)
    system[:, 0] -= norm.cdf(reference - start - shift)
    system[:, 1:] -= weights * norm.pdf(nodes[None, :] + reference - start[:, None] - shift)
    expected = np.linalg.solve(system, np.ones(61))[0]
    found = average_run_length(_scheme(limit, reference), shift, two_sided=False)
    assert found == pytest.approx(expected, rel=1e-7)


def test_sums_are_those_of_the_definition() -> None:
    rng = np.random.default_rng(5)
    residuals = rng.normal(0.2, 2.0, 400)
    residuals[[0, 17, 399]] = np.nan
    scheme = CusumScheme(0.5, 6.0, 3.0)
    path = cusum_path(residuals, scheme)
    up = down = 0.0
    signal_at = 0
    for n, z in enumerate(residuals):
        if not np.isnan(z):
            clipped = min(max(z, -3.0), 3.0)
            up, down = max(0.0, up + clipped - 0.5), max(0.0, down - clipped - 0.5)
        assert path.up[n] == pytest.approx(up, abs=1e-9)
        assert path.down[n] == pytest.approx(down, abs=1e-9)
        if not signal_at and max(up, down) > 6.0:
            signal_at = n + 1
    assert signal_at > 0
    assert path.signal_at == signal_at


def test_one_wild_coin_does_not_signal_and_a_drift_does() -> None:
    scheme = CusumScheme(0.5, 5.0, 3.0)
    wild = np.zeros(50)
    wild[20] = -40.0
    assert cusum_path(wild, scheme).signal_at == 0
    drift = np.where(np.arange(50) < 20, 0.0, 1.2)
    assert cusum_path(drift, scheme).signal_at == 28


def test_no_coin_gives_empty_sums() -> None:
    path = cusum_path(np.zeros(0), CusumScheme(0.5, 5.0, 3.0))
    assert (len(path.up), len(path.down), path.signal_at) == (0, 0, 0)


def test_limit_keeps_false_signals_to_the_chance_asked() -> None:
    scheme = scheme_for(4000, 0.05, 0.5, 3.0)
    lower = CusumScheme(0.5, scheme.limit_sd - 0.1, 3.0)
    assert false_signal_chance(scheme, 4000) <= 0.05 < false_signal_chance(lower, 4000)
    assert scheme_for(40, 0.05, 0.5, 3.0).limit_sd < scheme.limit_sd


@pytest.mark.slow
def test_a_centre_from_few_coins_needs_a_higher_limit() -> None:
    limits = [scheme_for(1000, 0.05, 0.5, 3.0, first).limit_sd for first in (50, 200, 0)]
    assert limits == sorted(limits, reverse=True)
    assert len(set(limits)) == 3


def test_chance_of_a_signal_agrees_with_the_mean_run_length() -> None:
    """In an unchanging lot the run length is near to geometric: the mean tells the chance."""
    scheme = _scheme(5.0)
    mean = average_run_length(scheme)
    assert false_signal_chance(scheme, 60) == pytest.approx(1 - np.exp(-57 / mean), rel=0.05)


@pytest.mark.parametrize(
    ("reference", "limit", "clip"), [(-0.1, 4.0, 3.0), (0.5, 0.0, 3.0), (3.0, 4.0, 3.0)]
)
def test_a_scheme_that_cannot_work_is_refused(reference: float, limit: float, clip: float) -> None:
    with pytest.raises(SettingsError, match=f"reference {reference}, limit {limit}, clip {clip}"):
        CusumScheme(reference, limit, clip)
