"""Seeded trays of equal difficulty from pieces that the trainees have not seen.

Pieces of one step of the ladder are drawn at random, ranked by difficulty and cut into
blocks of as many neighbours as there are trays; each tray gets one of every block. So the
trays of a set differ in the pieces, hardly in how hard they are.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from lotscreen.records import Floats, InputError, Ints
from lotscreen.tray.pieces import Piece, hard_from
from lotscreen.tray.purpose import CELLS, Purpose
from lotscreen.words import say

_TRIES = 200  # random ways to hand out the blocks, of which the most even one is taken


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a tray, numbered from 1, row by row."""

    number: int
    piece: Piece


@dataclass(frozen=True, slots=True)
class Tray:
    """One tray; its name is the set's and its own number."""

    name: str
    cells: tuple[Cell, ...]

    def pieces(self, honest: bool) -> tuple[Piece, ...]:
        """The pieces of that status."""
        return tuple(c.piece for c in self.cells if c.piece.honest == honest)


@dataclass(frozen=True, slots=True)
class Order:
    """What is asked for: ``trays`` trays called ``name``-1 and on, ``seen`` the pieces that
    may not come again, ``weights`` how much likelier than by chance a piece is drawn, by its
    kind or by the reading that tells it (1 where neither is named), ``empty_share`` the
    chance of a tray without any piece that is not honest, ``unscored`` the pieces a tray
    that no reading can tell."""

    name: str
    purpose: Purpose
    trays: int
    seed: int
    seen: Collection[str] = ()
    weights: Mapping[str, float] = field(default_factory=dict)
    empty_share: float = 0.0
    unscored: int = 0


def compose(pieces: Sequence[Piece], order: Order) -> tuple[Tray, ...]:
    """The trays asked for; InputError says what is lacking where the register is too small.

    The same pieces and order give the same trays.
    """
    counts, drawing, dealing, cells = map(
        np.random.default_rng, np.random.SeedSequence(order.seed).spawn(4)
    )
    usable = tuple(p for p in pieces if not p.usable)
    free = [p for p in usable if p.piece not in order.seen]
    wanted = _wanted(order, counts)
    pool = _Pool(free, order, drawing)
    dealt: list[list[Piece]] = [[] for _ in range(order.trays)]
    for honest, hard, numbers in wanted.steps():
        drawn = pool.draw(honest, hard, hard_from(usable, honest), int(numbers.sum()))
        held = [[p.difficulty for p in tray if p.honest == honest] for tray in dealt]
        for tray, own in zip(dealt, _handed_out(drawn, numbers, held, dealing), strict=True):
            tray.extend(own)
    if order.unscored:
        spare = pool.draw_unscored(order.unscored * order.trays)
        for n, tray in enumerate(dealt):
            tray.extend(spare[n :: order.trays])
    return tuple(
        Tray(f"{order.name}-{n}", _in_cells(tray, cells)) for n, tray in enumerate(dealt, 1)
    )


@dataclass(frozen=True, slots=True)
class _Wanted:
    """How many pieces of each step each tray gets; arrays of one entry a tray."""

    hard_other: Ints
    other: Ints
    hard_honest: Ints
    honest: Ints

    def steps(self) -> tuple[tuple[bool, bool, Ints], ...]:
        """Status, whether hard, and numbers a tray; hard ones first, while they last."""
        return (
            (False, True, self.hard_other), (False, False, self.other),
            (True, True, self.hard_honest), (True, False, self.honest),
        )  # fmt: skip


def _wanted(order: Order, rng: np.random.Generator) -> _Wanted:
    """A third of the pieces that are not honest are hard, and as many honest ones.

    A tray that has none of the former has the latter all the same, or it would be told by
    its ease. Where a tray has fewer than three, the thirds are of the whole set.
    """
    low, high = order.purpose.not_honest
    other = rng.integers(low, high + 1, order.trays)
    other[rng.random(order.trays) < order.empty_share] = 0
    if high >= 3:
        hard_honest = np.full(order.trays, low // 3, dtype=np.int64)
        hard = np.where(other > 0, hard_honest, 0)
    else:
        hard = np.zeros(order.trays, dtype=np.int64)
        filled = np.flatnonzero(other)
        hard[rng.choice(filled, round(len(filled) / 3), replace=False)] = 1
        hard_honest = rng.permutation(hard)
    honest = CELLS - order.unscored - other - hard_honest
    return _Wanted(hard, other - hard, hard_honest, honest)


class _Pool:
    """The pieces that are still free, drawn without replacement."""

    def __init__(self, free: Sequence[Piece], order: Order, rng: np.random.Generator) -> None:
        self._free = list(free)
        self._order = order
        self._rng = rng

    def draw(self, honest: bool, hard: bool, hard_from: float, number: int) -> list[Piece]:
        """``number`` pieces of one step, hardest first."""
        fits = [
            n
            for n, p in enumerate(self._free)
            if p.honest == honest and p.tellable and (p.difficulty >= hard_from) == hard
        ]
        if len(fits) < number:
            step = "hard" if hard else "easy"
            status = "honest" if honest else "not_honest"
            self._lacking(f"tray_building.compose.{status}_{step}", number, len(fits))
        drawn = self._taken(fits, number)
        return sorted(drawn, key=lambda p: -p.difficulty)

    def draw_unscored(self, number: int) -> list[Piece]:
        """``number`` pieces that are not honest and that no reading tells."""
        fits = [n for n, p in enumerate(self._free) if not p.honest and not p.tellable]
        if len(fits) < number:
            self._lacking("tray_building.compose.not_tellable", number, len(fits))
        return self._taken(fits, number)

    def _taken(self, places: list[int], number: int) -> list[Piece]:
        """A weighted draw without replacement: the largest u^(1/w) of uniform u (Efraimidis
        and Spirakis, Information Processing Letters 97, 2006)."""
        weights = np.array([self._weight(self._free[n]) for n in places])
        keys = np.log(self._rng.random(len(places))) / weights
        chosen = sorted(places[i] for i in np.argsort(-keys, kind="stable")[:number])
        drawn = [self._free[n] for n in chosen]
        for n in reversed(chosen):
            del self._free[n]
        return drawn

    def _weight(self, piece: Piece) -> float:
        """The weight of its kind or of its reading, whichever says more."""
        both = (self._order.weights.get(name, 1.0) for name in (piece.kind, piece.told_by))
        return max(both, key=lambda weight: abs(np.log(weight)))

    def _lacking(self, key: str, number: int, left: int) -> None:
        what = say(key)
        raise InputError(
            say("tray_building.compose.lacking", name=self._order.name, what=what, number=number,
                left=left)
        )  # fmt: skip


def _handed_out(
    drawn: Sequence[Piece],
    numbers: Ints,
    held: Sequence[Sequence[float]],
    rng: np.random.Generator,
) -> list[list[Piece]]:
    """One piece of every block of neighbours to each tray; of many random ways to do so, the
    one with the most even means. ``held`` are the difficulties that each tray has of that
    status already."""
    trays = len(numbers)
    common = int(numbers.min())
    extra = np.flatnonzero(numbers > common)
    receivers = np.repeat(extra, numbers[extra] - common)
    hardness = np.array([p.difficulty for p in drawn])
    odd = _nearest_mean(hardness, held, len(receivers))
    blocks = np.setdiff1d(np.arange(len(drawn)), odd).reshape(common, trays)
    before = np.array([sum(of) for of in held]), np.array([len(of) for of in held])
    best, least = (blocks, odd), np.inf
    for _ in range(_TRIES if trays > 1 else 1):
        ways = rng.permuted(blocks, axis=1), rng.permutation(odd)
        total = before[0] + hardness[ways[0]].sum(axis=0)
        np.add.at(total, receivers, hardness[ways[1]])
        uneven = _unevenness(total, before[1] + numbers)
        if uneven < least - 1e-12:
            best, least = ways, uneven
    own = [[drawn[n] for n in best[0][:, tray]] for tray in range(trays)]
    for tray, n in zip(receivers, best[1], strict=True):
        own[int(tray)].append(drawn[int(n)])
    return own


def _nearest_mean(hardness: Floats, held: Sequence[Sequence[float]], number: int) -> Ints:
    """The places of the ``number`` pieces that move a mean least: where some trays take one
    piece more than others, these are the ones."""
    everything = np.concatenate([hardness, *held])
    off = np.abs(hardness - (everything.mean() if len(everything) else 0.0))
    return np.sort(np.argsort(off, kind="stable")[:number])


def _unevenness(total: Floats, numbers: Ints) -> float:
    """Largest less smallest mean difficulty of the trays that have anything."""
    means = total[numbers > 0] / numbers[numbers > 0]
    return float(np.ptp(means)) if len(means) else 0.0


def _in_cells(pieces: Sequence[Piece], rng: np.random.Generator) -> tuple[Cell, ...]:
    places = rng.permutation(len(pieces))
    return tuple(Cell(n, pieces[int(at)]) for n, at in enumerate(places, 1))
