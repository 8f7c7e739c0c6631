"""Third door: coins and a frozen fit -> findings."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from lotscreen.evidence.decide import Judged, decide
from lotscreen.evidence.mechanisms import MECHANISMS, OTHER_TYPE_SHARE
from lotscreen.evidence.points import log_evidence
from lotscreen.evidence.readings import Departures, departures, log_gauge_given
from lotscreen.evidence.rivals import Explanations, explanations_of, log_rival_shares
from lotscreen.evidence.slips import SLIP_KEYS, SlipCoin, SlipEvidence, slip_evidence
from lotscreen.evidence.wording import explain
from lotscreen.records import (
    FindingKind,
    Findings,
    Floats,
    ItemKind,
    ItemTable,
    Texts,
)
from lotscreen.settings import Settings
from lotscreen.wear import Fit, TypeFit
from lotscreen.wear.fit import unfitted, usable_coins, with_types
from lotscreen.wear.predict import predictor

_SLIP_BELOW_P = 0.02
_INTERVAL = np.array([0.025, 0.975])
COLUMNS = (*(m.key for m in MECHANISMS), "other_type", *SLIP_KEYS)


@lru_cache(maxsize=256)
def _explanations(type_fit: TypeFit, fit: Fit) -> Explanations:
    return explanations_of(type_fit, fit.standards)


def judge(table: ItemTable, fit: Fit, settings: Settings) -> Findings:
    """Judge every coin of ``table`` with a frozen ``fit``; other items get no finding.

    A coin whose id entered the fit is judged as if left out. A type of which the fit
    holds no coin is judged on its standard, the instrument and a wide wear allowance.
    The other coins matter only through ``fit``; no step draws at random.
    """
    table = with_types(table, fit.standards)
    n = len(table)
    out = _Columns(n)
    usable = usable_coins(table)
    coins = int(np.count_nonzero(table.kind == ItemKind.COIN))
    for key in sorted(set(table.type_key[usable])):
        rows = np.flatnonzero(usable & (table.type_key == key))
        type_fit = fit.types.get(key)
        if type_fit is None:
            type_fit = unfitted(fit.standards.get(key), fit.belief, settings)
        _judge_type(table.rows(rows), rows, type_fit, fit, settings, coins, out)
    for i in np.flatnonzero((table.kind == ItemKind.COIN) & ~usable):
        out.finding[i] = FindingKind.NOT_JUDGED.value
        no_weight = table.weight_n[i] == 0
        out.reason_code[i] = "no_weight" if no_weight else "no_standard"
        out.reason[i] = explain(str(out.reason_code[i]), note=str(table.type_note[i]))
    return out.findings(table.item_id, fit.settings_digest)


class _Columns:
    """The columns of :class:`Findings` while they are being filled."""

    def __init__(self, n: int) -> None:
        self.numbers = {
            name: np.full(n, np.nan)
            for name in (
                "expected_weight_g", "expected_low_g", "expected_high_g", "z_weight",
                "z_diameter", "z_thickness", "score", "p_value", "log10_lr", "prob_not_honest",
            )
        }  # fmt: skip
        self.shares = np.zeros((n, len(COLUMNS)))
        self.finding, self.other_type, self.reason_code = _blank(n), _blank(n), _blank(n)
        self.reason, self.explanations, self.next_test = _blank(n), _blank(n), _blank(n)

    def findings(self, item_id: Texts, digest: str) -> Findings:
        return Findings(
            item_id=item_id, finding=self.finding, mechanisms=COLUMNS, shares=self.shares,
            other_type=self.other_type, reason_code=self.reason_code, reason=self.reason,
            explanations=self.explanations, next_test=self.next_test, settings_digest=digest,
            **self.numbers,
        )  # fmt: skip


def _blank(n: int) -> Texts:
    return np.full(n, "", dtype=object)


def _judge_type(
    coins: ItemTable, rows: np.ndarray, type_fit: TypeFit, fit: Fit, settings: Settings,
    judged: int, out: _Columns,
) -> None:  # fmt: skip
    in_fit = np.array([i in fit.items for i in coins.item_id], dtype=np.bool_)
    found = departures(coins, type_fit, in_fit)
    evidence = _weigh(coins, found, type_fit, fit, settings)
    out.shares[rows] = evidence.shares
    numbers = out.numbers
    numbers["z_weight"][rows] = found.z_weight
    numbers["z_diameter"][rows] = found.z_diameter
    numbers["z_thickness"][rows] = found.z_thickness
    numbers["p_value"][rows] = found.p_joint
    numbers["score"][rows] = -found.log10_p
    numbers["log10_lr"][rows] = evidence.log10_lr
    if settings.own_rate is not None:
        odds = settings.own_rate / max(1 - settings.own_rate, 1e-12)
        lr = odds * np.power(10.0, np.clip(evidence.log10_lr, -290, 290))
        numbers["prob_not_honest"][rows] = lr / (1 + lr)
    _expected(coins, rows, type_fit, out)
    for k, row in enumerate(rows):
        verdict = decide(
            Judged(coins, k, found, evidence.shares[k], COLUMNS, evidence.slips[k],
                   evidence.other[k], type_fit, judged),
            settings,
        )  # fmt: skip
        out.finding[row] = verdict.finding
        out.reason_code[row] = verdict.reason_code
        out.reason[row] = verdict.reason
        out.explanations[row] = verdict.explanations
        out.next_test[row] = verdict.next_test
        out.other_type[row] = verdict.other_type


def _expected(coins: ItemTable, rows: np.ndarray, type_fit: TypeFit, out: _Columns) -> None:
    tables = predictor(type_fit)
    known: dict[tuple[float, float], tuple[float, float, float]] = {}
    for row, year, u in zip(rows, coins.year, coins.weight_u_g, strict=True):
        key = (float(year) if year == year else -1.0, float(u))
        if key not in known:
            low, high = tables.reading_quantiles(float(year), float(u), _INTERVAL)
            known[key] = (tables.expected_reading_g(float(year)), float(low), float(high))
        mean, low, high = known[key]
        out.numbers["expected_weight_g"][row] = mean
        out.numbers["expected_low_g"][row] = low
        out.numbers["expected_high_g"][row] = high


@dataclass(frozen=True, slots=True)
class _Evidence:
    shares: Floats
    log10_lr: Floats
    slips: list[SlipEvidence]
    other: list[str]


def _weigh(
    coins: ItemTable, found: Departures, type_fit: TypeFit, fit: Fit, settings: Settings
) -> _Evidence:
    """Shares of the evidence at the declared reference weights, and the ratio of
    departures to honest explanations."""
    known = _explanations(type_fit, fit)
    log_points = log_evidence(found.readings, type_fit, known.points, known.count)
    log_points[:, 0] = np.log(np.maximum(found.predicted.cell, 1e-299)) + log_gauge_given(
        found, type_fit
    )
    sides = np.array([m.side == "honest" for m in MECHANISMS])
    weights = np.array([m.share for m in MECHANISMS])
    named = log_points[:, : len(MECHANISMS)] + np.log(weights)
    others = log_points[:, len(MECHANISMS) :]
    if others.shape[1]:
        others = others + np.log(OTHER_TYPE_SHARE) + log_rival_shares(known, coins.year)
    best = others.argmax(axis=1) if others.shape[1] else np.zeros(len(coins), np.int64)
    slips = [
        slip_evidence(_slip_coin(coins, k, found), type_fit, settings.slip_rate)
        if found.p_joint[k] < _SLIP_BELOW_P
        else SlipEvidence(-690.0, "", "", np.nan)
        for k in range(len(coins))
    ]
    columns = np.full((len(coins), len(COLUMNS)), -690.0)
    columns[:, : len(MECHANISMS)] = named
    if others.shape[1]:
        columns[:, len(MECHANISMS)] = np.logaddexp.reduce(others, axis=1)
    for k, slip in enumerate(slips):
        if slip.key:
            columns[k, COLUMNS.index(slip.key)] = slip.log_evidence
    shares = np.exp(columns - columns.max(axis=1, keepdims=True))
    shares /= shares.sum(axis=1, keepdims=True)
    honest = np.logaddexp(np.logaddexp.reduce(named[:, sides], axis=1), columns[:, len(MECHANISMS)])
    departing = np.logaddexp.reduce(named[:, ~sides], axis=1)
    keys = known.rivals
    return _Evidence(
        shares,
        (departing - honest) / np.log(10),
        slips,
        [keys[int(b)] if keys else "" for b in best],
    )


def _slip_coin(coins: ItemTable, k: int, found: Departures) -> SlipCoin:
    return SlipCoin(
        weight_g=float(coins.weight_g[k]),
        weight_step_g=float(coins.weight_step_g[k]),
        weight_u_g=float(coins.weight_u_g[k]),
        weighings=int(coins.weight_n[k]),
        diameter_mm=float(found.readings.diameter_mm[k]),
        diameter_u_mm=float(coins.diameter_u_mm[k]),
        excess_mm=float(found.readings.excess_mm[k]),
        thickness_mm=float(coins.thickness_mm[k]),
        year=float(coins.year[k]),
    )
