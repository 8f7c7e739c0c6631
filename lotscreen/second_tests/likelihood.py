"""How likely results are under each hypothesis: runs on one instrument, their shared offset.

A run is all results of one test on one coin with one instrument. Its mean has the offset of
the instrument besides the scatter of its repeats, so that its spread has a floor; and with a
small chance it says nothing at all. What a hypothesis predicts has a spread of its own, the
same for every instrument, so that a second instrument checks the first, not the coin's alloy.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import logsumexp, ndtr

from lotscreen.records import Floats

_LOG_ROOT_TWO_PI = 0.5 * np.log(2 * np.pi)


@dataclass(frozen=True, slots=True)
class Run:
    """Results of one test with one instrument: their mean, number, spread of a single one,
    offset that they share (both in the unit of the mean), and ``shifts``: pairs of (chance,
    share by which the run reads off), such as bubbles that only ever make a coin seem
    lighter in water. ``gross_share`` of runs say nothing, anywhere in ``width``."""

    mean: float
    repeats: int
    repeat_sd: float
    offset_sd: float
    shifts: tuple[tuple[float, float], ...]
    gross_share: float
    width: float

    @property
    def sd(self) -> float:
        """One sd of the mean: the offset stays however often one repeats."""
        return float(np.hypot(self.offset_sd, self.repeat_sd / np.sqrt(self.repeats)))


def run_of(
    values: Sequence[float], repeat_sd: float, offset_sd: float,
    shifts: tuple[tuple[float, float], ...], gross_share: float, width: float,
) -> Run:  # fmt: skip
    """A run; repeats that scatter more than declared are taken at their own scatter."""
    shown = float(np.std(values, ddof=1)) if len(values) > 1 else 0.0
    return Run(float(np.mean(values)), len(values), max(repeat_sd, shown), offset_sd, shifts,
               gross_share, width)  # fmt: skip


def log_likelihood(runs: Sequence[Run], mean: Floats, sd: Floats) -> Floats:
    """Natural log of the density of all ``runs`` of one test, by hypothesis (h,); ``mean``
    and ``sd`` (h,) are what each predicts of the coin itself."""
    log_weight = np.zeros((1, len(mean)))
    centre, variance = mean[None, :], np.square(sd)[None, :]
    for run in runs:
        parts = [_updated(run, chance, shift, log_weight, centre, variance)
                 for chance, shift in run.shifts]  # fmt: skip
        nothing = log_weight + np.log(run.gross_share / run.width)
        parts.append((nothing, centre, variance))
        log_weight, centre, variance = (np.concatenate(p) for p in zip(*parts, strict=True))
    return np.asarray(logsumexp(log_weight, axis=0))


def _updated(
    run: Run, chance: float, shift: float, log_weight: Floats, centre: Floats, variance: Floats
) -> tuple[Floats, Floats, Floats]:
    """The belief on the coin after a run with that shift: weight, centre, variance."""
    scale = 1 + shift
    off = run.mean - centre * scale
    total = np.square(run.sd) + variance * scale**2
    log_density = -0.5 * np.square(off) / total - 0.5 * np.log(total) - _LOG_ROOT_TWO_PI
    share = np.log((1 - run.gross_share) * chance)
    gain = variance * scale / total
    return log_weight + log_density + share, centre + gain * off, variance * (1 - gain * scale)


def tail_chance(run: Run, mean: Floats, sd: Floats) -> Floats:
    """How rare a run at least as far off is under each hypothesis (h,), two-sided, were
    it no run that says nothing."""
    found = np.zeros(len(mean))
    for chance, shift in run.shifts:
        spread = np.hypot(run.sd, sd * (1 + shift))
        below = ndtr((run.mean - mean * (1 + shift)) / spread)
        found += chance * 2 * np.minimum(below, 1 - below)
    return found
