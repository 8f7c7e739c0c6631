"""The count that closes a session: what went out, what came in, by box, piece by piece."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lotscreen.intake.grid import Book, cell_text, plain_words
from lotscreen.intake.readers import read_book
from lotscreen.intake.vocabulary import is_missing
from lotscreen.records import InputError
from lotscreen.tray.answer_key import Key, read_key
from lotscreen.tray.built import BuiltSet
from lotscreen.tray.purpose import CELLS
from lotscreen.tray.tables import KEY, custody_frame
from lotscreen.words import phrase, say

_COLUMNS = ("box", "piece", "permission", "tray", "cell", "out", "in")
_BACK = {"1": True, "yes": True, "y": True, "x": True, "in": True, "true": True,
         "0": False, "no": False, "n": False, "out": False, "false": False}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Line:
    """One piece; ``back`` None until somebody has counted."""

    box: str
    piece: str
    permission: str
    tray: str
    cell: int
    back: bool | None


@dataclass(frozen=True, slots=True)
class BoxCount:
    """Pieces of one box out and back (None: not all counted)."""

    box: str
    out: int
    back: int | None

    @property
    def difference(self) -> int | None:
        """Out less back."""
        return None if self.back is None else self.out - self.back


@dataclass(frozen=True, slots=True)
class Custody:
    """The lines of a set in the order of the boxes; ``compared`` whether they are known to
    be all that the set was built of."""

    lines: tuple[Line, ...]
    compared: bool

    @property
    def set_name(self) -> str:
        """The name of the set, from that of its trays."""
        return ", ".join(dict.fromkeys(line.tray.rpartition("-")[0] for line in self.lines))

    @property
    def closed(self) -> bool:
        """Whether every piece is counted and back."""
        return all(line.back for line in self.lines)

    def boxes(self) -> tuple[BoxCount, ...]:
        """Counts by box, in the order of the lines."""
        found = []
        for box in dict.fromkeys(line.box for line in self.lines):
            back = [line.back for line in self.lines if line.box == box]
            counted = [one for one in back if one is not None]
            whole = sum(counted) if len(counted) == len(back) else None
            found.append(BoxCount(box, len(back), whole))
        return tuple(found)


def custody_of(built: BuiltSet) -> Custody:
    """The list as it is when the pieces go out."""
    rows = custody_frame(built).to_dict("records")
    return Custody(tuple(_line(row, None) for row in rows), compared=True)


def read_custody(path: Path, folder: Path | None = None) -> Custody:
    """The list with its column ``in`` filled, compared with the key of the set in
    ``folder``, else in the folder of the list; InputError that lists everything to be
    mended, each with its place."""
    key_file = (path.parent if folder is None else folder) / KEY
    compared = key_file.is_file()
    if folder is not None and not compared:
        raise InputError(say("tray_building.custody.no_key", folder=folder, file=KEY))
    book = read_book(path)
    lines, wrong = _lines(book)
    found = [line for _, line in lines]
    wrong += _twice(found, book.name)
    if not wrong and compared:
        wrong += _unlike(lines, read_key([key_file]), book)
    elif not wrong:
        wrong += _lost(found, book.name)
    if wrong:
        raise InputError("\n".join(wrong))
    return Custody(tuple(found), compared)


def _lines(book: Book) -> tuple[list[tuple[int, Line]], list[str]]:
    """The lines, each with the number of its row, and what is to be mended."""
    sheet = book.sheets[0]
    header = [plain_words(cell_text(cell)) for cell in (sheet.rows[0] if sheet.rows else ())]
    missing = [name for name in _COLUMNS if name not in header]
    if missing:
        raise InputError(
            say("tray_building.custody.no_column", file=book.name, sheet=sheet.name,
                name=missing[0], found=", ".join(header))
        )  # fmt: skip
    place = {name: header.index(name) for name in _COLUMNS}
    lines: list[tuple[int, Line]] = []
    wrong: list[str] = []
    for number, row in enumerate(sheet.rows[1:], 2):
        said = {n: cell_text(row[at]).strip() if at < len(row) else "" for n, at in place.items()}
        if not any(said.values()):
            continue
        fault = _fault(said)
        if fault:
            wrong.append(
                say("tray_building.register.at", file=book.name, sheet=sheet.name, row=number,
                    column=fault[0], value=said[fault[0]], mend=fault[1])
            )  # fmt: skip
        else:
            lines.append((number, _line(said, _back(said["in"]))))
    return lines, wrong


def _unlike(lines: Sequence[tuple[int, Line]], key: Key, book: Book) -> list[str]:
    """Lines that are not as the set was built, and cells of the key without a line."""
    cells = key.cells
    built = dict(zip(zip(cells["tray"], cells["cell"], strict=True), cells["piece"], strict=True))
    wrong = []
    for number, line in lines:
        piece = built.pop((line.tray, line.cell), None)
        column, value = ("cell", str(line.cell)) if piece is None else ("piece", line.piece)
        if piece != line.piece:
            name = "not_in_key" if piece is None else "other_piece"
            mend = say(f"tray_building.custody.{name}", tray=line.tray, piece=piece)
            wrong.append(
                say("tray_building.register.at", file=book.name, sheet=book.sheets[0].name,
                    row=number, column=column, value=value, mend=mend)
            )  # fmt: skip
    named = {line.tray for _, line in lines}
    gone = dict.fromkeys(tray for tray, _ in built if tray not in named)
    wrong += [say("tray_building.custody.lost_tray", file=book.name, tray=tray) for tray in gone]
    return wrong + [
        say("tray_building.custody.lost_cell", file=book.name, tray=tray, cell=cell)
        for tray, cell in built
        if tray in named
    ]


def _fault(said: dict[str, str]) -> tuple[str, str] | None:
    if not said["piece"]:
        return "piece", say("tray_building.custody.no_piece")
    if not said["cell"].isdecimal():
        return "cell", say("tray_building.custody.no_cell")
    if said["out"] != "1":
        return "out", say("tray_building.custody.not_out")
    if plain_words(said["in"]) not in _BACK and not is_missing(said["in"]):
        return "in", say("tray_building.custody.in_or_not")
    return None


def _back(text: str) -> bool | None:
    return _BACK.get(plain_words(text))


def _twice(lines: Iterable[Line], file: str) -> list[str]:
    counts = Counter(line.piece for line in lines)
    return [
        say("tray_building.custody.twice", file=file, piece=piece, n=n)
        for piece, n in counts.items()
        if n > 1
    ]


def _lost(lines: Iterable[Line], file: str) -> list[str]:
    """Cells of the trays that no line names: a line was lost, and with it a piece."""
    named: dict[str, set[int]] = {}
    for line in lines:
        named.setdefault(line.tray, set()).add(line.cell)
    lost = [
        say("tray_building.custody.lost_cell", file=file, tray=tray, cell=cell)
        for tray, cells in sorted(named.items())
        for cell in range(1, CELLS + 1)
        if cell not in cells
    ]
    numbers = {int(n) for tray in named if (n := tray.rpartition("-")[2]).isdecimal()}
    gaps = sorted(set(range(1, max(numbers, default=0))) - numbers)
    return lost + [say("tray_building.custody.lost_tray", file=file, tray=n) for n in gaps]


def _line(row: dict[Any, Any], back: bool | None) -> Line:
    return Line(
        str(row["box"]), str(row["piece"]), str(row["permission"]), str(row["tray"]),
        int(row["cell"]), back,
    )  # fmt: skip


def custody_sentences(custody: Custody) -> list[str]:
    """Out, in and the difference; then what is missing and what nobody counted."""
    out = len(custody.lines)
    back = sum(bool(line.back) for line in custody.lines)
    missing = [line for line in custody.lines if line.back is False]
    uncounted = [line for line in custody.lines if line.back is None]
    if len(uncounted) == out:
        return [say("tray_building.custody.going_out", out=out)]
    key = "closed" if custody.closed else "open"
    said = [say(f"tray_building.custody.{key}", out=out, back=back, difference=out - back)]
    for name, lines in (("missing", missing), ("uncounted", uncounted)):
        if lines:
            places = "; ".join(
                say("tray_building.custody.place", piece=line.piece, box=line.box,
                    tray=line.tray, cell=line.cell)
                for line in lines
            )  # fmt: skip
            said.append(say(f"tray_building.custody.{name}", n=len(lines), places=places))
    if not custody.compared:
        said.append(phrase("tray_building.custody.lines_only"))
    return said
