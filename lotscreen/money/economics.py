"""What a wrong acceptance or refusal costs: margins, thresholds, expected loss."""

from __future__ import annotations

from dataclasses import dataclass

from lotscreen.quantities import TROY_OUNCE_G
from lotscreen.records import SettingsError
from lotscreen.standards import CoinType
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class Stakes:
    """One unworn coin of a type bought at melt less spread: its melt, what is paid, the
    margin, how many good coins one without fine metal eats, and the chance of such a coin
    below which buying pays."""

    melt: float
    paid: float
    margin: float
    eats: float
    threshold: float


def stakes(coin_type: CoinType, price_oz: float, spread: float) -> Stakes:
    """The stakes of one coin; SettingsError where no fineness is on file."""
    if coin_type.fineness is None:
        raise SettingsError(say("money.error.no_fineness", type=coin_type.name))
    melt = coin_type.weight_g * coin_type.fineness / TROY_OUNCE_G * price_oz
    paid = melt * (1 - spread)
    margin = melt - paid
    if paid <= 0:
        return Stakes(melt, paid, margin, 0.0, 1.0)
    eats = paid / margin if margin > 0 else float("inf")
    return Stakes(melt, paid, margin, eats, margin / (margin + paid))
