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
_CHOICE = 6  # pieces of middle difficulty for each that some trays take more than others


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
        held = [[p.difficulty for p in tray if p.honest == honest] for tray in dealt]
        fits = pool.of_step(honest, hard, hard_from(usable, honest), int(numbers.sum()))
        deal = _drawn(pool, fits, numbers, held)
        for tray, own in zip(dealt, _handed_out(deal, numbers, held, dealing), strict=True):
            tray.extend(own)
    if order.unscored:
        spare = pool.unscored(order.unscored * order.trays)
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
        self._free = {piece.piece: piece for piece in free}
        self._order = order
        self._rng = rng

    def of_step(self, honest: bool, hard: bool, hard_from: float, number: int) -> list[Piece]:
        """The free pieces of one step of the ladder, of which ``number`` are wanted."""
        fits = [
            p
            for p in self._free.values()
            if p.honest == honest and p.tellable and (p.difficulty >= hard_from) == hard
        ]
        if len(fits) < number:
            step = "hard" if hard else "easy"
            status = "honest" if honest else "not_honest"
            self._lacking(f"tray_building.compose.{status}_{step}", number, len(fits))
        return fits

    def unscored(self, number: int) -> list[Piece]:
        """``number`` pieces that are not honest and that no reading tells."""
        fits = [p for p in self._free.values() if not p.honest and not p.tellable]
        if len(fits) < number:
            self._lacking("tray_building.compose.not_tellable", number, len(fits))
        return self.take(fits, number)

    def take(self, fits: Sequence[Piece], number: int) -> list[Piece]:
        """A weighted draw of ``number`` of ``fits``: the largest u^(1/w) of uniform u
        (Efraimidis and Spirakis, Information Processing Letters 97, 2006)."""
        weights = np.array([self._weight(piece) for piece in fits])
        keys = np.log(self._rng.random(len(fits))) / weights
        drawn = [fits[n] for n in np.sort(np.argsort(-keys, kind="stable")[:number])]
        for piece in drawn:
            del self._free[piece.piece]
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


@dataclass(frozen=True, slots=True)
class _Deal:
    """Pieces of one step, drawn: ``common`` for the blocks, hardest first, of which every
    one of the trays ``filled`` gets one; ``odd`` for the trays ``receivers``, which take
    more than others."""

    common: list[Piece]
    odd: list[Piece]
    filled: Ints
    receivers: Ints


def _drawn(
    pool: _Pool, fits: Sequence[Piece], numbers: Ints, held: Sequence[Sequence[float]]
) -> _Deal:
    """Draw one step. Where some trays take more pieces than others, these are of middle
    difficulty, so that they move no mean."""
    filled = np.flatnonzero(numbers)
    least = int(numbers[filled].min()) if len(filled) else 0
    receivers = np.repeat(filled, numbers[filled] - least)
    common = pool.take(fits, least * len(filled))
    common.sort(key=lambda p: -p.difficulty)
    so_far = [p.difficulty for p in common] + [d for own in held for d in own]
    middle = sum(so_far) / max(len(so_far), 1)
    taken = {p.piece for p in common}
    left = [p for p in fits if p.piece not in taken]
    left.sort(key=lambda p: abs(p.difficulty - middle))
    odd = pool.take(left[: _CHOICE * len(receivers)], len(receivers))
    return _Deal(common, odd, filled, receivers)


def _handed_out(
    deal: _Deal, numbers: Ints, held: Sequence[Sequence[float]], rng: np.random.Generator
) -> list[list[Piece]]:
    """One piece of every block of neighbours to each tray; of many random ways to do so, the
    one with the most even means. ``held`` are the difficulties that each tray has of that
    status already."""
    trays = len(deal.filled)
    hardness = np.array([p.difficulty for p in deal.common])
    odd_hardness = np.array([p.difficulty for p in deal.odd])
    blocks = np.arange(len(deal.common)).reshape(-1, trays) if trays else np.zeros((0, 0), int)
    before = np.array([sum(of) for of in held], dtype=np.float64)
    counts = np.array([len(of) for of in held]) + numbers
    odd = np.arange(len(deal.odd))
    best, least = (blocks, odd), np.inf
    for _ in range(_TRIES if trays > 1 else 1):
        ways = rng.permuted(blocks, axis=1), rng.permutation(odd)
        total = before.copy()
        total[deal.filled] += hardness[ways[0]].sum(axis=0)
        np.add.at(total, deal.receivers, odd_hardness[ways[1]])
        uneven = _unevenness(total, counts)
        if uneven < least - 1e-12:
            best, least = ways, uneven
    own: list[list[Piece]] = [[] for _ in numbers]
    for place, tray in enumerate(deal.filled):
        own[int(tray)] = [deal.common[n] for n in best[0][:, place]]
    for tray, n in zip(deal.receivers, best[1], strict=True):
        own[int(tray)].append(deal.odd[int(n)])
    return own


def _unevenness(total: Floats, numbers: Ints) -> float:
    """Largest less smallest mean difficulty of the trays that have anything."""
    means = total[numbers > 0] / numbers[numbers > 0]
    return float(np.ptp(means)) if len(means) else 0.0


def _in_cells(pieces: Sequence[Piece], rng: np.random.Generator) -> tuple[Cell, ...]:
    places = rng.permutation(len(pieces))
    return tuple(Cell(n, pieces[int(at)]) for n, at in enumerate(places, 1))
