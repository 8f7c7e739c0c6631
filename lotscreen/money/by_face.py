"""What a lot would come to by its face value, beside its weight."""

from __future__ import annotations

from collections.abc import Mapping

from lotscreen.lot.bag import OUNCES_AS_STRUCK, OUNCES_WORN, dollars_of
from lotscreen.money.offer import ByFace
from lotscreen.money.terms import Spot
from lotscreen.quantities import TROY_OUNCE_G
from lotscreen.standards import CoinType

_PER = 1000.0
_OFF = 1.0  # ounces for 1,000 dollars


def by_face(
    counts: Mapping[str, int], types: Mapping[str, CoinType], spot: Spot,
    ounces: Mapping[str, float],
) -> ByFace | None:  # fmt: skip
    """For the United States silver coins that the two reckonings are for; other coins are
    left out of it, None where there are no such coins. ``counts`` are coins and
    ``ounces`` fine ounces by weight, as said to be, by type key."""
    face, coins, weighed = 0.0, 0, 0.0
    for key, count in counts.items():
        dollars = dollars_of(types[key])
        if dollars is not None and _reckoned(types[key], dollars):
            face += dollars * count
            coins += count
            weighed += ounces[key]
    if not coins or "silver" not in spot.prices:
        return None
    price = spot.prices["silver"]
    worn, struck = (price * face / _PER * per for per in (OUNCES_WORN, OUNCES_AS_STRUCK))
    return ByFace(coins, face, worn, struck, weighed * price)


def _reckoned(coin_type: CoinType, dollars: float) -> bool:
    if coin_type.fine_metal != "silver" or coin_type.fineness is None:
        return False
    struck = coin_type.weight_g * coin_type.fineness / TROY_OUNCE_G / dollars * _PER
    return abs(struck - OUNCES_AS_STRUCK) <= _OFF
