"""Wald's test on a mean: is the lot's mean weight what is expected, or lighter by so much?

Wald, Sequential Analysis (1947), chapter 7; one-sided, spread known. Operating
characteristic and average sample number are exact: the two integral equations over the
region where the test goes on, solved at Gauss-Legendre nodes. Valid only for coins drawn
at random whose weights are near normal (means of rolls are; single worn coins are skewed).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np
from scipy.special import ndtr

from lotscreen.records import Floats, SettingsError
from lotscreen.words import say

_FEWEST_NODES, _MOST_NODES = 101, 1201
_NODES_PER_SD = 3.0


@dataclass(frozen=True, slots=True)
class MeanTest:
    """Tell a mean as expected from one ``shift_sd`` standard deviations of a single coin
    off it (above 0, in the direction looked for), with Wald's two nominal risks: to call
    a lot off that is not, and to pass one that is. SettingsError otherwise."""

    shift_sd: float
    risk_off: float
    risk_pass: float

    def __post_init__(self) -> None:
        risks = self.risk_off, self.risk_pass
        if not self.shift_sd > 0.0 or not (min(risks) > 0.0 and sum(risks) < 1.0):
            raise SettingsError(
                say("sequential.mean_wrong", shift=self.shift_sd, first=risks[0], second=risks[1])
            )

    @property
    def log_upper(self) -> float:
        """Log likelihood ratio (off over as expected) at which the lot is called off."""
        return log((1.0 - self.risk_pass) / self.risk_off)

    @property
    def log_lower(self) -> float:
        """Log likelihood ratio at which it passes."""
        return log(self.risk_pass / (1.0 - self.risk_off))

    def log_ratio(self, departure_sd: Floats) -> Floats:
        """The running log likelihood ratio after each of 1-D departures from the expected
        weight, in standard deviations, positive in the direction looked for."""
        steps = self.shift_sd * (np.asarray(departure_sd) - 0.5 * self.shift_sd)
        return np.asarray(np.cumsum(steps))


@dataclass(frozen=True, slots=True)
class MeanCurve:
    """At a true mean ``true_sd`` off what is expected: chance to pass, and mean number of
    coins drawn."""

    true_sd: float
    passes: float
    average_coins: float


def mean_curve(test: MeanTest, true_sd: float) -> MeanCurve:
    """Exact figures of the test at one true mean (shifts below 0.015 sd need more nodes than
    are taken: there the figures are near, not exact)."""
    middle = 0.5 * (test.log_upper + test.log_lower)
    half = 0.5 * (test.log_upper - test.log_lower)
    wanted = int(_NODES_PER_SD * 2.0 * half / test.shift_sd)
    number = min(max(wanted, _FEWEST_NODES), _MOST_NODES)
    nodes, node_weights = np.polynomial.legendre.leggauss(number)
    places, weights = middle + half * nodes, half * node_weights
    start = np.append(places, 0.0)
    mean = test.shift_sd * (true_sd - 0.5 * test.shift_sd)
    far = (places[None, :] - start[:, None] - mean) / test.shift_sd
    moves = np.exp(-0.5 * np.square(far)) / np.sqrt(2.0 * np.pi) / test.shift_sd * weights
    passing = ndtr((test.log_lower - start - mean) / test.shift_sd)
    system = np.eye(len(places)) - moves[:-1]
    passes = passing[-1] + moves[-1] @ np.linalg.solve(system, passing[:-1])
    coins = 1.0 + moves[-1] @ np.linalg.solve(system, np.ones(len(places)))
    return MeanCurve(true_sd, float(passes), float(coins))
