"""Practice on screen: the questions of a set, what is said after each, answers kept.

Answers go to a file as they are given, each with the file as a whole put in its place, so
that practice can stop at any moment and go on from there. Nothing written is altered.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from lotscreen.records import InputError, OutputError
from lotscreen.tray.built import ANYBODY
from lotscreen.tray.history import replace_file
from lotscreen.tray.tables import TOLD_COLUMNS
from lotscreen.words import phrase, say

ANSWERS = {"a": "accept", "s": "set aside", "r": "refuse"}
ANSWER_COLUMNS = ("trainee", "tray", "cell", "answer", "conf", "sec")
_NUMBERS = (
    "weight_g", "diameter_mm", "thickness_mm", "expected_low_g", "expected_high_g",
    "standard_g", "standard_mm", "mates_mm",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Question:
    """One cell of a tray: what is shown before the answer, what is said after it. Numbers
    by their column, NaN where missing."""

    tray: str
    cell: int
    texts: dict[str, str]
    numbers: dict[str, float]

    @property
    def honest(self) -> bool:
        """What the key says."""
        return self.texts["status"] == phrase("tray_building.status.honest")

    @property
    def scored(self) -> bool:
        """Whether any reading tells the piece."""
        return self.texts["tellable"] == "yes"


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer as it is kept."""

    trainee: str
    tray: str
    cell: int
    answer: str
    conf: int
    seconds: float


def load_questions(path: Path, trainee: str, tray: str) -> tuple[Question, ...]:
    """The questions in the file ``path`` for ``trainee`` (of one tray, '' all of them).

    InputError where the file is not what a build wrote, the trainee is not one of the set,
    or the tray is not in it.
    """
    rows = _rows(path, TOLD_COLUMNS, "tray_building.session.header")
    questions = tuple(_question(path, n, row) for n, row in enumerate(rows, 2))
    named = {code for one in questions for code in one.texts["trainees"].split(",")}
    if trainee not in named and ANYBODY not in named:
        known = ", ".join(sorted(named))
        raise InputError(say("tray_building.session.not_named", trainee=trainee, known=known))
    trays = list(dict.fromkeys(one.tray for one in questions))
    if tray and tray not in trays:
        known = ", ".join(trays)
        raise InputError(say("tray_building.session.no_tray", tray=tray, known=known))
    return tuple(one for one in questions if tray in ("", one.tray))


def _rows(path: Path, columns: Sequence[str], header: str) -> list[dict[str, str]]:
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(
            say("tray_building.session.unreadable", file=path, why=error, name=path.name)
        ) from error
    rows = list(csv.reader(io.StringIO(text)))
    if not rows or tuple(rows[0]) != tuple(columns):
        found = ",".join(rows[0]) if rows else ""
        raise InputError(say(header, file=path.name, found=found, columns=",".join(columns)))
    return [dict(zip(columns, row, strict=False)) for row in rows[1:] if row]


def _question(path: Path, number: int, row: dict[str, str]) -> Question:
    column = "cell"
    try:
        cell = int(row["cell"])
        numbers = {}
        for column in _NUMBERS:
            numbers[column] = float(row[column]) if row[column] else math.nan
    except (KeyError, ValueError) as error:
        raise InputError(
            say("tray_building.session.line", file=path.name, row=number, column=column,
                value=row.get(column, ""))
        ) from error  # fmt: skip
    return Question(row["tray"], cell, row, numbers)


class AnswerFile:
    """The answers of one trainee in one file; only ever added to."""

    def __init__(self, path: Path, questions: Sequence[Question]) -> None:
        """Read what is there; InputError where it is something else."""
        self.path = path
        self._text = ""
        self.answers: list[Answer] = []
        if path.exists():
            rows = _rows(path, ANSWER_COLUMNS, "tray_building.session.answers_header")
            self._text = path.read_text(encoding="utf-8")
            known = {(one.tray, one.cell) for one in questions}
            self.answers = [self._kept(n, row, known) for n, row in enumerate(rows, 2)]

    def _kept(self, number: int, row: dict[str, str], known: set[tuple[str, int]]) -> Answer:
        try:
            kept = Answer(row["trainee"], row["tray"], int(row["cell"]), row["answer"],
                          int(row["conf"]), float(row["sec"]))  # fmt: skip
        except (KeyError, ValueError):
            kept = None
        if kept is None or (kept.tray, kept.cell) not in known:
            raise InputError(
                say("tray_building.session.answers_line", file=self.path.name, row=number,
                    value=",".join(row.values()))
            )  # fmt: skip
        return kept

    def given(self, trainee: str) -> dict[tuple[str, int], Answer]:
        """The trainee's answers by tray and cell."""
        return {(one.tray, one.cell): one for one in self.answers if one.trainee == trainee}

    def add(self, answer: Answer) -> None:
        """Keep one more; OutputError where somebody else has written to the file."""
        there = self.path.read_text(encoding="utf-8") if self.path.exists() else ""
        if there != self._text:
            raise OutputError(say("tray_building.session.answers_changed", file=self.path.name))
        text = self._text or ",".join(ANSWER_COLUMNS) + "\n"
        if not text.endswith("\n"):
            text += "\n"
        text += (
            f"{answer.trainee},{answer.tray},{answer.cell},{answer.answer},{answer.conf},"
            f"{answer.seconds:.1f}\n"
        )
        replace_file(self.path, text)
        self._text = text
        self.answers.append(answer)


def shown(question: Question) -> list[str]:
    """What the trainee is told before the answer."""
    numbers, texts = question.numbers, question.texts
    readings = ", ".join(
        say(f"tray_building.session.{name}", value=numbers[column])
        for name, column in (
            ("weight", "weight_g"), ("diameter", "diameter_mm"), ("thickness", "thickness_mm"),
        )
        if not math.isnan(numbers[column])
    )  # fmt: skip
    lines = [
        say("tray_building.session.place", tray=question.tray, cell=question.cell),
        say("tray_building.session.piece", type=texts["type"], date=texts["date"],
            readings=readings),
    ]  # fmt: skip
    standard = ", ".join(
        say(f"tray_building.session.{name}", value=numbers[column])
        for name, column in (("weight", "standard_g"), ("diameter", "standard_mm"))
        if not math.isnan(numbers[column])
    )
    if math.isnan(numbers["mates_mm"]):
        lines.append(say("tray_building.session.as_new_only", standard=standard))
    else:
        lines.append(
            say("tray_building.session.as_new", standard=standard, mates=numbers["mates_mm"])
        )
    return lines


def told(question: Question, answer: str) -> list[str]:
    """What is said after the answer: the key, what the numbers show, what would have told."""
    texts, numbers = question.texts, question.numbers
    if texts["feedback"] != "yes":
        return [phrase("tray_building.session.noted")]
    key = "unscored"
    if question.scored:
        key = "right" if (answer == ANSWERS["a"]) == question.honest else "wrong"
    facts = {"status": texts["status"], "kind": texts["kind"]}
    lines = [
        say(f"tray_building.session.{key}", **facts),
        say("tray_building.session.shows", reason=texts["reason"].rstrip(".")),
    ]
    if texts["explanations"]:
        lines.append(say("tray_building.session.explained", what=texts["explanations"]))
    if not math.isnan(numbers["expected_low_g"]):
        lines.append(
            say("tray_building.session.expected", low=numbers["expected_low_g"],
                high=numbers["expected_high_g"])
        )  # fmt: skip
    if question.scored:
        lines.append(say("tray_building.session.told", told=texts["told_by"]))
    return lines


def tray_summary(questions: Sequence[Question], given: dict[tuple[str, int], Answer]) -> list[str]:
    """Counts of one answered tray, where its answers are told at once."""
    tray = questions[0].tray
    if questions[0].texts["feedback"] != "yes":
        return []
    scored = [one for one in questions if one.scored]
    refused = [one for one in scored if given[one.tray, one.cell].answer != ANSWERS["a"]]
    other, honest = (sum(one.honest == is_honest for one in scored) for is_honest in (False, True))
    facts = {
        "tray": tray, "other": other, "honest": honest,
        "hits": sum(not one.honest for one in refused),
        "alarms": sum(one.honest for one in refused),
    }  # fmt: skip
    key = "tray_done" if other else "none_there"
    return [say(f"tray_building.session.{key}", **facts), phrase("tray_building.session.practice")]
