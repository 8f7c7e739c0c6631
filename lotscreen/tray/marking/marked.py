"""Everything that is marked of a set of answers: the one place that knows the order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from lotscreen.records import InputError, SourceFile
from lotscreen.tray.answer_key import Key, matched
from lotscreen.tray.answers import Answers, LeftOutAnswer
from lotscreen.tray.marking import agreement
from lotscreen.tray.marking.crossed import Estimate, Luck, class_rate, luck_of
from lotscreen.tray.marking.grid import Grid, grid_of
from lotscreen.tray.marking.kinds import kind_marks
from lotscreen.tray.marking.pace import paces
from lotscreen.tray.marking.pass_rule import PassRule
from lotscreen.tray.marking.people import PersonMarks, person_marks
from lotscreen.tray.marking.pieces import PieceMarks, piece_marks
from lotscreen.tray.marking.stages import Change, Stage, stages_of
from lotscreen.tray.marking.stand_outs import StandOut, stand_outs
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class ClassMarks:
    """All trainees together; intervals hold the luck of people and of pieces. ``alike`` is
    the agreement among them, ``with_bench`` that of each with the instrument."""

    hit: Estimate
    alarm: Estimate
    luck: Luck
    alike: agreement.Agreement | None
    with_bench: tuple[agreement.Agreement | None, ...]


@dataclass(frozen=True, slots=True)
class Marked:
    """A marked set. ``not_told`` are answers to pieces that no reading can tell: they are
    shown and not marked. ``set_out`` are pieces that the supervisor took out of the marks.
    """

    sources: tuple[SourceFile, ...]
    rows_read: int
    left_out: tuple[LeftOutAnswer, ...]
    doubts: tuple[str, ...]
    not_told: pd.DataFrame
    set_out: tuple[str, ...]
    grid: Grid
    people: tuple[PersonMarks, ...]
    pieces: PieceMarks
    stand_outs: tuple[StandOut, ...]
    whole: ClassMarks
    stages: tuple[Stage, ...]
    changes: tuple[Change, ...]
    rule: PassRule | None

    def of(self, code: str) -> PersonMarks:
        """The marks of one trainee."""
        return next(person for person in self.people if person.code == code)

    def named(self, code: str) -> tuple[StandOut, ...]:
        """For what a trainee stands out."""
        return tuple(one for one in self.stand_outs if self.grid.people[one.person] == code)


def mark(
    answers: Answers, key: Key, rule: PassRule | None = None, set_out: Sequence[str] = ()
) -> Marked:
    """Mark ``answers`` by ``key``. Every row read is marked, shown as one that no reading can
    tell, or left out with its reason. Pieces named in ``set_out`` are not marked.

    InputError where the key fits no tray, a piece of ``set_out`` is not in the key, or
    nothing is left to mark.
    """
    found, unmatched = matched(answers, key)
    unknown = sorted(set(set_out) - set(key.cells["piece"]))
    if unknown:
        raise InputError(say("tray_marking.error.set_out_unknown", piece=unknown[0]))
    out = found["piece"].isin(list(set_out)).to_numpy(dtype=bool)
    taken_out = [
        LeftOutAnswer(place, say("tray_marking.left_out.set_out", piece=piece), answer)
        for place, piece, answer in found.loc[out, ["place", "piece", "answer"]].itertuples(
            index=False
        )
    ]
    kept = found[~out].reset_index(drop=True)
    tellable = kept["tellable"].to_numpy(dtype=bool)
    if not tellable.any():
        raise InputError(say("tray_marking.error.nothing_to_mark"))
    grid = grid_of(kept)
    kinds, pace = kind_marks(grid), paces(grid)
    stages, changes = stages_of(grid)
    return Marked(
        sources=(*answers.sources, *key.sources),
        rows_read=answers.rows_read,
        left_out=(*answers.left_out, *unmatched, *taken_out),
        doubts=answers.doubts,
        not_told=kept[~tellable].reset_index(drop=True),
        set_out=tuple(set_out),
        grid=grid,
        people=person_marks(grid, kinds, pace),
        pieces=piece_marks(grid),
        stand_outs=stand_outs(grid, kinds, pace),
        whole=_whole(grid),
        stages=stages,
        changes=changes,
        rule=rule,
    )


def _whole(grid: Grid) -> ClassMarks:
    false = grid.false
    rates = [
        class_rate(grid.refused[side], grid.person[side], grid.piece[side])
        for side in (false, ~false)
    ]
    return ClassMarks(
        hit=rates[0],
        alarm=rates[1],
        luck=luck_of(np.asarray(grid.wrong, dtype=np.float64), grid.person, grid.piece),
        alike=agreement.among(grid),
        with_bench=tuple(agreement.with_instrument(grid, p) for p in range(len(grid.people))),
    )
