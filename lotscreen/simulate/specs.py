"""What an invented lot is to be like: frozen records, nothing drawn yet.

Every width here is assumed unless a source is named; the simulator is there to be
disagreed with by the statistics, so none of these is read by them.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import pandas as pd

from lotscreen.simulate.kinds import KINDS
from lotscreen.simulate.worlds import WORLDS
from lotscreen.standards.coin_type import CoinType


@dataclass(frozen=True, slots=True)
class Wear:
    """How a population wears. ``depth_um_per_year`` is the mean depth lost from every
    surface in a year of use; ``world`` names the spread about it (see ``worlds.WORLDS``);
    depth grows as years in use to the power ``growth``."""

    world: str
    depth_um_per_year: float
    growth: float = 1.0

    def __post_init__(self) -> None:
        if self.world not in WORLDS:
            raise ValueError(f"wear world is {self.world!r}; it must be one of {sorted(WORLDS)}")
        if self.depth_um_per_year < 0:
            raise ValueError(f"depth_um_per_year is {self.depth_um_per_year}; it must be 0 or more")


@dataclass(frozen=True, slots=True)
class KindCount:
    """``count`` coins of the named kind, placed at random between the shares ``start``
    and ``stop`` of the order of their specification (0 first row, 1 last row)."""

    kind: str
    count: int
    start: float = 0.0
    stop: float = 1.0

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"kind is {self.kind!r}; it must be one of {sorted(KINDS)}")
        if not 0.0 <= self.start < self.stop <= 1.0:
            raise ValueError(
                f"start and stop are {self.start}, {self.stop}; 0 <= start < stop <= 1"
            )


@dataclass(frozen=True, slots=True)
class CoinSpec:
    """``count`` coins of one type, some of other kinds.

    ``years`` are drawn with equal chance (repeat a year to favour it); ``in_use_until`` is
    the year in which they left circulation. ``label`` is the kind written into the key
    for its unaltered coins: ``honest``, or the name of the other type they are when the
    sheet claims something else by ``type_text``. ``weight_shift_share`` moves every
    planchet (a whole issue off standard). ``designs`` are the first years of designs
    whose rim stands differently high.
    """

    coin_type: CoinType
    type_text: str
    count: int
    years: tuple[int, ...]
    in_use_until: int
    wear: Wear
    kinds: tuple[KindCount, ...] = ()
    label: str = "honest"
    mint_marks: tuple[str, ...] = ("",)
    weight_shift_share: float = 0.0
    designs: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if self.coin_type.diameter_mm is None:
            raise ValueError(f"{self.coin_type.key} has no diameter on file; it cannot be drawn")
        if not self.years:
            raise ValueError("years is empty; give at least one year")
        if sum(k.count for k in self.kinds) > self.count:
            raise ValueError(f"kinds ask for more coins than count ({self.count})")


@dataclass(frozen=True, slots=True)
class Balance:
    """A balance: step, one standard deviation of a weighing, its error of scale (share of
    the weight). The defaults are a pocket balance in good order (common practice)."""

    step_g: float = 0.01
    sd_g: float = 0.01
    scale_error: float = 0.0


@dataclass(frozen=True, slots=True)
class Gauge:
    """A caliper: step, one standard deviation, and the mean of the tilt of its jaws, which
    only ever raises a thickness."""

    step_mm: float = 0.01
    sd_mm: float = 0.018
    tilt_mm: float = 0.008


@dataclass(frozen=True, slots=True)
class LotSpec:
    """A lot as it lies on the table and is written down.

    ``roll_size`` coins lie in a roll and share wear (``roll_log_sd``: one standard
    deviation of the logarithm of the roll's factor); 0 for loose coins. ``measured`` coins
    have diameter and thickness (None: all), those of ``measured_kinds`` among them.
    ``shuffled`` mixes the specifications. ``slip_rate`` is the share of measured cells
    with a slip of the hand. ``min_max`` writes two diameters a coin. ``graded`` is the share
    of coins whose grade is noted, ``eye_log_sd`` one standard deviation of the logarithm of
    what the eye takes their wear for.
    """

    coins: tuple[CoinSpec, ...]
    balance: Balance = field(default_factory=Balance)
    gauge: Gauge = field(default_factory=Gauge)
    roll_size: int = 0
    roll_log_sd: float = 0.2
    measured: int | None = None
    measured_kinds: tuple[str, ...] = ()
    shuffled: bool = True
    slip_rate: float = 0.0
    min_max: bool = False
    graded: float = 0.0
    eye_log_sd: float = 0.25

    def __post_init__(self) -> None:
        if not self.coins:
            raise ValueError("coins is empty; a lot holds at least one specification")
        if not 0.0 <= self.slip_rate < 1.0:
            raise ValueError(f"slip_rate is {self.slip_rate}; it must lie between 0 and 1")


@dataclass(frozen=True, slots=True)
class SimulatedLot:
    """What was written down and what is true, both in the order of the rows.

    ``sheet``: text cells ``coin_id, type, date, weight_g, diameter_mm, thickness_mm``
    (with ``group`` where there are rolls, ``grade`` where any is noted,
    ``diameter_min_mm, diameter_max_mm`` in place of the one diameter where asked). ``key``:
    ``coin_id, true_kind, true_wear_percent,
    injected_fault, fault_cell, true_weight_g, true_diameter_mm, true_thickness_mm``.
    """

    sheet: pd.DataFrame
    key: pd.DataFrame
