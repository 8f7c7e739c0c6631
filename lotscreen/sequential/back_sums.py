"""Running sums that look back over a whole order, with a limit that is computed.

No centre was fixed before, and honest residuals are skewed by wear and stepped by the
balance. So each residual counts by its rank alone, as the normal residual of that rank
would (normal scores: Van der Waerden, Proceedings Koninklijke Nederlandse Akademie van
Wetenschappen A 55, 1952): in an order without pattern the sums are then the same whatever
the distribution.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil, exp, expm1

import numpy as np
from scipy.special import ndtri
from scipy.stats import rankdata

from lotscreen.records import Floats
from lotscreen.sequential.cusum import CusumScheme, cusum_path
from lotscreen.sequential.plan import CLIP_SD, REFERENCE_SD
from lotscreen.sequential.run_length import LIMIT_STEP_SD, false_signal_chance, lowest_limit

LEAST_COINS = 20
"""With fewer residuals there is no stretch that could stand apart (assumed)."""


@dataclass(frozen=True, slots=True)
class BackSums:
    """The two sums after each coin, both >= 0; ``signal_at`` the first place (from 1) at
    which either is above the limit of ``scheme``, 0 where none is. ``rate`` is how often a
    sum goes as high in an order without pattern, at most: the sums signal where, and only
    where, it is at or below the chance that was asked for."""

    up: Floats
    down: Floats
    scheme: CusumScheme
    signal_at: int
    rate: float


def back_sums(residual_z: Floats, chance: float) -> BackSums | None:
    """Sums over 1-D residuals in order (NaN: passed over) that signal in at most ``chance``
    of orders without pattern; None for fewer than 20 residuals."""
    known = np.isfinite(residual_z)
    coins = int(known.sum())
    if coins < LEAST_COINS:
        return None
    scores = np.full(len(residual_z), np.nan)
    scores[known] = ndtri(rankdata(residual_z[known]) / (coins + 1.0))
    scheme = _scheme(_limit(coins, chance))
    path = cusum_path(scores, scheme)
    highest = float(max(path.up.max(), path.down.max()))
    # as for the lowest limits: the highest of those in steps that was passed
    passed = round((ceil(highest / LIMIT_STEP_SD) - 1) * LIMIT_STEP_SD, 1)
    rate = chance_looking_back(passed, coins) if passed > 0.0 else 1.0
    return BackSums(path.up, path.down, scheme, path.signal_at, rate)


@lru_cache(maxsize=256)
def chance_looking_back(limit_sd: float, coins: int) -> float:
    """Orders of so many coins without pattern in which a sum passes the limit, at most.

    That of independent normal residuals, less what it costs that coins in one stretch are
    missing in the others. A sum climbs to h by m = h / k coins whose mean is 2 k (k the
    reference: the likeliest way, by large deviations). The likelihood ratio of such a coin
    has variance exp(4 k^2) - 1, and to take m of n coins so, not of any number, costs the
    factor exp(-m^2 / 2n times that), to the first order in m / n. By simulation what is
    left out makes the chance smaller still.
    """
    stretch = limit_sd / REFERENCE_SD
    cost = expm1(4.0 * REFERENCE_SD**2) * stretch**2 / (2.0 * coins)
    return false_signal_chance(_scheme(limit_sd), coins) * exp(-cost)


@lru_cache(maxsize=256)
def _limit(coins: int, chance: float) -> float:
    return lowest_limit(lambda limit_sd: chance_looking_back(limit_sd, coins), chance)


def _scheme(limit_sd: float) -> CusumScheme:
    return CusumScheme(REFERENCE_SD, limit_sd, CLIP_SD)
