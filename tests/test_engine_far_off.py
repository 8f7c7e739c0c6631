"""Lots far off in everything at once (instruments, wear, shares, alloy) are judged all the
same: every coin has its numbers, and no step of the arithmetic warns."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.engine.lots import COINAGES, READING_SETS, WORLD_NAMES, Plan, draw
from benchmarks.engine.screen import statement_of

from lotscreen.simulate.specs import Balance, Gauge

_COINS = (1, 2, 3, 5, 8, 12, 20, 40, 90, 200, 500)


def _any_plan(rng: np.random.Generator) -> Plan:
    step_g, sd_mm = rng.choice([0.001, 0.01, 0.05, 0.1, 0.5]), rng.choice([0.005, 0.02, 0.1])
    off = rng.choice([0.0, 0.005, rng.uniform(-0.12, 0.03), 0.4, -0.6])
    return Plan(
        str(rng.choice(list(COINAGES))),
        str(rng.choice(WORLD_NAMES)),
        int(rng.choice(_COINS)),
        float(rng.choice([0.0, 0.0, 0.1, 0.3, 0.6, 0.95])),
        str(rng.choice(READING_SETS)),
        balance=Balance(step_g=step_g, sd_g=max(step_g / 2, 0.003), scale_error=off),
        gauge=Gauge(step_mm=float(rng.choice([0.01, 0.02, 0.1, 0.5])), sd_mm=sd_mm),
        gauge_tail_share=float(rng.choice([0.0, 0.0, 0.05, 0.5])),
        lot_log_sd=float(rng.choice([0.0, 0.5, 1.5])),
        date_log_sd=float(rng.choice([0.15, 0.6])),
        in_use_longer=int(rng.choice([0, 0, 15, 60])),
        lighter=float(rng.choice([0.0, 0.0, 0.01, 0.05])),
    )


def _judge(number: int) -> None:
    rng = np.random.default_rng([8, number])
    lot = draw(_any_plan(rng), 8_800_000 + number)
    lengths = np.concatenate([lot.table.diameter_mm, lot.table.thickness_mm])
    if (lengths <= 0).any():  # the reading of sheets lets no such length through
        return
    findings, statement = statement_of(lot.table)
    assert np.isfinite(findings.score).all(), lot.plan
    assert ((findings.p_value > 0) & (findings.p_value <= 1)).all(), lot.plan
    assert 0 <= statement.expected_honest_set_aside <= lot.plan.coins, lot.plan


@pytest.mark.parametrize("number", range(12))
def test_a_lot_far_off_is_judged(number: int) -> None:
    _judge(number)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(12, 252, 20))
def test_twenty_lots_far_off_are_judged(first: int) -> None:
    for number in range(first, first + 20):
        _judge(number)
