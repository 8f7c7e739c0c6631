"""The key: what each cell of each tray held. It is what answers are marked by; the
instrument's finding beside it is one more opinion."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from lotscreen.intake.readers import read_book
from lotscreen.intake.vocabulary import is_missing
from lotscreen.records import InputError, SourceFile
from lotscreen.tray.answers import Answers, LeftOutAnswer
from lotscreen.tray.sheets import TrayTable, plain, tables_of, words_of
from lotscreen.words import say

_NEEDED = ("tray", "cell", "piece", "status")
_NUMBERS = ("weight_g", "diameter_mm", "thickness_mm", "difficulty")
_TEXTS = ("type", "kind", "finding", "told_by")
_MOST_SHOWN = 10

KEY_COLUMNS = ("tray", "cell", "piece", "standard", "tellable", *_TEXTS, *_NUMBERS)


@dataclass(frozen=True, slots=True)
class Key:
    """``cells`` has the columns ``KEY_COLUMNS``, one cell of a tray a row: ``standard``
    whether the piece is as the standard, ``tellable`` whether any reading could tell it;
    numbers NaN and texts '' where the key does not say."""

    cells: pd.DataFrame
    sources: tuple[SourceFile, ...]


def read_key(paths: Sequence[Path]) -> Key:
    """Read key files; InputError that lists every row to be mended, each with its place."""
    rows: list[dict[str, object]] = []
    wrong: list[str] = []
    sources = []
    for path in paths:
        book = read_book(path)
        before = len(rows)
        for table in tables_of(book, _NEEDED, ("tray", "session")):
            _read_table(table, rows, wrong)
        names = tuple(sheet.name for sheet in book.sheets)
        sources.append(SourceFile(book.name, book.digest, names, len(rows) - before))
    wrong += _disagreeing(rows)
    if wrong:
        more = len(wrong) - _MOST_SHOWN
        shown = wrong[:_MOST_SHOWN] + ([say("tray_marking.key.more", n=more)] if more > 0 else [])
        raise InputError("\n".join(shown))
    cells = pd.DataFrame(rows, columns=[*KEY_COLUMNS, "place"]).drop(columns="place")
    return Key(cells, tuple(sources))


def _read_table(table: TrayTable, rows: list[dict[str, object]], wrong: list[str]) -> None:
    roles = ("tray", "cell", "piece", "status", "tellable", *_TEXTS, *_NUMBERS)
    for row, texts in enumerate(zip(*(table.texts(role) for role in roles), strict=True)):
        said = dict(zip(roles, texts, strict=True))
        if not (said["cell"] or said["piece"]):
            continue
        faults = _faults(said)
        for role, fault in faults:
            at = table.place(row, role)
            wrong.append(say(f"tray_marking.key.{fault}", at=at, value=said[role]))
        if not faults:
            rows.append(_understood(table, row, said))


def _faults(said: dict[str, str]) -> list[tuple[str, str]]:
    found = []
    if is_missing(said["tray"]):
        found.append(("tray", "no_tray"))
    if not said["cell"].isdecimal():
        found.append(("cell", "no_cell"))
    if is_missing(said["piece"]):
        found.append(("piece", "no_piece"))
    if plain(said["status"]) not in words_of("status"):
        found.append(("status", "no_status"))
    return found


def _understood(table: TrayTable, row: int, said: dict[str, str]) -> dict[str, object]:
    told = plain(said["tellable"])
    found: dict[str, object] = {
        "tray": said["tray"],
        "cell": int(said["cell"]),
        "piece": said["piece"],
        "standard": words_of("status")[plain(said["status"])] == "standard",
        "tellable": words_of("status").get(told, "standard") == "standard",
        "place": table.place(row),
    }
    found.update({name: said[name] for name in _TEXTS})
    found.update({name: _number(said[name]) for name in _NUMBERS})
    return found


def _number(text: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return float("nan")


def _disagreeing(rows: Sequence[dict[str, object]]) -> list[str]:
    """Cells that the key names twice, and pieces it calls both this and that."""
    cells: dict[tuple[object, object], object] = {}
    pieces: dict[object, tuple[object, object]] = {}
    wrong = []
    for row in rows:
        place = row["place"]
        at = cells.setdefault((row["tray"], row["cell"]), place)
        if at != place:
            wrong.append(
                say("tray_marking.key.twice", at=place, other=at, tray=row["tray"],
                    cell=row["cell"])
            )  # fmt: skip
        standard, other = pieces.setdefault(row["piece"], (row["standard"], place))
        if standard != row["standard"]:
            wrong.append(say("tray_marking.key.both", at=place, other=other, piece=row["piece"]))
    return wrong


def matched(answers: Answers, key: Key) -> tuple[pd.DataFrame, tuple[LeftOutAnswer, ...]]:
    """Answers beside what their cell held, and those left out because the key has no such
    tray, cell or piece. InputError where the key has none of the trays."""
    rows, cells = answers.rows, key.cells
    known = set(cells["tray"])
    if not set(rows["tray"]) & known:
        raise InputError(
            say("tray_marking.error.no_key", trays=_few(rows["tray"]), known=_few(cells["tray"]))
        )
    joined = rows.rename(columns={"piece": "said_piece"}).merge(
        cells, on=["tray", "cell"], how="left", sort=False
    )
    lost = joined["piece"].isna()
    said = joined["said_piece"].astype(str)
    other = ~lost & (said != "") & (said != joined["piece"])
    left_out = [
        LeftOutAnswer(str(row.place), _why(row, known, set(cells["piece"])), str(row.answer))
        for row in joined[lost | other].itertuples()
    ]
    kept = joined[~(lost | other)].drop(columns="said_piece").reset_index(drop=True)
    for name in ("standard", "tellable"):
        kept[name] = kept[name].astype(bool)
    return kept, tuple(left_out)


def _why(row: object, trays: set[str], pieces: set[str]) -> str:
    tray, cell = getattr(row, "tray", ""), getattr(row, "cell", "")
    said, piece = getattr(row, "said_piece", ""), getattr(row, "piece", "")
    if tray not in trays:
        return say("tray_marking.left_out.no_such_tray", tray=tray)
    if said and said not in pieces:
        return say("tray_marking.left_out.unknown_piece", piece=said)
    if said and isinstance(piece, str):
        return say("tray_marking.left_out.other_piece", said=said, piece=piece, cell=cell)
    return say("tray_marking.left_out.no_such_cell", tray=tray, cell=cell)


def _few(names: pd.Series) -> str:
    distinct = sorted(set(map(str, names)))
    return ", ".join(distinct[:8]) + (" ..." if len(distinct) > 8 else "")
