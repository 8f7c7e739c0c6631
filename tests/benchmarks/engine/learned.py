"""The likelihood ratio under the true generator when each date's wear must be learned.

Shape of wear, instruments, kinds, their share and the line of wear in years of use are
known as in ``oracle.py``; the luck of each date is not, and is learned from the other coins
of the date. No screen that is not told the dates' wear has more power; what it loses against
``oracle.py`` no screen can win back.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.special import logsumexp

from lotscreen.records import Floats

from . import oracle
from .lots import COINAGES, Lot
from .nodes import Truth

_LUCK: Floats = np.linspace(-3.2, 3.2, 17)
"""Standard deviations of a date's luck. The steps (6 % of the wear) are no wider than what
eighty coins leave open of a date's level, so that the sum is as good as the integral."""


def log_ratio(lot: Lot) -> Floats:
    """As :func:`oracle.log_ratio`, each date's level averaged over what the line and the
    date's other coins say of it; shape (coins,)."""
    truth, parts = oracle.known_of(lot)
    line = _line_mm(lot, truth)
    sd = lot.plan.date_log_sd
    each = [
        oracle.log_densities(lot, replace(truth, dates=replace(truth.dates, depth_mm=at)), parts)
        for at in (line * np.exp(sd * z) for z in _LUCK)
    ]
    false, honest = (np.stack(side, axis=1) for side in zip(*each, strict=True))
    part = lot.plan.false_share
    said = np.logaddexp(np.log1p(-part) + honest, np.log(part) + false)
    result = np.full(len(said), np.nan)
    for year in np.unique(lot.table.year):
        here = np.flatnonzero(lot.table.year == year)
        without = -0.5 * _LUCK**2 + said[here].sum(axis=0) - said[here]
        result[here] = logsumexp(without + false[here], axis=1)
        result[here] -= logsumexp(without + honest[here], axis=1)
    return result


def _line_mm(lot: Lot, truth: Truth) -> Floats:
    """Mean depth worn at each date (dates x 1) but for its luck."""
    coinage = COINAGES[lot.plan.coinage]
    used = coinage.in_use_until + lot.plan.in_use_longer - np.unique(lot.table.year)[:, None]
    rate = np.exp(np.mean(np.log(truth.dates.depth_mm / used)))
    return np.asarray(rate * used)
