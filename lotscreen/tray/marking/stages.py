"""Few false pieces against many, and before against after: the same people, paired.

Where false pieces are rare people miss more of them: their line moves, their skill need
not. Figures are of all answers of the class together, since one trainee meets too few
false pieces in quiet trays; their intervals hold the luck of people and of pieces.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.records import Bools
from lotscreen.tray.marking.crossed import (
    Estimate,
    class_rate,
    crossed_interval,
    skill_influence,
)
from lotscreen.tray.marking.detection import d_prime, skill_intervals
from lotscreen.tray.marking.grid import Grid, hits_and_alarms, tray_classes
from lotscreen.tray.marking.rates import difference_interval

QUIET, USUAL, BURST = "quiet", "usual", "burst"
_NAMES = (QUIET, USUAL, BURST)
_FEWEST_FALSE = 3


@dataclass(frozen=True, slots=True)
class Stage:
    """A run of trays with alike shares of false pieces, or a session; ``trays`` of them,
    ``false_pieces`` different false pieces in them."""

    name: str
    session: str
    trays: int
    empty_trays: int
    false_pieces: int
    hit: Estimate
    alarm: Estimate
    skill: Estimate
    line: Estimate


@dataclass(frozen=True, slots=True)
class PersonChange:
    """Change of one trainee's d', and what would be expected of it without any learning,
    because extreme marks are partly luck."""

    person: int
    skill: Estimate
    by_luck: float


@dataclass(frozen=True, slots=True)
class Change:
    """``later`` less ``earlier`` (numbers of stages), of the class and of each trainee.
    ``reliability``: share of the spread of d' between trainees that is no luck."""

    earlier: int
    later: int
    skill: Estimate
    line: Estimate
    hit: Estimate
    people: tuple[PersonChange, ...]
    reliability: float


def stages_of(grid: Grid) -> tuple[tuple[Stage, ...], tuple[Change, ...]]:
    """Stages in the order in which their trays were met, and the changes worth a line:
    quiet trays against a burst, and the first against the last of one kind or session."""
    masks, names = _masks(grid)
    stages = tuple(_stage(grid, mask, *name) for mask, name in zip(masks, names, strict=True))
    changes = tuple(
        _change(grid, masks, a, b) for a, b in _pairs(stages) if _enough(stages[a], stages[b])
    )
    return stages, changes


def _masks(grid: Grid) -> tuple[list[Bools], list[tuple[str, str]]]:
    kind = tray_classes(grid)
    run = np.cumsum(np.r_[0, kind[1:] != kind[:-1]])
    label = grid.session * (int(run.max()) + 1) + run[grid.tray]
    masks, names = [], []
    for value in dict.fromkeys(label.tolist()):
        mask = np.asarray(label == value)
        first = int(np.argmax(mask))
        masks.append(mask)
        names.append((_NAMES[kind[grid.tray[first]]], grid.sessions[grid.session[first]]))
    return masks, names


def _stage(grid: Grid, mask: Bools, name: str, session: str) -> Stage:
    own = grid.of(mask)
    false = own.false
    skill, line = _class_skill(own)
    trays = np.unique(own.tray)
    with_false = np.unique(own.tray[false])
    return Stage(
        name=name,
        session=session,
        trays=len(trays),
        empty_trays=len(trays) - len(with_false),
        false_pieces=len(np.unique(own.piece[false])),
        hit=class_rate(own.refused[false], own.person[false], own.piece[false]),
        alarm=class_rate(own.refused[~false], own.person[~false], own.piece[~false]),
        skill=skill,
        line=line,
    )


def _class_skill(own: Grid) -> tuple[Estimate, Estimate]:
    if own.false.all() or not own.false.any():
        nothing = Estimate(np.nan, np.nan, np.nan)
        return nothing, nothing
    skill, line, of_skill, of_line = skill_influence(own.refused, own.false)
    return (
        crossed_interval(skill, of_skill, own.person, own.piece),
        crossed_interval(line, of_line, own.person, own.piece),
    )


def _pairs(stages: tuple[Stage, ...]) -> list[tuple[int, int]]:
    """Quiet against the burst that follows; first and last stage of one kind."""
    found = []
    for n, stage in enumerate(stages[1:], 1):
        if stage.name == BURST and stages[n - 1].name == QUIET:
            found.append((n - 1, n))
    for kind in dict.fromkeys(stage.name for stage in stages):
        same = [n for n, stage in enumerate(stages) if stage.name == kind]
        if len(same) > 1:
            found.append((same[0], same[-1]))
    return found


def _enough(one: Stage, other: Stage) -> bool:
    return min(one.false_pieces, other.false_pieces) >= _FEWEST_FALSE


def _change(grid: Grid, masks: list[Bools], a: int, b: int) -> Change:
    """Answers of both stages as one heap whose influences have opposite signs: what a
    trainee or a piece brings to both is then taken off."""
    earlier, later = grid.of(masks[a]), grid.of(masks[b])
    person = np.r_[earlier.person, later.person]
    piece = np.r_[earlier.piece, later.piece]
    then, now = (skill_influence(one.refused, one.false) for one in (earlier, later))
    skill = crossed_interval(now[0] - then[0], np.r_[-then[2], now[2]], person, piece)
    line = crossed_interval(now[1] - then[1], np.r_[-then[3], now[3]], person, piece)
    people, reliability = _people(earlier, later)
    return Change(a, b, skill, line, _hit_change(earlier, later), people, reliability)


def _hit_change(earlier: Grid, later: Grid) -> Estimate:
    parts, groups = [], []
    value = 0.0
    for one, sign in ((earlier, -1.0), (later, 1.0)):
        hits = one.refused[one.false]
        value += sign * float(hits.mean())
        parts.append(sign * (hits - hits.mean()) / len(hits))
        groups.append((one.person[one.false], one.piece[one.false]))
    person, piece = (np.concatenate([group[n] for group in groups]) for n in (0, 1))
    return crossed_interval(value, np.concatenate(parts), person, piece)


def _people(earlier: Grid, later: Grid) -> tuple[tuple[PersonChange, ...], float]:
    before, after = hits_and_alarms(earlier), hits_and_alarms(later)
    skill = [d_prime(*counts) for counts in (before, after)]
    spans = [
        [skill_intervals(*(float(c[p]) for c in counts))[0] for p in range(len(earlier.people))]
        for counts in (before, after)
    ]
    both = np.array([min(before[1][p], before[3][p], after[1][p], after[3][p]) > 0
                     for p in range(len(earlier.people))])  # fmt: skip
    reliability = _reliability(skill[0][both], [spans[0][p] for p in np.flatnonzero(both)])
    middle = float(skill[0][both].mean()) if both.any() else np.nan
    changes = []
    for p in np.flatnonzero(both):
        now, then = (float(skill[n][p]) for n in (1, 0))
        found = difference_interval((now, *spans[1][p]), (then, *spans[0][p]))
        changes.append(PersonChange(int(p), Estimate(*found), (1 - reliability) * (middle - then)))
    return tuple(changes), reliability


def _reliability(skill: np.ndarray, spans: list[tuple[float, float]]) -> float:
    """Share of the variance of d' between trainees that is not the error of one d'."""
    if len(skill) < 3:
        return 0.0
    spread = float(np.var(skill, ddof=1))
    error = float(np.mean([((high - low) / 3.92) ** 2 for low, high in spans]))
    return float(np.clip(1.0 - error / spread, 0.0, 1.0)) if spread > 0 else 0.0
