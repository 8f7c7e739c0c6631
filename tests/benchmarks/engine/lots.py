"""Lots for the benchmark, drawn by the simulator's physics straight into an item table.

What differs from ``draw_lot``: no sheet is written and read again; each date has its own
level of wear about the type's line; the levels drawn for the lot (wear by date, density,
height of the rims) are kept, because the likelihood ratio under the truth needs them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from lotscreen.instruments import reading_sd
from lotscreen.records import Bools, Floats, ItemKind, ItemTable, Quantity, Texts
from lotscreen.settings import Settings
from lotscreen.simulate.bodies import Bodies, rim_stands, strike, wear_down
from lotscreen.simulate.kinds import KINDS, Kind
from lotscreen.simulate.specs import Balance, Gauge
from lotscreen.simulate.worlds import WORLDS
from lotscreen.simulate.writing import felt_diameter, felt_thickness, felt_weight, to_step
from lotscreen.standards import CoinType, load_standards

from .more_kinds import MORE_KINDS

STANDARDS = load_standards()
SETTINGS = Settings()
WORLD_NAMES = tuple(WORLDS)
ALL_KINDS: Mapping[str, Kind] = {**KINDS, **MORE_KINDS}
SIX_KINDS = (
    "brass, right size",
    "cast",
    "copper, right weight",
    "clipped by weight",
    "light alloy",
    "lead alloy, right size",
)
READING_SETS = ("all three", "weight only", "no diameter", "no thickness", "thickness for 30 %")
_UM_PER_MM = 1000.0
_MOST_COINS_A_DATE = 80.0
_SOME_THICKNESSES = 0.3
_TAIL_TIMES = 3.0
SLICK_DEPTH_MM, _REDRAWS = 0.08, 40


@dataclass(frozen=True, slots=True)
class Coinage:
    """A type and how its coins lived: years struck, end of use, mean depth worn a year."""

    name: str
    key: str
    first_year: int
    last_year: int
    in_use_until: int
    depth_um_per_year: float
    designs: tuple[int, ...] = ()


COINAGES: Mapping[str, Coinage] = {
    c.name: c
    for c in (
        Coinage("quarter", "us-quarter-1873", 1900, 1959, 1965, 0.25, (1916, 1932)),
        Coinage("half", "us-half-1873", 1900, 1959, 1965, 0.28, (1916, 1948)),
        Coinage("dollar", "us-dollar-1840", 1876, 1935, 1964, 0.15, (1878, 1921)),
        Coinage("dime", "us-dime-1873", 1900, 1959, 1965, 0.38, (1916, 1946)),
        Coinage("small gold", "us-quarter-eagle-1837", 1870, 1929, 1933, 0.12, (1890, 1908)),
    )
}


@dataclass(frozen=True, slots=True)
class Plan:
    """One lot to draw. ``coins_a_date`` (least, most) makes as many dates as the coins
    fill; None spreads them unequally, 1 to 80, over all years. ``gauge_tail_share`` of
    the lengths are read with three times the spread. ``kinds`` come in equal parts, or
    drawn at ``kind_weights``. ``worn`` times as deep as the coinage says. ``in_use_longer``
    years more than the coinage says, and ``lighter`` (share) in every planchet: lots that
    are wholly off."""

    coinage: str
    world: str
    coins: int
    false_share: float = 0.0
    readings: str = "all three"
    coins_a_date: tuple[int, int] | None = None
    kinds: tuple[str, ...] = SIX_KINDS
    kind_weights: tuple[float, ...] = ()
    balance: Balance = field(default_factory=Balance)
    gauge: Gauge = field(default_factory=Gauge)
    gauge_tail_share: float = 0.0
    lot_log_sd: float = 0.25
    date_log_sd: float = 0.15
    worn: float = 1.0
    in_use_longer: int = 0
    lighter: float = 0.0


@dataclass(frozen=True, slots=True)
class Levels:
    """What is true of the lot and of each coin's date: the type with its density in this
    lot, mean depth worn (mm) and height of the rim above the metal (mm), one a coin."""

    coin_type: CoinType
    depth_mm: Floats
    stand_mm: Floats


@dataclass(frozen=True, slots=True)
class Lot:
    """A drawn lot: its table, each coin's kind ("honest" or a name of ``plan.kinds``),
    the share of weight it has lost by wear, and the true levels."""

    plan: Plan
    table: ItemTable
    kind: Texts
    wear_share: Floats
    levels: Levels

    @property
    def honest(self) -> Bools:
        """The coins that are what the sheet says."""
        return np.asarray(self.kind == "honest")


def draw(plan: Plan, seed: int) -> Lot:
    """The lot of ``plan``; the same plan and seed draw the same lot."""
    level, dates, minting, use, places, making, eyes = map(
        np.random.default_rng, np.random.SeedSequence(seed).spawn(7)
    )
    coinage = COINAGES[plan.coinage]
    year = _years(plan, coinage, dates)
    coin_type = _with_density(STANDARDS.get(coinage.key), level)
    stands = rim_stands(coin_type, coinage.designs, level)
    depth = _mean_depth_mm(plan, coinage, year, level)
    kind = _kinds(plan, places)
    struck = strike(coin_type, year, coinage.designs, -plan.lighter, minting, stands)
    _make(struck, kind, False, making)
    share_worn = np.array([1.0 if k == "honest" else ALL_KINDS[k].worn_share for k in kind])
    worn = wear_down(struck, _depth_mm(depth * share_worn, plan.world, use), use)
    wear_share = 1.0 - worn.weight_g / struck.weight_g
    _make(worn, kind, True, making)
    which = np.searchsorted(np.asarray(coinage.designs), year, side="right")
    return Lot(
        plan,
        _table(plan, coin_type, year, worn, eyes),
        kind,
        wear_share,
        Levels(coin_type, depth, stands[which]),
    )


def _years(plan: Plan, coinage: Coinage, rng: np.random.Generator) -> np.ndarray:
    """Year of each coin; how many fall on each date is unequal."""
    years = np.arange(coinage.first_year, coinage.last_year + 1)
    if plan.coins_a_date is None:
        weight = np.exp(rng.uniform(0.0, np.log(_MOST_COINS_A_DATE), len(years)))
        return np.asarray(rng.choice(years, plan.coins, p=weight / weight.sum()))
    least, most = plan.coins_a_date
    counts = rng.integers(least, most + 1, len(years))
    filled = np.repeat(rng.permutation(years), counts)
    if len(filled) < plan.coins:
        raise ValueError(f"{plan.coins} coins do not fit {len(years)} dates of at most {most}")
    return np.asarray(filled[: plan.coins])


def _with_density(coin_type: CoinType, rng: np.random.Generator) -> CoinType:
    density = coin_type.density_g_cm3 + rng.normal(0.0, 0.5 * coin_type.density_sd_g_cm3)
    return replace(coin_type, density_g_cm3=float(density), density_sd_g_cm3=0.0)


def _mean_depth_mm(
    plan: Plan, coinage: Coinage, year: np.ndarray, rng: np.random.Generator
) -> Floats:
    """Mean depth worn at each coin's date: a line in years of use, the lot's own rate,
    each date's own luck."""
    dates, date = np.unique(year, return_inverse=True)
    mean_rate = plan.worn * coinage.depth_um_per_year / _UM_PER_MM
    rate = mean_rate * np.exp(rng.normal(0.0, plan.lot_log_sd))
    luck = np.exp(rng.normal(0.0, plan.date_log_sd, len(dates)))
    used = coinage.in_use_until + plan.in_use_longer - dates
    return np.asarray((rate * used * luck)[date])


def _depth_mm(mean_mm: Floats, world: str, rng: np.random.Generator) -> Floats:
    """Depth worn from each coin's faces, unequal as the world has it. A coin slick on both
    faces shows neither type nor date and is in no lot by date: another takes its place."""
    found = mean_mm * WORLDS[world](rng, len(mean_mm))
    for _ in range(_REDRAWS):
        slick = np.flatnonzero(found > SLICK_DEPTH_MM)
        if not len(slick):
            break
        found[slick] = mean_mm[slick] * WORLDS[world](rng, len(slick))
    return np.minimum(found, SLICK_DEPTH_MM)


def _kinds(plan: Plan, rng: np.random.Generator) -> Texts:
    """Kinds at random places, as many as the share of false coins asks."""
    kind = np.full(plan.coins, "honest", dtype=object)
    false = round(plan.false_share * plan.coins)
    if plan.kind_weights:
        which = rng.choice(len(plan.kinds), false, p=plan.kind_weights)
    else:
        which = rng.permutation(len(plan.kinds))[np.arange(false) % len(plan.kinds)]
    names = [plan.kinds[i] for i in which]
    kind[rng.choice(plan.coins, false, replace=False)] = names
    return kind


def _make(bodies: Bodies, kind: Texts, after_wear: bool, rng: np.random.Generator) -> None:
    """Turn the coins of each kind into that kind, in place."""
    for name in sorted(set(kind) - {"honest"}):
        if ALL_KINDS[name].made_after_wear == after_wear:
            at = np.flatnonzero(kind == name)
            bodies.put(at, ALL_KINDS[name].make(bodies.rows(at), rng))


def _table(
    plan: Plan, coin_type: CoinType, year: np.ndarray, bodies: Bodies, rng: np.random.Generator
) -> ItemTable:
    """The coins measured with the plan's instruments, as the first door would give them."""
    n, step = plan.coins, plan.balance.step_g
    weight = to_step(felt_weight(bodies.weight_g, plan.balance, rng), step)
    diameter = _length(felt_diameter(bodies, plan.gauge, rng), plan, rng)
    thickness = _length(felt_thickness(bodies.rim_mm, plan.gauge, rng), plan, rng)
    has_diameter, has_thickness = _measured(plan, rng)
    diameter[~has_diameter], thickness[~has_thickness] = np.nan, np.nan
    u_g = reading_sd(Quantity.WEIGHT, step, SETTINGS)
    u_mm = reading_sd(Quantity.DIAMETER, plan.gauge.step_mm, SETTINGS)
    blank, missing = np.full(n, "", dtype=object), np.full(n, np.nan)
    return ItemTable(
        item_id=np.array([f"c{i}" for i in range(n)], dtype=object),
        kind=np.full(n, ItemKind.COIN.value, dtype=object),
        count=np.ones(n, dtype=np.int64),
        lot=blank,
        type_text=blank,
        type_key=np.full(n, coin_type.key, dtype=object),
        type_note=blank,
        year=year.astype(np.float64),
        group=blank,
        order=np.arange(n),
        weight_g=weight,
        weight_low_g=weight - step / 2,
        weight_high_g=weight + step / 2,
        weight_u_g=np.full(n, u_g),
        weight_n=np.ones(n, dtype=np.int64),
        weight_step_g=np.full(n, step),
        diameter_mm=diameter,
        diameter_min_mm=missing,
        diameter_max_mm=missing,
        diameter_u_mm=np.where(has_diameter, u_mm, np.nan),
        diameter_n=has_diameter.astype(np.int64),
        thickness_mm=thickness,
        thickness_u_mm=np.where(has_thickness, u_mm, np.nan),
        thickness_n=has_thickness.astype(np.int64),
        doubtful=np.zeros(n, dtype=np.bool_),
        suspended=np.zeros(n, dtype=np.bool_),
    )


def _length(felt: Floats, plan: Plan, rng: np.random.Generator) -> Floats:
    """Rounded to the gauge's step, some with the heavy tail of a hasty hand."""
    if plan.gauge_tail_share:
        hasty = rng.random(len(felt)) < plan.gauge_tail_share
        more = plan.gauge.sd_mm * np.sqrt(_TAIL_TIMES**2 - 1.0)
        felt = felt + hasty * rng.normal(0.0, more, len(felt))
    return to_step(felt, plan.gauge.step_mm)


def _measured(plan: Plan, rng: np.random.Generator) -> tuple[Bools, Bools]:
    """Which coins have a diameter and which a thickness in the plan's set of readings."""
    every, none = np.ones(plan.coins, dtype=np.bool_), np.zeros(plan.coins, dtype=np.bool_)
    if plan.readings == "thickness for 30 %":
        return every, np.asarray(rng.random(plan.coins) < _SOME_THICKNESSES)
    return {
        "all three": (every, every.copy()),
        "weight only": (none, none.copy()),
        "no diameter": (none, every),
        "no thickness": (every, none),
    }[plan.readings]
