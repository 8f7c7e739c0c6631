"""Agreement among trainees, and of each with the instrument: raw, kappa and AC1 together.

Kappa falls when one answer is rare although people agree; AC1 does not. Neither says who is
right: the key does. Intervals are by resampling the pieces, which is what another tray
would bring.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from statsmodels.stats.inter_rater import cohens_kappa

from lotscreen.records import Bools, Floats
from lotscreen.tray.marking.crossed import Estimate
from lotscreen.tray.marking.grid import Grid
from lotscreen.tray.marking.rates import LEVEL

_DRAWS = 1000
_SEED = 1
_FLAGGED = ("set aside", "not consistent", "re-measure")


@dataclass(frozen=True, slots=True)
class Agreement:
    """Share of pairs of answers that are alike, kappa and AC1, over ``pieces`` pieces."""

    raw: Estimate
    kappa: Estimate
    ac1: Estimate
    pieces: int


def among(grid: Grid) -> Agreement | None:
    """Among all trainees: accepted or not, Fleiss' kappa for many raters (Psychological
    Bulletin 76, 1971) and Gwet's AC1 (British Journal of Mathematical and Statistical
    Psychology 61, 2008). None where no piece was met by two."""
    table = grid.table(grid.refused)
    met = ~np.isnan(table)
    refused = np.nansum(table, axis=0)
    counts = np.column_stack([met.sum(axis=0) - refused, refused])
    counts = counts[counts.sum(axis=1) >= 2]
    if len(counts) < 2:
        return None
    alike, shares = per_piece(counts)
    rng = np.random.default_rng(_SEED)
    weights = rng.multinomial(len(counts), np.full(len(counts), 1 / len(counts)), size=_DRAWS)
    drawn = many(alike, shares, weights / len(counts))
    found = many(alike, shares, np.full((1, len(counts)), 1 / len(counts)))
    return _with_intervals([float(f[0]) for f in found], drawn, len(counts))


def per_piece(counts: Floats) -> tuple[Floats, Floats]:
    """Share of alike pairs, and share of each answer, a piece each."""
    raters = counts.sum(axis=1)
    alike = (np.sum(counts**2, axis=1) - raters) / (raters * (raters - 1.0))
    return np.asarray(alike), counts / raters[:, None]


def many(alike: Floats, shares: Floats, weights: Floats) -> tuple[Floats, Floats, Floats]:
    """Raw agreement, Fleiss' kappa and AC1 for each row of ``weights`` (draws x pieces);
    pieces may have been met by different numbers of trainees. NaN where all answers are
    the same."""
    raw = weights @ alike
    mean = weights @ shares
    by_chance = np.sum(mean**2, axis=1)
    gwet = np.sum(mean * (1.0 - mean), axis=1) / (shares.shape[1] - 1.0)
    return raw, _beyond(raw, by_chance), _beyond(raw, gwet)


def _beyond(raw: Floats, by_chance: Floats) -> Floats:
    room = 1.0 - by_chance
    return np.divide(raw - by_chance, room, out=np.full_like(raw, np.nan), where=room > 1e-12)


def with_instrument(grid: Grid, person: int) -> Agreement | None:
    """One trainee beside the instrument's findings: accepted or not, consistent or not; None
    where the key holds no findings."""
    findings = grid.pieces["finding"].astype(str).str.casefold().to_numpy()
    judged = np.isin(findings, ("consistent", *_FLAGGED))
    refused = grid.table(grid.refused)[person]
    used = judged & ~np.isnan(refused)
    if used.sum() < 2:
        return None
    return two_raters(refused[used] >= 0.5, np.isin(findings[used], _FLAGGED))


def two_raters(one: Bools, other: Bools) -> Agreement:
    """Cohen's kappa (Educational and Psychological Measurement 20, 1960) and AC1 of two
    columns of yes and no."""
    cells = np.bincount(2 * one.astype(np.int64) + other, minlength=4).astype(np.float64)
    rng = np.random.default_rng(_SEED)
    drawn = pair(rng.multinomial(len(one), cells / len(one), size=_DRAWS).astype(np.float64))
    found = [float(f[0]) for f in pair(cells[None])]
    if np.isfinite(found[1]):
        found[1] = float(cohens_kappa(cells.reshape(2, 2), return_results=False))
    return _with_intervals(found, drawn, len(one))


def pair(cells: Floats) -> tuple[Floats, Floats, Floats]:
    """Raw agreement, kappa and AC1 of square tables of two raters, flattened row by row
    (draws x q^2)."""
    q = round(np.sqrt(cells.shape[1]))
    shares = (cells / cells.sum(axis=1, keepdims=True)).reshape(-1, q, q)
    raw = np.trace(shares, axis1=1, axis2=2)
    rows, columns = shares.sum(axis=2), shares.sum(axis=1)
    mean = (rows + columns) / 2.0
    gwet = np.sum(mean * (1.0 - mean), axis=1) / (q - 1.0)
    return raw, _beyond(raw, np.sum(rows * columns, axis=1)), _beyond(raw, gwet)


def _with_intervals(
    found: list[float], drawn: tuple[Floats, Floats, Floats], pieces: int
) -> Agreement:
    tails = [(1.0 - LEVEL) / 2.0, (1.0 + LEVEL) / 2.0]
    estimates = []
    for value, draws in zip(found, drawn, strict=True):
        known = draws[np.isfinite(draws)]
        low, high = np.quantile(known, tails) if len(known) > 1 else (np.nan, np.nan)
        estimates.append(Estimate(value, float(low), float(high)))
    return Agreement(estimates[0], estimates[1], estimates[2], pieces)
