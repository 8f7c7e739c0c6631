"""Third door: coins and a frozen fit -> findings."""

from __future__ import annotations

import numpy as np

from lotscreen.evidence.decide import Judged, Verdict, decide, not_rare
from lotscreen.evidence.readings import Departures, departures
from lotscreen.evidence.weigh import COLUMNS, weigh
from lotscreen.evidence.wording import explain
from lotscreen.records import Bools, FindingKind, Findings, Ints, ItemKind, ItemTable, Texts
from lotscreen.settings import Settings
from lotscreen.wear import Fit, TypeFit
from lotscreen.wear.distinct import distinct_rows
from lotscreen.wear.fit import unfitted, usable_coins, with_types
from lotscreen.wear.predict import predictor
from lotscreen.wear.standing import CoinRows, standings_at

_INTERVAL = np.array([0.025, 0.975])


def judge(table: ItemTable, fit: Fit, settings: Settings, of_coins: int = 0) -> Findings:
    """Judge every coin of ``table`` with a frozen ``fit``; other items get no finding.

    A coin whose id entered the fit is judged as if left out. A type of which the fit
    holds no coin is judged on its standard, the instrument and a wide wear allowance.
    The other coins matter only through ``fit``; no step draws at random. ``of_coins`` is
    the number judged in all, where ``table`` is a part.
    """
    table = with_types(table, fit.standards)
    n = len(table)
    out = _Columns(n)
    usable = usable_coins(table)
    coins = of_coins or int(np.count_nonzero(table.kind == ItemKind.COIN))
    for key in sorted(set(table.type_key[usable])):
        rows = np.flatnonzero(usable & (table.type_key == key))
        type_fit = fit.types.get(key)
        if type_fit is None:
            type_fit = unfitted(fit.standards.get(key), fit.belief, settings)
        of_type = table if len(rows) == n else table.rows(rows)
        _judge_type(of_type, rows, type_fit, fit, settings, coins, out)
    for i in np.flatnonzero((table.kind == ItemKind.COIN) & ~usable):
        out.finding[i] = FindingKind.NOT_JUDGED.value
        no_weight = table.weight_n[i] == 0
        out.reason_code[i] = "no_weight" if no_weight else "no_standard"
        out.reason[i] = explain(str(out.reason_code[i]), note=str(table.type_note[i]))
    return out.findings(table.item_id, fit.settings_digest)


class _Columns:
    """The columns of :class:`Findings` while they are being filled."""

    def __init__(self, n: int) -> None:
        names = (
            "expected_weight_g", "expected_low_g", "expected_high_g", "z_weight",
            "z_diameter", "z_thickness", "score", "p_value", "log10_lr", "prob_not_honest",
        )  # fmt: skip
        self.numbers = dict(zip(names, np.full((len(names), n), np.nan), strict=True))
        self.shares = np.zeros((n, len(COLUMNS)))
        self.finding, self.other_type, self.reason_code = _blank(n), _blank(n), _blank(n)
        self.reason, self.explanations, self.next_test = _blank(n), _blank(n), _blank(n)

    def rates(self, rows: Ints, found: Departures, settings: Settings) -> None:
        """Fill the figures of ``rows`` from their departures."""
        numbers = self.numbers
        numbers["z_weight"][rows] = found.z_weight
        numbers["z_diameter"][rows] = found.z_diameter
        numbers["z_thickness"][rows] = found.z_thickness
        numbers["p_value"][rows] = found.p_joint
        numbers["score"][rows] = found.score
        numbers["log10_lr"][rows] = found.log10_lr
        if settings.own_rate is not None:
            odds = settings.own_rate / max(1 - settings.own_rate, 1e-12)
            lr = odds * np.power(10.0, np.clip(found.log10_lr, -290, 290))
            numbers["prob_not_honest"][rows] = lr / (1 + lr)

    def verdict(self, rows: Ints, verdict: Verdict) -> None:
        """Give ``rows`` one verdict."""
        for column, value in (
            (self.finding, verdict.finding), (self.reason_code, verdict.reason_code),
            (self.reason, verdict.reason), (self.explanations, verdict.explanations),
            (self.next_test, verdict.next_test), (self.other_type, verdict.other_type),
        ):  # fmt: skip
            column[rows] = value

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
    coins: ItemTable, rows: Ints, type_fit: TypeFit, fit: Fit, settings: Settings, judged: int,
    out: _Columns,
) -> None:  # fmt: skip
    in_fit = np.array([i in fit.items for i in coins.item_id], dtype=np.bool_)
    found = departures(coins, type_fit, in_fit)
    out.rates(rows, found, settings)
    _expected(found.placed, rows, type_fit, out)
    quiet = found.p_joint > settings.limit
    for group in _alike(coins, quiet) if quiet.any() else ():
        out.verdict(rows[group], not_rare(coins, int(group[0]), type_fit))
    odd = np.flatnonzero(~quiet)
    if not len(odd):
        return
    there, those = (found, coins) if len(odd) == len(coins) else (found.rows(odd), coins.rows(odd))
    weighed = weigh(those, there, type_fit, fit, settings)
    out.shares[rows[odd]] = weighed.shares
    for k, row in enumerate(rows[odd]):
        coin = Judged(those, k, there, weighed.shares[k], COLUMNS, weighed.slips[k],
                      weighed.other[k], type_fit, judged)  # fmt: skip
        out.verdict(np.array([row]), decide(coin, settings))


def _alike(coins: ItemTable, quiet: Bools) -> list[Ints]:
    """The quiet coins by balance: those of one step, cell width and uncertainty."""
    kinds = np.column_stack([
        coins.weight_step_g, coins.weight_high_g - coins.weight_low_g, coins.weight_u_g
    ])  # fmt: skip
    kinds = np.where(np.isfinite(kinds), np.round(kinds, 7), -1.0)
    places = np.flatnonzero(quiet)
    distinct, which, _ = distinct_rows(kinds[places])
    return [places[which == k] for k in range(len(distinct))]


def _expected(placed: CoinRows, rows: Ints, type_fit: TypeFit, out: _Columns) -> None:
    """Mean and interval of the readings of honest coins where each coin stands."""
    tables = predictor(type_fit)
    distinct, of, _ = distinct_rows(placed.stacked()[:, [2, 3, 5, 6]])
    known = np.empty((len(distinct), 3))
    for k, (u, at) in enumerate(zip(distinct[:, 0], standings_at(distinct[:, 1:]), strict=True)):
        known[k, 0] = tables.expected_reading_g(at)
        known[k, 1:] = tables.reading_quantiles(at, float(u), _INTERVAL)
    names = ("expected_weight_g", "expected_low_g", "expected_high_g")
    for name, column in zip(names, known.T, strict=True):
        out.numbers[name][rows] = column[of]
