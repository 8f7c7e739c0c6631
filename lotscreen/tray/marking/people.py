"""The marks of one trainee, each with its interval."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lotscreen.tray.marking.confidence import Sureness, sureness
from lotscreen.tray.marking.crossed import Estimate
from lotscreen.tray.marking.detection import criterion, d_prime, skill_intervals
from lotscreen.tray.marking.grid import Grid, hits_and_alarms
from lotscreen.tray.marking.kinds import KindMark
from lotscreen.tray.marking.pace import Pace
from lotscreen.tray.marking.rates import at_least, beta_interval
from lotscreen.tray.marking.roc import area, area_interval


@dataclass(frozen=True, slots=True)
class PersonMarks:
    """One trainee. ``hits`` of ``of_false`` and ``alarms`` of ``of_honest`` count set aside
    and refuse alike; ``hits_at_least`` is the share that the hits show at least (one-sided,
    95 %). ``skill`` is d', ``line`` the criterion c, ``area`` that under the curve of the
    ordered answers: NaN for who met pieces of one status only. ``answers`` are numbers
    of accept, set aside, refuse."""

    code: str
    hits: float
    of_false: int
    alarms: float
    of_honest: int
    hit: Estimate
    alarm: Estimate
    hits_at_least: float
    skill: Estimate
    line: Estimate
    area: Estimate
    sure: Sureness
    pace: Pace
    kinds: tuple[KindMark, ...]
    answers: tuple[int, int, int]


def person_marks(
    grid: Grid, kinds: Sequence[KindMark], paces: Sequence[Pace]
) -> tuple[PersonMarks, ...]:
    """Every trainee in the order of the codes."""
    counts = hits_and_alarms(grid)
    return tuple(
        _one(grid, person, tuple(float(c[person]) for c in counts), kinds, paces)
        for person in range(len(grid.people))
    )


def _one(
    grid: Grid,
    person: int,
    counts: tuple[float, ...],
    kinds: Sequence[KindMark],
    paces: Sequence[Pace],
) -> PersonMarks:
    mine = grid.person == person
    hits, of_false, alarms, of_honest = counts
    # half an answer added to an empty heap would make a figure of nothing
    both = of_false > 0 and of_honest > 0
    skill, line = skill_intervals(hits, of_false, alarms, of_honest)
    upper, lower = grid.level[mine & grid.false], grid.level[mine & ~grid.false]
    found = area(upper, lower)
    answers = [int((grid.answer[mine] == n).sum()) for n in range(3)]
    return PersonMarks(
        code=grid.people[person],
        hits=hits,
        of_false=int(of_false),
        alarms=alarms,
        of_honest=int(of_honest),
        hit=_share(hits, of_false),
        alarm=_share(alarms, of_honest),
        hits_at_least=at_least(int(hits), int(of_false)),
        skill=Estimate(float(d_prime(*counts)) if both else float("nan"), *skill),
        line=Estimate(float(criterion(*counts)) if both else float("nan"), *line),
        area=Estimate(found, *area_interval(found, len(upper), len(lower))),
        sure=sureness(grid.conf[mine], grid.wrong[mine]),
        pace=paces[person],
        kinds=tuple(kind for kind in kinds if kind.person == person),
        answers=(answers[0], answers[1], answers[2]),
    )


def _share(count: float, of: float) -> Estimate:
    low, high = beta_interval(count, of)
    return Estimate(count / of if of else float("nan"), float(low), float(high))
