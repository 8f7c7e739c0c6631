"""What is said of a lot as a whole: honest coins among those set aside, rate of wear, and
lots that are wholly off."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from lotscreen.instruments import ScaleBelief
from lotscreen.lot.statement import TypeStatement
from lotscreen.records import FindingKind, Findings
from lotscreen.simulate.specs import Balance

from .counts import exact_interval, jackknife
from .lots import COINAGES, SETTINGS, STANDARDS, WORLD_NAMES, Lot, Plan, draw
from .screen import DEPARTING, statement_of
from .table import Line, Row

_KNOWN = replace(SETTINGS, mint_bias_width=0.0)
_EXACT_SCALE = ScaleBelief(0.0, 1e-6, True)
_NOTICED = 0.01
_COINAGES = ("quarter", "half", "small gold")


@dataclass(frozen=True, slots=True)
class Effort:
    """``expected`` lots of 500 for the honest among those set aside, ``rates`` lots of
    2,000 for the error of the rate of wear, ``intervals`` of 500 for the coverage of its
    interval, ``off`` lots of 500 for each way of being wholly off."""

    expected: int
    rates: int
    intervals: int
    off: int


QUICK = Effort(24, 4, 12, 6)
FULL = Effort(500, 60, 500, 80)


def rows(effort: Effort, tell: Callable[[str], None]) -> Iterator[Row | Line]:
    """All rows on lots as a whole."""
    yield from _expected_honest(effort, tell)
    yield from _rate_rows(effort, tell)
    yield from _interval_rows(effort, tell)
    yield from _off_rows(effort, tell)


def _plan(k: int, coins: int) -> Plan:
    return Plan(_COINAGES[k % 3], WORLD_NAMES[k % 4], coins)


def _said(lot: Lot, known: bool) -> TypeStatement:
    if known:
        end = COINAGES[lot.plan.coinage].in_use_until
        settings = replace(_KNOWN, circulation_end=end)
        return statement_of(lot.table, settings, _EXACT_SCALE)[1].types[0]
    return statement_of(lot.table)[1].types[0]


def _loss_a_year(lot: Lot) -> float:
    """Realised loss a year in per cent, weighted by coins: all that the coins have lost
    over all the years they were used."""
    used = COINAGES[lot.plan.coinage].in_use_until - lot.table.year
    return 100.0 * float(lot.wear_share.sum() / used.sum())


def _rate_rows(effort: Effort, tell: Callable[[str], None]) -> Iterator[Row | Line]:
    tell(f"whole: rate of wear, {effort.rates} lots")
    part = "Rate of wear"
    near, errors = 0, []
    for k in range(effort.rates):
        lot = draw(_plan(k, 2000), 7_000_000 + k)
        said = _said(lot, known=True).loss_per_year_percent
        error = np.inf if said is None else abs(said / _loss_a_year(lot) - 1.0)
        near += error < 0.05
        errors.append(error)
    yield Row(part, f"loss a year within 5 %, rest known ({effort.rates} of 2,000)",
              near / effort.rates, exact_interval(near, effort.rates), 0.9)  # fmt: skip
    yield Line(part, f"    median error {np.median(errors):.1%}")


def _interval_rows(effort: Effort, tell: Callable[[str], None]) -> Iterator[Row | Line]:
    part = "Rate of wear"
    for known in (True, False):
        tell(f"whole: interval of the loss, {effort.intervals} lots")
        covers, widths = 0, []
        for k in range(effort.intervals):
            lot = draw(_plan(k, 500), 7_100_000 + k)
            said = _said(lot, known)
            true = 100.0 * float(lot.wear_share.mean())
            covers += said.mean_loss_low_percent <= true <= said.mean_loss_high_percent
            widths.append(said.mean_loss_high_percent - said.mean_loss_low_percent)
        name = "rest known" if known else "rest unknown"
        yield Row(part, f"95 % interval of mean loss covers, {name} ({effort.intervals})",
                  covers / effort.intervals, exact_interval(covers, effort.intervals),
                  0.92, 0.98 if known else None)  # fmt: skip
        yield Line(part, f"    median width {np.median(widths):.2f} % of the weight")


def _any_wear(k: int) -> Plan:
    """The k-th lot, worn as little or much as the standards declare a type may be."""
    plan = _plan(k, 500)
    return replace(plan, lot_log_sd=STANDARDS.get(COINAGES[plan.coinage].key).wear_log_sd)


def _off_rows(effort: Effort, tell: Callable[[str], None]) -> Iterator[Row]:
    """Lots that are wholly off, by the printed smallest shift and by more."""
    part = "Lots wholly off: how often it is noticed"
    tell(f"whole: lots wholly off, {effort.off} lots each")
    honest = [draw(_any_wear(k), 7_200_000 + k) for k in range(effort.off)]
    first = [_said(lot, known=False) for lot in honest]
    quiet = sum(said.shift_p < _NOTICED for said in first)
    yield _noticed_row(part, "honest lots, noticed all the same", quiet, effort.off, None, 0.03)
    for times, low, high in ((1.0, 0.9, 0.98), (1.5, 0.95, None)):
        noticed = 0
        for k, said in enumerate(first):
            off = -times * said.smallest_shift_percent / 100.0
            noticed += _noticed(replace(_any_wear(k), balance=Balance(scale_error=off)), k)
        what = f"lighter by {times:g} x the smallest shift printed"
        yield _noticed_row(part, what, noticed, effort.off, low, high)
    for what, changes in (
        ("scale 0.5 % low", {"balance": Balance(scale_error=-0.005)}),
        ("alloy 1 % lighter", {"lighter": 0.01}),
        ("15 more years in use", {"in_use_longer": 15}),
    ):
        noticed = sum(_noticed(replace(_any_wear(k), **changes), k) for k in range(effort.off))
        yield _noticed_row(part, what, noticed, effort.off, None, None)


def _noticed(plan: Plan, k: int) -> bool:
    return _said(draw(plan, 7_200_000 + k), known=False).shift_p < _NOTICED


def _noticed_row(
    part: str, what: str, hits: int, of: int, low: float | None, high: float | None
) -> Row:
    return Row(part, f"{what} ({of} lots)", hits / of, exact_interval(hits, of), low, high)


def _expected_honest(effort: Effort, tell: Callable[[str], None]) -> Iterator[Row | Line]:
    """Predicted against actual number of honest coins among those set aside."""
    tell(f"whole: honest among those set aside, {effort.expected} lots")
    predicted, actual, clean, strict = [], [], 0, 0
    shares = (0.0, 0.02, 0.1, 0.3)
    for k in range(effort.expected):
        coinage = _COINAGES[k % 3]
        share = shares[(k // len(WORLD_NAMES)) % len(shares)]
        plan = Plan(coinage, WORLD_NAMES[k % len(WORLD_NAMES)], 500, share)
        lot = draw(plan, 5_500_000 + k)
        findings, statement = statement_of(lot.table)
        aside = np.isin(findings.finding, DEPARTING)
        predicted.append(statement.expected_honest_set_aside)
        actual.append(float((aside & lot.honest).sum()))
        clean += share == 0.0
        strict += share == 0.0 and _any_not_consistent(findings)
    part = "Expected honest coins among those set aside"
    x, y = np.array(predicted), np.array(actual)

    def slope(some: list[int]) -> float:
        return float(np.sum(x[some] * y[some]) / max(np.sum(x[some] ** 2), 1e-12))

    value, error = jackknife(lambda some: slope(list(some)), len(x))
    yield Row(part, f"slope of actual on predicted, {len(x)} lots", value,
              (value - 1.96 * error, value + 1.96 * error), 0.8, 1.2)  # fmt: skip
    yield Line(part, f"    a lot: predicted {x.mean():.2f}, actual {y.mean():.2f}")
    yield Row(part, f"{clean} lots, none false, that have one not consistent",
              strict / max(clean, 1), exact_interval(strict, clean), None, 0.05)  # fmt: skip


def _any_not_consistent(findings: Findings) -> bool:
    return bool((findings.finding == FindingKind.NOT_CONSISTENT.value).any())
