"""Answer sheets: every row is an answer that is used, or left out with its reason."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from lotscreen.intake.readers import read_book
from lotscreen.intake.vocabulary import is_missing
from lotscreen.records import InputError, SourceFile
from lotscreen.tray.sheets import TrayTable, plain, tables_of, words_of
from lotscreen.words import say

_NEEDED = ("trainee", "tray", "cell", "answer")
_ABOVE = ("trainee", "tray", "session")
_SHARED_FROM = 5
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_CELL = re.compile(r"\d+(?:[.,]0+)?")  # a workbook may give 2 as 2.0
_MINUTES = re.compile(r"(\d+)[:'](\d\d)")

ANSWER_COLUMNS = (
    "trainee", "session", "tray", "cell", "piece", "answer", "conf", "seconds", "place",
    "row",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class LeftOutAnswer:
    """A row that is not marked: its place in words, why, and what stood there."""

    place: str
    reason: str
    raw: str


@dataclass(frozen=True, slots=True)
class Answers:
    """``rows`` has the columns ``ANSWER_COLUMNS``, one answer a row: ``answer`` A, S or R,
    ``conf`` 1 to 5 and ``seconds`` NaN where not given, ``piece`` '' where the sheet does
    not say. ``doubts`` are cells not understood in rows that are used all the same."""

    rows: pd.DataFrame
    left_out: tuple[LeftOutAnswer, ...]
    doubts: tuple[str, ...]
    sources: tuple[SourceFile, ...]
    rows_read: int


def read_answers(paths: Sequence[Path]) -> Answers:
    """Read the answer sheets at ``paths``; InputError where no table is understood."""
    rows: list[dict[str, object]] = []
    left_out: list[LeftOutAnswer] = []
    doubts: list[str] = []
    sources = []
    read = 0
    for path in paths:
        book = read_book(path)
        before = read
        for table in tables_of(book, _NEEDED, _ABOVE):
            read += _read_table(table, rows, left_out, doubts)
        names = tuple(sheet.name for sheet in book.sheets)
        sources.append(SourceFile(book.name, book.digest, names, read - before))
    frame = pd.DataFrame(rows, columns=list(ANSWER_COLUMNS))
    kept, repeated = without_repeats(frame)
    if kept.empty:
        raise InputError(say("tray_marking.error.no_answers", files=_names(sources)))
    return Answers(kept, (*left_out, *repeated), tuple(doubts), tuple(sources), read)


def _names(sources: Sequence[SourceFile]) -> str:
    return ", ".join(source.name for source in sources)


def _read_table(
    table: TrayTable,
    rows: list[dict[str, object]],
    left_out: list[LeftOutAnswer],
    doubts: list[str],
) -> int:
    """Add the rows of one table; the number of rows that held anything."""
    roles = ("trainee", "session", "tray", "cell", "piece", "answer", "conf", "sec")
    cells = zip(*(table.texts(role) for role in roles), strict=True)
    count = 0
    for row, texts in enumerate(cells):
        said = dict(zip(roles, texts, strict=True))
        raw = " | ".join(text for text in texts if text)
        if not any(said[role] for role in ("cell", "answer", "conf", "sec")):
            continue
        count += 1
        reason = _unusable(said)
        if reason:
            left_out.append(LeftOutAnswer(table.place(row), reason, raw))
            continue
        rows.append(_understood(table, row, said, doubts))
    return count


def _unusable(said: dict[str, str]) -> str:
    """Why a row cannot be used, '' where it can."""
    for role in ("trainee", "tray", "cell"):
        if is_missing(said[role]):
            return say(f"tray_marking.left_out.no_{role}")
    if not _CELL.fullmatch(said["cell"]):
        return say("tray_marking.left_out.cell_no_number", value=said["cell"])
    if is_missing(said["answer"]):
        return say("tray_marking.left_out.no_answer")
    if plain(said["answer"]) not in words_of("answers"):
        return say("tray_marking.left_out.answer_unknown", value=said["answer"])
    return ""


def _understood(
    table: TrayTable, row: int, said: dict[str, str], doubts: list[str]
) -> dict[str, object]:
    conf, seconds = _confidence(said["conf"]), _seconds(said["sec"])
    for role, value in (("conf", conf), ("sec", seconds)):
        if value is None and not is_missing(said[role]):
            at = table.place(row, role)
            doubts.append(say(f"tray_marking.doubt.{role}", at=at, value=said[role]))
    return {
        "trainee": " ".join(said["trainee"].upper().split()),
        "session": said["session"],
        "tray": said["tray"],
        "cell": int(float(said["cell"].replace(",", "."))),
        "piece": "" if is_missing(said["piece"]) else said["piece"],
        "answer": words_of("answers")[plain(said["answer"])],
        "conf": float("nan") if conf is None else conf,
        "seconds": float("nan") if seconds is None else seconds,
        "place": table.place(row),
        "row": table.first_row + row,
    }


def _confidence(text: str) -> float | None:
    """A whole number from 1 to 5 ('4', '4/5', '4 of 5'), else None."""
    found = re.fullmatch(r"([1-5])(?:[.,]0+)?(?:\s*(?:/|of|von|sur|de)\s*5)?", text.strip())
    return float(found[1]) if found else None


def _seconds(text: str) -> float | None:
    """Seconds from '17', '17,5', '17 s' or '1:05'; None for anything else or nothing."""
    minutes = _MINUTES.fullmatch(text)
    if minutes:
        return 60.0 * int(minutes[1]) + int(minutes[2])
    number = _NUMBER.match(text)
    rest = text[number.end() :].strip() if number else text
    if number is None or rest not in ("", "s", "s.", "sec", "sec.", "seconds", "sek", "Sek"):
        return None
    value = float(number[0].replace(",", "."))
    return value if value > 0 else None


def without_repeats(frame: pd.DataFrame) -> tuple[pd.DataFrame, list[LeftOutAnswer]]:
    """The answers that stand once; of a cell answered twice alike the first. Where two
    answers differ none is used, for nobody can say which was meant."""
    cell = ["trainee", "session", "tray", "cell"]
    again = frame.duplicated(cell, keep=False)
    if not again.any():
        return frame, []
    left_out: list[LeftOutAnswer] = []
    dropped: list[int] = []
    twice = frame[again]
    shared = _shared_codes(twice)
    for (trainee, session, tray, number), group in twice.groupby(cell, sort=False):
        alike = group.drop_duplicates(["answer", "conf", "seconds"]).shape[0] == 1
        drop = group.index[1:] if alike else group.index
        places = ", ".join(map(str, sorted(group["row"])))
        key = "same_twice" if alike else "twice"
        if (trainee, session, tray) in shared and not alike:
            key = "shared_code"
        reason = say(
            f"tray_marking.left_out.{key}", trainee=trainee, tray=tray, cell=number, places=places
        )
        dropped += list(drop)
        left_out += [
            LeftOutAnswer(str(frame.loc[i, "place"]), reason, _raw(frame.loc[i])) for i in drop
        ]
    return frame.drop(index=dropped).reset_index(drop=True), left_out


def _shared_codes(twice: pd.DataFrame) -> set[tuple[str, str, str]]:
    """Trainee, session and tray of which so many cells have two different answers that two
    people must have written under one code."""
    differing = twice.drop_duplicates(
        ["trainee", "session", "tray", "cell", "answer", "conf", "seconds"]
    )
    cells = differing[differing.duplicated(["trainee", "session", "tray", "cell"])]
    counts = cells.groupby(["trainee", "session", "tray"]).size()
    many = counts[counts >= _SHARED_FROM].index
    return {(str(who), str(when), str(tray)) for who, when, tray in many.to_list()}


def _raw(row: pd.Series) -> str:
    parts = (row["trainee"], row["tray"], row["cell"], row["answer"], row["conf"], row["seconds"])
    return " | ".join(f"{part:g}" if isinstance(part, float) else str(part) for part in parts)
