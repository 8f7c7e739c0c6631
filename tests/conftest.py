"""What holds for every test: no window, the same examples on every run, and in CI
(environment variable ``CI``) a left-out test is a failure, because CI installs all that a
test may need."""

from __future__ import annotations

import os
from collections.abc import Generator
from typing import Any

import numpy as np
import pytest
from hypothesis import settings

os.environ.setdefault("MPLBACKEND", "Agg")
settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")


@pytest.fixture
def rng() -> np.random.Generator:
    """A generator with the same seed in every test and every run."""
    return np.random.default_rng(20_240_229)


def _refuse_left_out(report: Any) -> Any:
    """In CI turn a skipped report into a failed one that keeps the reason."""
    if os.environ.get("CI") and report.skipped and not hasattr(report, "wasxfail"):
        reason = report.longrepr[-1] if isinstance(report.longrepr, tuple) else report.longrepr
        report.outcome = "failed"
        report.longrepr = f"left out, which CI does not accept: {reason}"
    return report


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, Any, Any]:
    return _refuse_left_out((yield))


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, Any, Any]:
    return _refuse_left_out((yield))
