"""The table of pieces: whom each fooled, which fool more than their share, and where the
key is to be doubted.

A piece is weighed under both statuses. Under either, a trainee's answers on other pieces
say how often this trainee goes wrong; the piece may be harder or easier than most: by its
kind (as the other pieces of that kind show), and by itself (a shift of the log odds with a
spread learned from the others). Where good trainees disagree with the key, an easy piece
of the other status explains more than a hard piece of the keyed one. How often keys are
wrong before anything is seen is assumed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from lotscreen.records import Bools, Floats, Ints, Texts
from lotscreen.tray.marking.chances import at_least, expit, holm, logit
from lotscreen.tray.marking.grid import Grid, tray_classes
from lotscreen.tray.marking.rates import beta_interval

KEY_SLIP_RATE = 0.01
"""Share of pieces keyed the wrong way round before any answer is seen (assumed; entries typed by
hand are wrong in 0.5 to 4 % of cells, common practice, no source)."""

SUSPECT = 0.5
_FOOLS_LEVEL = 0.05
_FEWEST_PEOPLE = 3
_PULL = 2.0
_ANY_HARDNESS = 0.01
_SPREADS = np.array([0.0, 0.25, 0.5, 0.75, 1.0, 1.3, 1.6, 2.0, 3.0])
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(21)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


@dataclass(frozen=True, slots=True)
class PieceMarks:
    """One place a piece in each array, in the order of ``Grid.pieces``.

    ``fooled`` of ``met`` trainees were wrong; ``low`` and ``high`` the interval of that
    share, which includes the luck of the people. ``expected`` is how many would have been
    had the piece been as hard as most of its status, ``p_adjusted`` how rare so many are,
    corrected for looking at all pieces. ``key_doubt`` is the chance that the key is wrong.
    """

    fooled: Floats
    met: Floats
    low: Floats
    high: Floats
    expected: Floats
    p_adjusted: Floats
    key_doubt: Floats

    @property
    def suspect(self) -> list[int]:
        """Pieces whose key is more likely wrong than right, most doubtful first."""
        found = np.flatnonzero(self.key_doubt > SUSPECT)
        return [int(i) for i in found[np.argsort(-self.key_doubt[found], kind="stable")]]

    @property
    def fooling(self) -> list[int]:
        """Pieces that fool more than their share, not counting those of a doubtful key;
        the most fooling first."""
        chosen = (self.p_adjusted < _FOOLS_LEVEL) & ~(self.key_doubt > SUSPECT)
        found = np.flatnonzero(chosen)
        return [int(i) for i in found[np.argsort(-self.fooled[found], kind="stable")]]


def piece_marks(grid: Grid) -> PieceMarks:
    """Marks of every piece from all answers given to it."""
    wrong = grid.table(grid.wrong)
    false = grid.pieces["false"].to_numpy(dtype=bool)
    met = ~np.isnan(wrong)
    count, of = np.nansum(wrong, axis=0), met.sum(axis=0)
    low, high = beta_interval(count, of)
    stage = _stages(grid)
    keyed = _log_odds(wrong, false, stage)
    chances = np.where(met, expit(keyed), 0.0)
    p_values = np.array(
        [
            float(at_least(round(float(k)), chances[:, j])) if n >= _FEWEST_PEOPLE else np.nan
            for j, (k, n) in enumerate(zip(count, of, strict=True))
        ]
    )
    return PieceMarks(
        fooled=count,
        met=of.astype(np.float64),
        low=low,
        high=high,
        expected=chances.sum(axis=0),
        p_adjusted=holm(p_values),
        key_doubt=_key_doubt(wrong, false, stage, grid.pieces["kind"].astype(str).to_numpy()),
    )


def _stages(grid: Grid) -> Ints:
    """A piece each: to which kind of trays, by their share of false pieces, it belonged when
    it was first met."""
    of_piece = np.zeros(len(grid.pieces), dtype=np.int64)
    _, first = np.unique(grid.piece, return_index=True)
    of_piece[grid.piece[first]] = tray_classes(grid)[grid.tray[first]]
    return of_piece


def _log_odds(wrong: Floats, false: Bools, stage: Ints) -> Floats:
    """People x pieces: log odds that a trainee goes wrong on another piece of the status
    that the piece is keyed to have."""
    return np.where(false, _without_one(wrong, false, stage), _without_one(wrong, ~false, stage))


def _without_one(wrong: Floats, side: Bools, stage: Ints) -> Floats:
    """Log odds to go wrong on pieces of ``side``, the piece itself not counted. The share
    is that of trays with as many false pieces (people hold more back where many are),
    pulled to the trainee's own over all trays by the weight of ``_PULL`` pieces; half an
    answer is added on each side."""
    own = np.nan_to_num(wrong) * side
    met = (~np.isnan(wrong) & side).astype(np.float64)
    count, of = (part.sum(axis=1, keepdims=True) - part for part in (own, met))
    overall = count / np.maximum(of, 1.0)
    near = (stage[:, None] == stage[None, :]).astype(np.float64)
    count, of = own @ near - own, met @ near - met
    return logit((count + _PULL * overall + 0.5) / (of + _PULL + 1.0))


def _key_doubt(wrong: Floats, false: Bools, stage: Ints, kinds: Texts) -> Floats:
    """The chance that each piece is keyed wrongly."""
    found = {}
    for side in (True, False):
        of_side = false == side
        # the answers as marks against a key that calls every piece ``side``
        against = np.where(of_side, wrong, 1.0 - wrong)
        log_odds = _without_one(against, of_side, stage)
        shift = np.where(of_side, _kind_shift(against, log_odds, kinds, of_side), 0.0)
        found[side] = _averaged(_likelihoods(against, log_odds + shift), of_side)
    keyed = np.where(false, found[True], found[False])
    other = np.where(false, found[False], found[True])
    enough = (~np.isnan(wrong)).sum(axis=0) >= _FEWEST_PEOPLE
    odds = other - keyed + np.log(KEY_SLIP_RATE / (1.0 - KEY_SLIP_RATE))
    return np.where(enough, expit(np.clip(odds, -500, 500)), 0.0)


def _kind_shift(against: Floats, log_odds: Floats, kinds: Texts, side: Bools) -> Floats:
    """A piece each: how much harder than most its kind is, as log odds, by the other pieces
    of the kind; each kind is pulled to the usual by the weight of ``_PULL`` pieces."""
    met = ~np.isnan(against)
    wrong = np.where(met, against, 0.0).sum(axis=0)
    usual = np.where(met, expit(log_odds), 0.0).sum(axis=0)
    shift = np.zeros(len(kinds))
    overall = float(usual[side].mean()) if side.any() else 0.0
    people = max(float(met.sum(axis=0).mean()), 1.0)
    for kind in dict.fromkeys(kinds[side]):
        own = side & (kinds == kind)
        others = own.sum() - 1
        found = (wrong[own].sum() - wrong[own] + _PULL * overall) / (others + _PULL)
        expected = (usual[own].sum() - usual[own] + _PULL * overall) / (others + _PULL)
        shift[own] = _odds_of(found, people) - _odds_of(expected, people)
    return shift


def _odds_of(count: Floats, people: float) -> Floats:
    return logit((count + 0.5) / (people + 1.0))


def _likelihoods(against: Floats, log_odds: Floats) -> Floats:
    """Spreads x pieces: log likelihood of a piece's answers, its hardness averaged out."""
    met = ~np.isnan(against)
    y = np.where(met, against, 0.0)
    at = log_odds[None] + (_SPREADS[:, None] * _NODES)[:, :, None, None].reshape(-1, 1, 1)
    # log of the chance of each answer: y * x - log(1 + exp(x))
    told = np.where(met, y * at - np.logaddexp(0.0, at), 0.0).sum(axis=1)
    shaped = told.reshape(len(_SPREADS), len(_NODES), -1)
    top = shaped.max(axis=1, keepdims=True)
    mean = np.log(np.einsum("snj,n->sj", np.exp(shaped - top), _WEIGHTS))
    return np.asarray(mean + top[:, 0])


def _averaged(likely: Floats, side: Bools) -> Floats:
    """Each piece's log likelihood, averaged over the spreads as the other pieces of ``side``
    favour them; one piece in a hundred may be of any hardness (the widest spread)."""
    total = likely[:, side].sum(axis=1, keepdims=True) - np.where(side, likely, 0.0)
    total = total - total.max(axis=0)
    weight = np.exp(total) / np.exp(total).sum(axis=0)
    weight = (1.0 - _ANY_HARDNESS) * weight
    weight[-1] += _ANY_HARDNESS
    top = likely.max(axis=0)
    return np.asarray(np.log((weight * np.exp(likely - top)).sum(axis=0)) + top)


def agreement_rank(marks: PieceMarks, others: Floats) -> float:
    """How the share fooled goes with a figure of the pieces (their measured difficulty):
    Spearman's rank correlation, NaN where either does not vary."""
    known = np.isfinite(others) & (marks.met > 0)
    share = marks.fooled[known] / marks.met[known]
    if known.sum() < 3 or np.ptp(share) == 0 or np.ptp(others[known]) == 0:
        return float("nan")
    return float(stats.spearmanr(share, others[known]).statistic)
