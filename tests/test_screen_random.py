"""Sheets with any readings go through the whole screen: every coin gets one finding."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import lotscreen
from lotscreen.records import FindingKind

KINDS = {kind.value for kind in FindingKind}
near_weight = st.floats(11.0, 13.0).map(lambda v: f"{v:.2f}")
near_across = st.floats(30.4, 30.8).map(lambda v: f"{v:.2f}")
near_thick = st.floats(1.9, 2.3).map(lambda v: f"{v:.2f}")
anything = st.one_of(
    st.floats(0.001, 1e6).map(lambda v: f"{v:.3g}"),
    st.sampled_from(("", "0.01", "12", "189.7", "7.95", "1.204", "400", "1.241", "1e7", "12.4l")),
)
typed = st.tuples(
    st.one_of(near_weight, near_weight, anything), st.one_of(near_across, near_across, anything),
    st.one_of(near_thick, near_thick, anything), st.sampled_from(("1943", "1892", "", "1964", "x")),
    st.sampled_from(("US half dollar", "US half dollar", "US dime", "thaler")),
)  # fmt: skip
lots = st.lists(typed, min_size=1, max_size=25)


def screened(rows: list[tuple[str, str, str, str, str]]) -> None:
    frame = pd.DataFrame(rows, columns=["weight_g", "diameter_mm", "thickness_mm", "date", "type"])
    try:
        result = lotscreen.screen(frame)
    except lotscreen.LotscreenError:
        return
    coins = (result.intake.items["kind"] == "coin").to_numpy()
    assert set(result.findings.finding[coins]) <= KINDS
    assert result.intake.rows_read == len(result.intake.items) + len(result.intake.left_out)
    assert sum(result.rows_by_kind().values()) == len(result.intake.items)


@pytest.mark.slow
@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck))
@given(lots)
def test_any_readings_are_judged(rows: list[tuple[str, str, str, str, str]]) -> None:
    screened(rows)


@pytest.mark.slow
@settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck))
@given(lots)
def test_two_hundred_lots_of_any_readings_are_judged(
    rows: list[tuple[str, str, str, str, str]],
) -> None:
    screened(rows)
