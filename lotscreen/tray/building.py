"""From a register to a set of trays: read, measure, compose; nothing is written here."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from lotscreen.settings import Settings
from lotscreen.simulate.register import PIECES, invented_register
from lotscreen.standards import StandardsTable
from lotscreen.tray.built import BuiltSet, needs_sense
from lotscreen.tray.compose import Order, compose
from lotscreen.tray.history import Seen, seen_before
from lotscreen.tray.judged import judged_pieces
from lotscreen.tray.pieces import Piece
from lotscreen.tray.register import read_register
from lotscreen.words import say

_PIECES_A_TRAY = 60  # the hardest third of the pieces that are not honest is what runs short


@dataclass(frozen=True, slots=True)
class Wish:
    """What the supervisor asks for besides the order: see :class:`BuiltSet`."""

    trainees: tuple[str, ...] = ()
    adjusted: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    practised: tuple[str, ...] = ()
    keep_until: str = ""


def build_set(
    source: Path | None,
    order: Order,
    wish: Wish,
    history: Sequence[Seen],
    standards: StandardsTable,
    settings: Settings,
    progress: Callable[[str], None] | None = None,
) -> BuiltSet:
    """The set of ``order`` from the register at ``source`` (None: an invented one).

    Raises InputError where the register is not understood or has too few pieces.
    """
    tell = progress or (lambda _: None)
    tell(say("tray_building.progress.reading"))
    invented = None
    if source is None:
        invented = invented_register(standards, order.seed, _enough(order))
        register = read_register(invented)
    else:
        register = read_register(source)
    tell(say("tray_building.progress.judging", n=len(register.entries)))
    pieces = judged_pieces(register, standards, settings)
    tell(say("tray_building.progress.composing"))
    left_out = _left_out(pieces, wish)
    seen = seen_before(history, order.name, wish.trainees) | frozenset(left_out)
    order = replace(order, seen=seen)
    return BuiltSet(
        order=order,
        trays=compose(pieces, order),
        trainees=wish.trainees,
        pieces=pieces,
        source=say("tray_building.demo.source") if source is None else register.name,
        source_digest=register.digest,
        register=invented,
        adjusted=wish.adjusted,
        left_out=left_out,
        practised=wish.practised,
        keep_until=wish.keep_until,
        doubts=register.doubts(),
    )


def _enough(order: Order) -> int:
    """Pieces of an invented register that trays of any purpose can be composed of."""
    return max(PIECES, _PIECES_A_TRAY * order.trays)


def _left_out(pieces: Sequence[Piece], wish: Wish) -> tuple[str, ...]:
    """Pieces told only by a test that one of the trainees cannot make."""
    senses = sorted({sense for own in wish.adjusted.values() for sense in own})
    return tuple(p.piece for p in pieces if needs_sense(p, senses))
