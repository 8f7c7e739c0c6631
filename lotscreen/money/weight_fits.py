"""Whether coins weighed together can weigh what was typed in, before money is put on it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lotscreen.lot.bag import expected_weight, possible_weight, wear_of_type
from lotscreen.money.offer_words import counted
from lotscreen.money.value import Rest
from lotscreen.records import SettingsError
from lotscreen.standards import CoinType
from lotscreen.words import say

_SURE_SDS = 3.0


def weight_warnings(
    rest: Rest, coins: int, types: Sequence[CoinType], scale_sd: float, whole: bool
) -> tuple[str, ...]:
    """A sentence where ``coins`` coins of the ``types``, one or a mixture of them, should
    weigh otherwise than ``rest`` does; SettingsError where they cannot.

    ``whole``: these are all coins of the lot, not only those left over from a sheet.
    ``scale_sd`` is one sd of the balance's scale, a share of the weight. Coins known to
    depart are allowed their own weight.
    """
    reading_g = float(np.hypot(rest.net_sd_g, scale_sd * rest.net_g))
    possible = [possible_weight(own, coins) for own in types]
    low, high = min(p[0] for p in possible), max(p[1] for p in possible)
    odd_g = rest.confirmed * rest.departing_g
    least_g = min(low, odd_g + low * (1 - rest.confirmed / coins))
    which = "money.weight.whole" if whole else "money.weight.rest"
    facts = {
        "what": say(which, coins=counted(coins), net=rest.net_g),
        "names": say("money.weight.or").join(own.name for own in types),
    }
    if not least_g - _SURE_SDS * reading_g <= rest.net_g <= high + _SURE_SDS * reading_g:
        raise SettingsError(say("money.error.weight_impossible", low=least_g, high=high, **facts))
    expected = [
        expected_weight(own, coins, reading_g / (coins * own.weight_g), wear_of_type(own))
        for own in types
    ]
    low, high = min(e[0] for e in expected), max(e[1] for e in expected)
    least_g = min(low, odd_g + low * (1 - rest.confirmed / coins))
    if least_g <= rest.net_g <= high:
        return ()
    key = "heavy" if rest.net_g > high else "light"
    return (say(f"money.weight.{key}", low=least_g, high=high, **facts),)
