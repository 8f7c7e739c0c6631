"""Published values of agreement and detection, and worked figures of trays, reproduced."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np
import pytest
from reference import (
    cohen_sas,
    feinstein_cicchetti_1990,
    fleiss_1971,
    gwet_agreement,
    signal_detection,
    tray_precision,
)
from statsmodels.stats.inter_rater import fleiss_kappa

from lotscreen.records import Floats
from lotscreen.tray.marking.agreement import Agreement, many, pair, per_piece, two_raters
from lotscreen.tray.marking.detection import (
    criterion,
    d_prime,
    exact_moments,
    log_linear,
    standard_error,
)
from lotscreen.tray.marking.pass_rule import ExampleTrainee, chance_to_pass
from lotscreen.tray.marking.rates import at_least


def _fleiss(counts: Floats) -> float:
    weights = np.full((1, len(counts)), 1 / len(counts))
    return float(many(*per_piece(counts), weights)[1][0])


def test_fleiss_kappa_is_that_of_the_paper() -> None:
    counts = np.array(
        [[Counter(row)[str(d)] for d in range(1, 6)] for row in fleiss_1971.DIAGNOSES], float
    )
    assert tuple(counts.sum(axis=0)) == fleiss_1971.COLUMN_SUMS
    assert _fleiss(counts) == pytest.approx(fleiss_1971.KAPPA, abs=5e-8)
    fourteen = np.array(fleiss_1971.FOURTEEN_RATERS, float)
    assert _fleiss(fourteen) == pytest.approx(fleiss_1971.KAPPA_OF_FOURTEEN, abs=5e-8)
    assert _fleiss(fourteen) == pytest.approx(fleiss_kappa(fourteen), abs=1e-12)


def test_cohens_kappa_and_ac1_of_three_categories() -> None:
    cells = np.array(gwet_agreement.TABLE, float).reshape(1, -1)
    _, kappa, ac1 = pair(cells)
    assert kappa[0] == pytest.approx(gwet_agreement.KAPPA, abs=5e-8)
    assert ac1[0] == pytest.approx(gwet_agreement.AC1, abs=5e-8)
    sas = pair(np.array(cohen_sas.TABLE, float).reshape(1, -1))[1][0]
    assert sas == pytest.approx(cohen_sas.KAPPA, abs=5e-5)


def _of_table(table: Sequence[Sequence[int]]) -> Agreement:
    one, other = [], []
    for row, counts in enumerate(table):
        for column, count in enumerate(counts):
            one += [bool(row)] * count
            other += [bool(column)] * count
    return two_raters(np.array(one), np.array(other))


def test_the_paradox_of_kappa_and_what_ac1_says() -> None:
    known = feinstein_cicchetti_1990
    even, skewed, rare = (_of_table(t) for t in (known.EVEN, known.SKEWED, known.RARE))
    assert even.raw.value == pytest.approx(known.EVEN_RAW)
    assert even.kappa.value == pytest.approx(known.EVEN_KAPPA, abs=5e-9)
    assert even.ac1.value == pytest.approx(known.EVEN_AC1, abs=5e-9)
    assert skewed.raw.value == pytest.approx(known.SKEWED_RAW)
    assert skewed.kappa.value == pytest.approx(known.SKEWED_KAPPA, abs=5e-9)
    assert skewed.ac1.value == pytest.approx(known.SKEWED_AC1, abs=5e-9)
    assert rare.kappa.value == pytest.approx(known.RARE_KAPPA, abs=5e-9)
    assert rare.ac1.value == pytest.approx(known.RARE_AC1, abs=5e-9)
    assert skewed.kappa.low < skewed.kappa.value < skewed.kappa.high


def test_d_prime_and_criterion_with_the_log_linear_correction() -> None:
    known = signal_detection
    counts = (known.HITS, known.OF_FALSE, known.ALARMS, known.OF_HONEST)
    assert log_linear(*counts[:2]) == pytest.approx(known.HIT_SHARE, abs=5e-8)
    assert log_linear(*counts[2:]) == pytest.approx(known.ALARM_SHARE, abs=5e-7)
    assert d_prime(*counts) == pytest.approx(known.D_PRIME, abs=5e-7)
    assert criterion(*counts) == pytest.approx(known.CRITERION, abs=5e-8)
    n = known.PERFECT_OF
    assert d_prime(n, n, 0, n) == pytest.approx(known.PERFECT_D_PRIME, abs=5e-9)
    assert criterion(n, n, 0, n) == pytest.approx(0.0, abs=1e-12)
    many_pieces = 10**9
    hit, alarm = known.TRUE_SHARES
    found = d_prime(hit * many_pieces, many_pieces, alarm * many_pieces, many_pieces)
    assert found == pytest.approx(known.TRUE_D_PRIME, abs=1e-7)


def test_how_far_marks_are_open() -> None:
    hit, alarm = signal_detection.TRUE_SHARES
    for pieces, error in tray_precision.STANDARD_ERROR.items():
        assert standard_error(hit, alarm, *pieces) == pytest.approx(error, abs=0.005)
    mean, spread = exact_moments(hit, alarm, 6, 19)
    assert mean == pytest.approx(tray_precision.ONE_TRAY_MEAN, abs=0.005)
    assert spread == pytest.approx(tray_precision.ONE_TRAY_SD, abs=0.005)
    for hits, share in tray_precision.AT_LEAST.items():
        assert at_least(hits, hits) == pytest.approx(share, abs=0.005)


def test_whom_a_pass_rule_passes() -> None:
    known = tray_precision
    limits = (known.OF_FALSE, known.OF_HONEST, known.LEAST_HITS, known.MOST_ALARMS)

    def chance(hits: float, alarms: float) -> float:
        return chance_to_pass(ExampleTrainee("", hits, alarms), *limits)

    for hits, share in known.PASS_HITS.items():
        assert chance(hits, 1e-9) == pytest.approx(share, abs=0.005)
    for alarms, share in known.PASS_ALARMS.items():
        assert chance(1 - 1e-9, alarms) == pytest.approx(share, abs=0.005)
    assert chance(*known.JOINT_SHARES) == pytest.approx(known.JOINT, abs=0.005)
    one = chance_to_pass(
        ExampleTrainee("", known.ONE_TRAY_HIT, 1e-9), known.ONE_TRAY_OF, 19,
        known.ONE_TRAY_LEAST, 19,
    )  # fmt: skip
    assert one == pytest.approx(known.ONE_TRAY_PASS, abs=0.005)
