"""Answers as arrays, and as a table of trainees by pieces."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from lotscreen.records import Bools, Floats, Ints

_STEPS = {"A": -1.0, "S": 0.0, "R": 1.0}
_UNSURE = 1.0
_ONE_EACH = (
    "person", "piece", "tray", "session", "cell", "answer", "refused", "false", "level", "conf",
    "seconds",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Grid:
    """Answers that are marked, one a place of each array; ``person`` and ``piece`` point
    into ``people`` and ``pieces`` (a frame: piece, kind, false, readings ...).

    ``refused`` is True for set aside and for refuse: neither is accepted. ``level`` orders
    answers from surely accepted (-5) over set aside (0) to surely refused (5). ``tray``
    points into ``trays``, ``session`` into
    ``sessions``. Pieces that no reading can tell are not here.
    """

    people: tuple[str, ...]
    trays: tuple[str, ...]
    sessions: tuple[str, ...]
    pieces: pd.DataFrame
    person: Ints
    piece: Ints
    tray: Ints
    session: Ints
    cell: Ints
    answer: Ints
    refused: Bools
    false: Bools
    level: Floats
    conf: Floats
    seconds: Floats

    @property
    def wrong(self) -> Bools:
        """Answers that disagree with the key."""
        return np.asarray(self.refused != self.false)

    def of(self, mask: Bools) -> Grid:
        """The answers of ``mask``; people, trays and pieces keep their numbers."""
        parts = {name: getattr(self, name)[mask] for name in _ONE_EACH}
        return Grid(self.people, self.trays, self.sessions, self.pieces, **parts)

    def table(self, values: Floats | Bools) -> Floats:
        """People x pieces: the mean of ``values`` over a trainee's answers to a piece, NaN
        where the trainee never met it."""
        shape = (len(self.people), len(self.pieces))
        flat = self.person * shape[1] + self.piece
        size = shape[0] * shape[1]
        count = np.bincount(flat, minlength=size)
        total = np.bincount(flat, weights=np.asarray(values, dtype=np.float64), minlength=size)
        with np.errstate(invalid="ignore"):
            return np.asarray((total / count).reshape(shape))


_OF_PIECE = (
    "kind", "type", "finding", "told_by", "weight_g", "diameter_mm", "thickness_mm", "difficulty",
)  # fmt: skip


def grid_of(matched: pd.DataFrame) -> Grid:
    """The grid of answers beside their key (see ``answer_key.matched``); people in the order
    of their codes, trays and pieces in the order in which they were met."""
    rows = matched[matched["tellable"].to_numpy(dtype=bool)]
    people = sorted(set(rows["trainee"]))
    piece, _ = pd.factorize(rows["piece"])
    tray, trays = pd.factorize(rows["tray"])
    session, sessions = pd.factorize(rows["session"])
    first = rows.drop_duplicates("piece")
    pieces = first[["piece", *_OF_PIECE]].reset_index(drop=True)
    pieces["false"] = ~first["standard"].to_numpy(dtype=bool)
    step = rows["answer"].map(_STEPS).to_numpy(dtype=np.float64)
    conf = rows["conf"].to_numpy(dtype=np.float64)
    return Grid(
        people=tuple(people),
        trays=tuple(map(str, trays)),
        sessions=tuple(map(str, sessions)),
        pieces=pieces,
        person=np.searchsorted(people, rows["trainee"].to_numpy(dtype=str)).astype(np.int64),
        piece=piece.astype(np.int64),
        tray=tray.astype(np.int64),
        session=session.astype(np.int64),
        cell=rows["cell"].to_numpy(dtype=np.int64),
        answer=(step + 1).astype(np.int64),
        refused=step >= 0,
        false=~rows["standard"].to_numpy(dtype=bool),
        level=np.asarray(step * np.where(np.isnan(conf), _UNSURE, conf), dtype=np.float64),
        conf=conf,
        seconds=rows["seconds"].to_numpy(dtype=np.float64),
    )


QUIET_BELOW, BURST_FROM = 0.10, 0.30
"""Shares of false pieces that part quiet trays from usual ones, and those from a burst."""


def tray_classes(grid: Grid) -> Ints:
    """A tray each: 0 quiet, 1 usual, 2 burst, by its share of false pieces."""
    trays = len(grid.trays)
    answers = np.bincount(grid.tray, minlength=trays)
    share = np.bincount(grid.tray, grid.false, trays) / np.maximum(answers, 1)
    return np.digitize(share, [QUIET_BELOW, BURST_FROM]).astype(np.int64)


def hits_and_alarms(grid: Grid) -> tuple[Floats, Ints, Floats, Ints]:
    """A trainee each: hits, pieces that were false, false alarms, honest pieces. A piece met
    twice counts once, its answers averaged."""
    refused = grid.table(grid.refused)
    met = ~np.isnan(refused)
    false = grid.pieces["false"].to_numpy(dtype=bool)
    sums = np.where(met, refused, 0.0)
    return (
        sums[:, false].sum(axis=1),
        met[:, false].sum(axis=1),
        sums[:, ~false].sum(axis=1),
        met[:, ~false].sum(axis=1),
    )
