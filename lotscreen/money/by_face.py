"""What a lot would come to by its face value, beside its weight."""

from __future__ import annotations

from collections.abc import Mapping

from lotscreen.lot.bag import (
    FACE_OF_RECKONING,
    OUNCES_AS_STRUCK,
    OUNCES_WORN,
    dollars_of,
    reckoned_by_face,
)
from lotscreen.money.offer import ByFace
from lotscreen.money.terms import Spot
from lotscreen.standards import CoinType


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
        if dollars is not None and reckoned_by_face(types[key], dollars):
            face += dollars * count
            coins += count
            weighed += ounces[key]
    if not coins or "silver" not in spot.prices:
        return None
    price = spot.prices["silver"]
    worn, struck = (
        price * face / FACE_OF_RECKONING * per for per in (OUNCES_WORN, OUNCES_AS_STRUCK)
    )
    return ByFace(coins, face, worn, struck, weighed * price)
