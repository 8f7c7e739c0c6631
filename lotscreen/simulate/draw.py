"""Drawing a lot: bodies struck, worn, altered, laid out, measured, written down.

One seed spawns one generator a task, so that a change to one task (the slips, say)
leaves the coins as they were.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from lotscreen.records import Floats, Ints, Texts
from lotscreen.simulate import writing
from lotscreen.simulate.bodies import Bodies, strike, wear_down
from lotscreen.simulate.grading import noted_grades
from lotscreen.simulate.kinds import KINDS
from lotscreen.simulate.specs import CoinSpec, LotSpec, SimulatedLot
from lotscreen.simulate.worlds import WORLDS

_LEAST_YEARS_IN_USE = 0.5
_UM_PER_MM = 1000.0


def draw_lot(spec: LotSpec, seed: int) -> SimulatedLot:
    """The lot of ``spec`` with its key; the same seed draws the same lot."""
    layout, rolls, measured, hand, eyes, *own, grader = np.random.SeedSequence(seed).spawn(
        6 + len(spec.coins)
    )
    which = _laid_out(spec, np.random.default_rng(layout))
    roll, roll_factor = _rolls(spec, len(which), np.random.default_rng(rolls))
    truth = _Truth(len(which))
    for number, (coins, sequence) in enumerate(zip(spec.coins, own, strict=True)):
        truth.draw(coins, np.flatnonzero(which == number), roll_factor, sequence)
    sheet = _sheet(spec, truth, roll, np.random.default_rng(eyes))
    if spec.graded:
        by_eye = np.random.default_rng(grader)
        sheet["grade"] = noted_grades(truth.depth_mm, spec.graded, spec.eye_log_sd, by_eye)
    _leave_unmeasured(spec, sheet, truth.kind, np.random.default_rng(measured))
    fault, fault_cell = _slip_cells(sheet, spec.slip_rate, np.random.default_rng(hand))
    return SimulatedLot(sheet, _key(sheet, truth, fault, fault_cell))


def _laid_out(spec: LotSpec, rng: np.random.Generator) -> Ints:
    which = np.repeat(np.arange(len(spec.coins)), [coins.count for coins in spec.coins])
    return np.asarray(rng.permutation(which) if spec.shuffled else which)


def _rolls(spec: LotSpec, n: int, rng: np.random.Generator) -> tuple[Ints, Floats]:
    """Roll number of each row (0: loose) and the factor of wear its coins share."""
    if spec.roll_size == 0:
        return np.zeros(n, dtype=np.int64), np.ones(n)
    roll = np.arange(n) // spec.roll_size
    log_sd = spec.roll_log_sd
    factor = np.exp(rng.normal(-0.5 * log_sd**2, log_sd, int(roll[-1]) + 1))
    return roll + 1, np.asarray(factor[roll])


class _Truth:
    """The true state of every row, filled specification by specification."""

    def __init__(self, n: int) -> None:
        self.bodies = Bodies(*(np.full(n, np.nan) for _ in range(6)))
        self.kind: Texts = np.full(n, "", dtype=object)
        self.type_text: Texts = np.full(n, "", dtype=object)
        self.year: Ints = np.zeros(n, dtype=np.int64)
        self.mint_mark: Texts = np.full(n, "", dtype=object)
        self.wear_percent: Floats = np.zeros(n)
        self.depth_mm: Floats = np.zeros(n)

    def draw(
        self, coins: CoinSpec, at: Ints, roll_factor: Floats, seed: np.random.SeedSequence
    ) -> None:
        dates, minting, use, places, making = map(np.random.default_rng, seed.spawn(5))
        year = dates.choice(np.asarray(coins.years, dtype=np.int64), len(at))
        self.year[at] = year
        self.mint_mark[at] = dates.choice(np.array(coins.mint_marks, dtype=object), len(at))
        self.type_text[at] = coins.type_text
        kind = _kinds(coins, places)
        self.kind[at] = np.where(kind == "", coins.label, kind)
        bodies = strike(coins.coin_type, year, coins.designs, coins.weight_shift_share, minting)
        _make(bodies, kind, False, making)
        depth = _depth_mm(coins, year, kind, use) * roll_factor[at]
        self.depth_mm[at] = depth
        worn = wear_down(bodies, depth, use)
        self.wear_percent[at] = 100.0 * (1.0 - worn.weight_g / bodies.weight_g)
        _make(worn, kind, True, making)
        self.bodies.put(at, worn)


def _kinds(coins: CoinSpec, rng: np.random.Generator) -> Texts:
    kind = np.full(coins.count, "", dtype=object)
    for wanted in coins.kinds:
        low, high = round(wanted.start * coins.count), round(wanted.stop * coins.count)
        free = low + np.flatnonzero(kind[low:high] == "")
        kind[rng.choice(free, wanted.count, replace=False)] = wanted.kind
    return kind


def _make(bodies: Bodies, kind: Texts, after_wear: bool, rng: np.random.Generator) -> None:
    """Turn the rows of each kind into that kind, in place."""
    for name in sorted(set(kind) - {""}):
        if KINDS[name].made_after_wear == after_wear:
            at = np.flatnonzero(kind == name)
            bodies.put(at, KINDS[name].make(bodies.rows(at), rng))


def _depth_mm(coins: CoinSpec, year: Ints, kind: Texts, rng: np.random.Generator) -> Floats:
    """Depth worn from every surface: a mean that grows with the years in use, times the
    coin's own luck in the world of wear."""
    in_use = np.maximum(coins.in_use_until - year, _LEAST_YEARS_IN_USE)
    mean = coins.wear.depth_um_per_year / _UM_PER_MM * in_use**coins.wear.growth
    depth = np.asarray(mean * WORLDS[coins.wear.world](rng, len(year)))
    for name in sorted(set(kind) - {""}):
        at = kind == name
        depth[at] *= KINDS[name].worn_share
        if KINDS[name].one_host:
            depth[at] = np.median(depth[at])
    return depth


def _sheet(spec: LotSpec, truth: _Truth, roll: Ints, rng: np.random.Generator) -> pd.DataFrame:
    bodies = truth.bodies
    n = len(truth.kind)
    columns: dict[str, Texts] = {
        "coin_id": np.arange(1, n + 1).astype(str).astype(object),
        "type": truth.type_text.copy(),
        "date": truth.year.astype(str).astype(object),
        "weight_g": writing.weigh(bodies.weight_g, spec.balance, rng),
    }
    if spec.min_max:
        columns["diameter_min_mm"] = writing.gauge_length(bodies.short_mm, spec.gauge, rng)
        columns["diameter_max_mm"] = writing.gauge_length(bodies.diameter_mm, spec.gauge, rng)
    else:
        columns["diameter_mm"] = writing.gauge_diameter(bodies, spec.gauge, rng)
    columns["thickness_mm"] = writing.gauge_thickness(bodies.rim_mm, spec.gauge, rng)
    marked = truth.mint_mark != ""
    columns["date"][marked] += "-" + truth.mint_mark[marked]
    if spec.roll_size:
        columns["group"] = roll.astype(str).astype(object)
    return pd.DataFrame(columns)


def _leave_unmeasured(
    spec: LotSpec, sheet: pd.DataFrame, kind: Texts, rng: np.random.Generator
) -> None:
    """Blank the lengths of all but ``spec.measured`` rows."""
    if spec.measured is None:
        return
    first = np.flatnonzero(np.isin(kind, spec.measured_kinds))
    others = rng.permutation(np.flatnonzero(~np.isin(kind, spec.measured_kinds)))
    unmeasured = np.concatenate([first, others])[spec.measured :]
    lengths = [name for name in sheet.columns if name.endswith("_mm")]
    sheet.loc[unmeasured, lengths] = ""


def _slip_cells(sheet: pd.DataFrame, rate: float, rng: np.random.Generator) -> tuple[Texts, Texts]:
    """Spoil about ``rate`` of the measured cells; which slip and which cell, a row each
    (several cells of one row joined by '; ')."""
    fault, cell = np.full(len(sheet), "", dtype=object), np.full(len(sheet), "", dtype=object)
    for name in [c for c in sheet.columns if c.endswith(("_g", "_mm"))]:
        values = sheet[name].to_numpy(dtype=object).copy()
        for row in np.flatnonzero((rng.random(len(sheet)) < rate) & (values != "")):
            kind = writing.SLIPS[int(rng.integers(len(writing.SLIPS)))]
            spoiled = writing.slip(values[row], kind, rng)
            if spoiled != values[row]:
                values[row] = spoiled
                fault[row] += "; " * bool(fault[row]) + kind
                cell[row] += "; " * bool(cell[row]) + name
        sheet[name] = values
    return fault, cell


def _key(sheet: pd.DataFrame, truth: _Truth, fault: Texts, fault_cell: Texts) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "coin_id": sheet["coin_id"],
            "true_kind": truth.kind,
            "true_wear_percent": truth.wear_percent,
            "injected_fault": fault,
            "fault_cell": fault_cell,
            "true_weight_g": truth.bodies.weight_g,
            "true_diameter_mm": truth.bodies.diameter_mm,
            "true_thickness_mm": truth.bodies.rim_mm,
        }
    )
