"""Lots of one type with known truth, drawn within the widths that are declared of scale,
mint, wear and years, as item tables."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from lotscreen.evidence import judge
from lotscreen.instruments import ScaleBelief
from lotscreen.lot.state import LotRows, lot_statement
from lotscreen.lot.statement import TypeStatement
from lotscreen.records import ItemTable, Texts
from lotscreen.settings import Settings
from lotscreen.simulate import Balance, CoinSpec, KindCount, LotSpec, SimulatedLot, Wear, draw_lot
from lotscreen.simulate.worlds import WORLDS
from lotscreen.standards import load_standards
from lotscreen.wear import fit

STANDARDS = load_standards()
KEYS = ("us-half-1873", "us-quarter-1873", "us-quarter-eagle-1837")
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Truth:
    """A lot to draw: what its mean hides, each within its declared width."""

    key: str
    world: str
    coins: int
    years: tuple[int, ...]
    end: int
    loss_a_year: float
    growth: float = 1.0
    scale_error: float = 0.0
    mint_bias: float = 0.0
    kinds: tuple[KindCount, ...] = ()


def truth(number: int, coins: int, settings: Settings | None = None) -> Truth:
    """The lot of that number: type and world in turn, the rest drawn from the widths of
    ``settings`` (None: scale, mint and end of circulation as given)."""
    rng = np.random.default_rng(90_000 + number)
    standard = STANDARDS.get(KEYS[number % len(KEYS)])
    end = standard.circulation_end
    last = min(standard.last_year or end, end - 6)
    years = tuple(range(max(standard.first_year, end - 70), last + 1))
    rate = standard.wear_per_year * float(np.exp(rng.normal(0.0, standard.wear_log_sd)))
    made = Truth(standard.key, list(WORLDS)[number % len(WORLDS)], coins, years, end, rate)
    if settings is None:
        return made
    return replace(
        made,
        end=max(round(end + rng.normal(0.0, settings.circulation_end_width)), last + 1),
        scale_error=rng.normal(0.0, settings.scale_width),
        mint_bias=rng.normal(0.0, settings.mint_bias_width),
        growth=float(rng.choice([0.0, 0.5, 1.0], p=[0.25, 0.25, 0.5])),
    )


@cache
def _depth_um_per_loss(key: str) -> float:
    """Depth worn from every surface that takes all of the weight, in proportion."""
    spec = CoinSpec(STANDARDS.get(key), key, 2000, (1900,), 1930, Wear("gamma", 0.3))
    loss = draw_lot(LotSpec((spec,)), 1).key["true_wear_percent"].astype(float).mean() / 100
    return 0.3 * 30 / loss


def drawn(made: Truth, seed: int) -> SimulatedLot:
    """The lot; its loss at the typical years in use is what ``loss_a_year`` says."""
    used = np.maximum(np.array(made.years) * -1.0 + made.end, 0.5)
    typical = float(np.exp(np.mean(np.log(used))))
    depth = _depth_um_per_loss(made.key) * made.loss_a_year * typical / typical**made.growth
    spec = CoinSpec(
        STANDARDS.get(made.key), made.key, made.coins, made.years, made.end,
        Wear(made.world, depth, made.growth), kinds=made.kinds,
        weight_shift_share=made.mint_bias,
    )  # fmt: skip
    return draw_lot(LotSpec((spec,), balance=Balance(scale_error=made.scale_error)), seed)


def table_of(lot: SimulatedLot, key: str, lengths: bool = True) -> ItemTable:
    """The sheet's readings as an item table, without a sheet being written and read, with
    its rolls and grades where it has such columns."""
    sheet = lot.sheet
    n = len(sheet)

    def column(name: str) -> Floats:
        return sheet[name].astype(float).to_numpy()

    def texts(name: str) -> Texts:
        return sheet[name].to_numpy(object) if name in sheet else np.full(n, "", object)

    weight, missing = column("weight_g"), np.full(n, np.nan)
    blank, one, no = np.full(n, "", object), np.ones(n, np.int64), np.zeros(n, np.bool_)
    return ItemTable(
        item_id=np.array([f"c{i}" for i in range(n)], object), kind=np.full(n, "coin", object),
        count=one, lot=blank, type_text=blank, type_key=np.full(n, key, object),
        type_note=blank, year=column("date"), group=texts("group"), order=np.arange(n),
        weight_g=weight, weight_low_g=weight - 0.005, weight_high_g=weight + 0.005,
        weight_u_g=np.full(n, 0.01), weight_n=one, weight_step_g=np.full(n, 0.01),
        diameter_mm=column("diameter_mm") if lengths else missing, diameter_min_mm=missing,
        diameter_max_mm=missing, diameter_u_mm=np.full(n, 0.02), diameter_n=one * lengths,
        thickness_mm=column("thickness_mm") if lengths else missing,
        thickness_u_mm=np.full(n, 0.02), thickness_n=one * lengths, doubtful=no, suspended=no,
        grade=texts("grade"),
    )  # fmt: skip


def said_of(
    table: ItemTable, settings: Settings | None = None, belief: ScaleBelief | None = None
) -> TypeStatement:
    """The statement on the only type of a lot, through the doors."""
    settings = settings or Settings()
    frozen = fit(table, STANDARDS, settings, 0, belief=belief)
    rows = LotRows(
        "", table, judge(table, frozen, settings), table.item_id,
        np.ones(len(table), np.bool_), len(table), 0, 0, (), None,
    )  # fmt: skip
    return lot_statement(rows, frozen, settings).types[0]


def share(count: int, holds: Callable[[int], bool]) -> float:
    """In how many of ``count`` numbered cases something holds."""
    return sum(holds(number) for number in range(count)) / count
