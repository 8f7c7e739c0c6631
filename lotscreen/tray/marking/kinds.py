"""Which kind of piece a trainee is blind to, beyond what the pieces and the trainee's other
answers let expect."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from lotscreen.records import Bools, Floats
from lotscreen.tray.marking.chances import at_least, expit, logit
from lotscreen.tray.marking.grid import Grid

_FEWEST_PIECES = 4
_NODES = 15
_MOST_WORTH = 30.0
_FARTHEST, _HALVINGS = 25.0, 30
_LEAST_SHARE = 0.5


@dataclass(frozen=True, slots=True)
class KindMark:
    """One trainee and one kind: ``wrong`` of ``met`` pieces, ``expected`` by the trainee's
    other answers and the others' answers to the same pieces; ``p_value`` the chance of so
    many or more (NaN: too few pieces to say)."""

    person: int
    kind: str
    false: bool
    wrong: float
    met: int
    expected: float
    p_value: float

    @property
    def plain(self) -> bool:
        """Whether at least half of the kind was answered wrongly, and twice what was
        expected."""
        return self.wrong >= max(_LEAST_SHARE * self.met, 2.0 * self.expected)


def kind_marks(grid: Grid) -> list[KindMark]:
    """Every trainee by every kind of each status that the trainee met."""
    wrong = grid.table(grid.wrong)
    false = grid.pieces["false"].to_numpy(dtype=bool)
    kinds = grid.pieces["kind"].astype(str).to_numpy()
    found = []
    for side in (True, False):
        hardness = _hardness(wrong, false == side)
        for kind in dict.fromkeys(kinds[false == side]):
            own = (false == side) & (kinds == kind)
            rest = (false == side) & (kinds != kind)
            for person in range(len(grid.people)):
                mark = _one(person, str(kind), side, wrong, own, rest, hardness)
                if mark is not None:
                    found.append(mark)
    return found


def _hardness(wrong: Floats, side: Bools) -> Floats:
    """People x pieces: how much harder than most the others found each piece, as log odds,
    half an answer added to each side; 0 where nobody else met it."""
    met = ~np.isnan(wrong)
    answers = np.nan_to_num(wrong)
    count = answers.sum(axis=0) - answers
    of = met.sum(axis=0) - met
    overall = np.sum(answers[:, side]) / max(np.sum(met[:, side]), 1)
    usual = (overall * np.sum(met[:, side]) + 0.5) / (np.sum(met[:, side]) + 1.0)
    # each piece is pulled towards the usual by the weight of one answer
    shrunk = (count + usual) / (of + 1.0)
    return np.asarray(logit(np.clip(shrunk, 1e-4, 1 - 1e-4)) - logit(np.asarray(usual)))


def _one(
    person: int, kind: str, side: bool, wrong: Floats, own: Bools, rest: Bools, hardness: Floats
) -> KindMark | None:
    here = own & ~np.isnan(wrong[person])
    met = int(here.sum())
    if met == 0:
        return None
    count = float(wrong[person, here].sum())
    elsewhere = rest & ~np.isnan(wrong[person])
    chances = expit(
        _ability(
            wrong[person, elsewhere], hardness[person, elsewhere], *_class_of(wrong, person, rest)
        )[:, None]
        + hardness[person, here]
    )
    expected = float(chances.sum(axis=1).mean())
    enough = met >= _FEWEST_PIECES and elsewhere.sum() >= _FEWEST_PIECES
    p_value = float(at_least(int(np.floor(count)), chances).mean()) if enough else np.nan
    return KindMark(person, kind, side, count, met, expected, p_value)


def _class_of(wrong: Floats, person: int, rest: Bools) -> tuple[float, float]:
    """How often the other trainees go wrong on pieces of ``rest``, and how many answers of
    one's own that is worth: the less they differ beyond chance, the more (moments of the
    Beta-binomial distribution), never less than one and never more than ``_MOST_WORTH``."""
    others = np.delete(wrong[:, rest], person, axis=0)
    of = (~np.isnan(others)).sum(axis=1)
    count = np.nansum(others, axis=1)[of > 0]
    of = of[of > 0]
    if len(of) == 0:
        return 0.5, 1.0
    mean = (count.sum() + 0.5) / (of.sum() + 1.0)
    if len(of) < 3:
        return float(mean), 1.0
    n = float(of.mean())
    excess = float(np.var(count / of, ddof=1)) / (mean * (1.0 - mean))
    between = (n * excess - 1.0) / max(n - 1.0, 1.0)
    worth = _MOST_WORTH if between <= 0 else 1.0 / between - 1.0
    return float(mean), float(np.clip(worth, 1.0, _MOST_WORTH))


def _ability(wrong: Floats, hardness: Floats, usual: float, worth: float) -> Floats:
    """Log odds that the trainee goes wrong on a piece of usual hardness, at equal shares of
    the chance that the class and the answers to other kinds leave: those at which pieces as
    hard as the ones met would have that share of wrong answers."""
    share = (np.arange(_NODES) + 0.5) / _NODES
    count, of = float(wrong.sum()), len(wrong)
    drawn = stats.beta.ppf(share, count + usual * worth, of - count + (1.0 - usual) * worth)
    drawn = np.clip(drawn, 1e-4, 1 - 1e-4)
    if not of:
        return logit(drawn)
    hard, pieces = np.unique(hardness, return_counts=True)
    low, high = np.full(_NODES, -_FARTHEST), np.full(_NODES, _FARTHEST)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        above = expit(middle[:, None] + hard) @ pieces / of > drawn
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return np.asarray((low + high) / 2.0)
