"""An invented register: for practice at the desk, and as the sample of a register.

Drawn from the simulator, so that it can be had without a single piece in the house. No
piece of it exists, and its permission says so.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from lotscreen.simulate.draw import draw_lot
from lotscreen.simulate.specs import CoinSpec, KindCount, LotSpec, SimulatedLot, Wear
from lotscreen.standards import StandardsTable
from lotscreen.words import say

_PER_BOX = 40
_MADE = (
    "brass, right size", "copper, right size", "pewter, right size", "lead alloy, right size",
    "brass, right weight", "copper, right weight", "nickel silver, right weight", "cast",
)  # fmt: skip
_GOLD = ("brass, right weight", "nine carat, right size")
_HONEST_ODD = "bent"
_TYPES = (
    ("us-dollar-1840", "US silver dollar", 1878, 1924, 1965, 0.4),
    ("us-half-1873", "US half dollar", 1892, 1963, 1965, 0.8),
    ("us-dime-1873", "US dime", 1892, 1963, 1965, 1.0),
)
_SLICK_PERCENT = 8.0
_SMALLEST, PIECES = 240, 720


def invented_register(standards: StandardsTable, seed: int, pieces: int = PIECES) -> pd.DataFrame:
    """About ``pieces`` invented pieces with their kinds, as a register's text cells."""
    prefix = f"P{seed}" if pieces == PIECES else f"P{seed}x{pieces}"
    return register_sheet(register_lot(standards, seed, pieces), prefix)


def register_lot(standards: StandardsTable, seed: int, pieces: int = PIECES) -> SimulatedLot:
    """The pieces measured, and their key."""
    return draw_lot(_spec(standards, max(pieces, _SMALLEST)), seed)


def register_sheet(lot: SimulatedLot, prefix: str) -> pd.DataFrame:
    """What a register says of such a lot; the pieces' numbers begin with ``prefix``, so that
    the pieces of two registers are never taken for each other."""
    kinds = lot.key["true_kind"].astype(str).to_numpy(dtype=object)
    honest = np.isin(kinds, ("honest", _HONEST_ODD))
    slick = (kinds == "honest") & (lot.key["true_wear_percent"].to_numpy() > _SLICK_PERCENT)
    shown = np.where(kinds == "honest", say("tray_building.demo.worn"), kinds)
    shown = np.where(slick, say("tray_building.demo.slick"), shown)
    shown = np.where(kinds == _HONEST_ODD, say("tray_building.demo.bent"), shown)
    numbers = np.arange(1, len(kinds) + 1)
    return pd.DataFrame(
        {
            "piece": [f"{prefix}-{n:03d}" for n in numbers],
            "type": lot.sheet["type"],
            "date": lot.sheet["date"],
            "kind": shown,
            "status": np.where(honest, "honest", "not honest"),
            "weight (g)": lot.sheet["weight_g"],
            "diameter (mm)": lot.sheet["diameter_mm"],
            "thickness (mm)": lot.sheet["thickness_mm"],
            "permission": np.where(honest, "", say("tray_building.demo.permission")),
            "told by": np.where(kinds == _HONEST_ODD, say("tray_building.demo.eye"), ""),
            "box": [f"B{(n - 1) // _PER_BOX + 1:02d}" for n in numbers],
        }
    )


def _spec(standards: StandardsTable, pieces: int) -> LotSpec:
    """Three silver types and a gold one; two pieces in five are not honest."""
    share = pieces / PIECES
    each = max(round(9 * share), 2)
    coins = [
        CoinSpec(
            coin_type=standards.get(key), type_text=text,
            count=round(120 * share) + each * (len(_MADE) + 1) + each // 2,
            years=tuple(range(first, last + 1)), in_use_until=end,
            wear=Wear("gamma", depth_um_per_year=depth, growth=0.8),
            kinds=(
                *(KindCount(kind, each) for kind in _MADE),
                KindCount(_HONEST_ODD, each), KindCount("light alloy", each // 2),
            ),
        )
        for key, text, first, last, end, depth in _TYPES
    ]  # fmt: skip
    gold = CoinSpec(
        coin_type=standards.get("uk-sovereign-1817"), type_text="UK sovereign",
        count=round(50 * share) + each * (len(_GOLD) + 1), years=tuple(range(1872, 1912)),
        in_use_until=1914, wear=Wear("weibull", depth_um_per_year=0.1),
        kinds=(
            *(KindCount(kind, each) for kind in _GOLD),
            KindCount("tungsten alloy, right weight", each),
        ),
    )  # fmt: skip
    return LotSpec((*coins, gold))
