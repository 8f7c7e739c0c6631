"""Exponentially weighted moving average of residuals, and its run lengths.

Roberts, Technometrics 1 (1959). Each residual counts ``weight``, all before it the rest, so
that a slow drift shows as a slow curve. Run lengths by Crowder's integral equation
(Technometrics 29, 1987) with Gauss-Legendre nodes, for independent normal residuals, a
start at nought and limits of the settled state.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import sqrt

import numpy as np
import pandas as pd
from scipy.optimize import brentq

from lotscreen.records import Floats, SettingsError
from lotscreen.words import say

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(101)
_WIDEST_SDS = 7.0  # mean run lengths to 1e11, a lot of a thousand million coins


@dataclass(frozen=True, slots=True)
class EwmaScheme:
    """``weight`` of the newest residual, in (0, 1]; ``limit_sds`` the limit in standard
    deviations of the average's own settled state, above 0."""

    weight: float
    limit_sds: float

    def __post_init__(self) -> None:
        if not 0.0 < self.weight <= 1.0 or not self.limit_sds > 0.0:
            raise SettingsError(
                say("sequential.ewma_wrong", weight=self.weight, limit=self.limit_sds)
            )

    @property
    def limit_sd(self) -> float:
        """The limit in standard deviations of a residual."""
        return self.limit_sds * sqrt(self.weight / (2.0 - self.weight))


def ewma_path(residual_sd: Floats, scheme: EwmaScheme) -> Floats:
    """The average after each of 1-D residuals, in standard deviations about the centre. A
    coin without a residual (NaN) leaves the average as it is."""
    from_nought = pd.Series(np.append(0.0, residual_sd))
    path = from_nought.ewm(alpha=scheme.weight, adjust=False, ignore_na=True).mean()
    return path.to_numpy(np.float64)[1:]


@lru_cache(maxsize=128)
def ewma_run_length(scheme: EwmaScheme, shift_sd: float = 0.0) -> float:
    """Mean number of coins to a signal on either side where residuals centre on
    ``shift_sd``."""
    h, w = scheme.limit_sd, scheme.weight
    places, weights = h * _NODES, h * _WEIGHTS
    start = np.append(places, 0.0)
    jump = (places[None, :] - (1.0 - w) * start[:, None]) / w - shift_sd
    moves = np.exp(-0.5 * np.square(jump)) / sqrt(2.0 * np.pi) / w * weights[None, :]
    inside = np.linalg.solve(np.eye(len(places)) - moves[:-1], np.ones(len(places)))
    return float(1.0 + moves[-1] @ inside)


@lru_cache(maxsize=64)
def ewma_for(run_length: float, weight: float) -> EwmaScheme:
    """The scheme whose mean run length to a false signal is ``run_length`` (above 10)."""

    def excess(limit_sds: float) -> float:
        return float(np.log(ewma_run_length(EwmaScheme(weight, limit_sds)) / run_length))

    return EwmaScheme(weight, float(brentq(excess, 0.5, _WIDEST_SDS, xtol=1e-10)))
