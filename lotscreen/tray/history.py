"""Which trainee has seen which piece: a small file that only grows.

It is read whole and written whole to a file beside it that then takes its place, so that
no half of it is ever seen. Lines that are there are never altered.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from lotscreen.records import InputError, OutputError
from lotscreen.tray.built import ANYBODY, BuiltSet
from lotscreen.whole_file import write_whole
from lotscreen.words import say

_COLUMNS = ("set", "tray", "trainee", "piece")


@dataclass(frozen=True, slots=True)
class Seen:
    """One piece on one tray given to one trainee (``*``: to anybody)."""

    set_name: str
    tray: str
    trainee: str
    piece: str


def load_history(path: Path) -> tuple[Seen, ...]:
    """The history at ``path``, empty where there is no such file; InputError with the line
    that is not understood."""
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return ()
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(
            say("tray_building.history.unreadable", file=path.name, why=error)
        ) from error
    rows = list(csv.reader(io.StringIO(text)))
    if not rows or tuple(rows[0]) != _COLUMNS:
        found = ", ".join(rows[0]) if rows else ""
        raise InputError(
            say("tray_building.history.header", file=path.name, found=found,
                columns=",".join(_COLUMNS))
        )  # fmt: skip
    for number, row in enumerate(rows[1:], 2):
        if len(row) != len(_COLUMNS) or not all(row):
            raise InputError(
                say("tray_building.history.line", file=path.name, row=number, value=",".join(row))
            )
    return tuple(Seen(*row) for row in rows[1:])


def seen_before(history: Sequence[Seen], name: str, trainees: Sequence[str]) -> frozenset[str]:
    """Pieces that one of ``trainees`` had before the set called ``name`` was first built.

    A set for anybody may hold only pieces that nobody had; a set that anybody may have had
    counts for everybody.
    """
    built = [n for n, seen in enumerate(history) if seen.set_name == name]
    earlier = history[: built[0]] if built else history
    everybody = not trainees
    return frozenset(
        seen.piece
        for seen in earlier
        if everybody or seen.trainee == ANYBODY or seen.trainee in trainees
    )


def rows_of(built: BuiltSet) -> tuple[Seen, ...]:
    """What the set adds to the history."""
    return tuple(
        Seen(built.order.name, tray.name, trainee, cell.piece.piece)
        for tray in built.trays
        for trainee in (built.trainees or (ANYBODY,))
        for cell in tray.cells
    )


def refuse_other_set(history: Sequence[Seen], built: BuiltSet) -> bool:
    """Whether the set stands in the history already, cell by cell; OutputError where another
    set of that name does."""
    name = built.order.name
    there = tuple(seen for seen in history if seen.set_name == name)
    if not there:
        return False
    if there != rows_of(built):
        raise OutputError(say("tray_building.history.other_set", name=name))
    return True


def save_history(path: Path, before: Sequence[Seen], built: BuiltSet) -> None:
    """Add the set to the history; OutputError where it has grown since it was read, or
    cannot be written."""
    if load_history(path) != tuple(before):
        raise OutputError(say("tray_building.history.changed", file=path.name))
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(_COLUMNS)
    for seen in (*before, *rows_of(built)):
        writer.writerow((seen.set_name, seen.tray, seen.trainee, seen.piece))
    replace_file(path, text.getvalue())


def replace_file(path: Path, text: str) -> None:
    """Write ``text``, in place of what was there; OutputError where it cannot be written,
    what was there is then unchanged."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, text.encode("utf-8"))
    except OSError as error:
        told = say("tray_building.history.cannot_write", path=path, reason=error.strerror)
        raise OutputError(told) from error
