"""Invented lots with known truth, drawn from the physics of a coin as a worn disc.

Shares no formula with the statistics that judge them and imports none of them.
"""

from lotscreen.simulate.draw import draw_lot
from lotscreen.simulate.specs import (
    Balance,
    CoinSpec,
    Gauge,
    KindCount,
    LotSpec,
    SimulatedLot,
    Wear,
)

__all__ = [
    "Balance",
    "CoinSpec",
    "Gauge",
    "KindCount",
    "LotSpec",
    "SimulatedLot",
    "Wear",
    "draw_lot",
]
