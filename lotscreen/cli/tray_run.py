"""``lotscreen tray run``: the pieces of a set one by one, answered on screen."""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lotscreen.cli.common import emit, guarded
from lotscreen.cli.exit_codes import ExitCode
from lotscreen.words import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from lotscreen.tray.session import AnswerFile, Question

_STOP = "q"


def run_command(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help=say("tray_building.cli.run_folder"))
    ],
    trainee: Annotated[
        str, typer.Option("--trainee", metavar="CODE", help=say("tray_building.cli.run_trainee"))
    ],
    tray: Annotated[
        str, typer.Option("--tray", metavar="NAME", help=say("tray_building.cli.run_tray"))
    ] = "",
    answers: Annotated[
        Path | None,
        typer.Option("--answers", metavar="FILE", help=say("tray_building.cli.run_answers")),
    ] = None,
) -> None:
    """Ask piece by piece; the help text is in the table of words."""
    with guarded():
        # imported here, so that --help and a mistyped option answer at once
        from lotscreen.records import SettingsError
        from lotscreen.tray.built import trainee_codes
        from lotscreen.tray.session import AnswerFile, load_questions
        from lotscreen.tray.tables import TOLD

        codes = trainee_codes(trainee)
        if len(codes) != 1:
            raise SettingsError(say("tray_building.codes.not_a_code", value=trainee))
        code = codes[0]
        questions = load_questions(folder / TOLD, code, "")
        file = AnswerFile(answers or folder / f"answers-{code}.csv", questions)
        chosen = load_questions(folder / TOLD, code, tray)
        try:
            _ask_all(chosen, file, code)
        except KeyboardInterrupt:
            _say("")
            _stopped(file, code)
            raise typer.Exit(ExitCode.INTERRUPTED) from None


def _ask_all(questions: Sequence[Question], file: AnswerFile, code: str) -> None:
    """Tray after tray, each from its first cell without an answer."""
    from lotscreen.tray.session import tray_summary

    trays = list(dict.fromkeys(one.tray for one in questions))
    for name in trays:
        own = [one for one in questions if one.tray == name]
        given = file.given(code)
        left = [one for one in own if (one.tray, one.cell) not in given]
        if not left:
            continue
        _say(say("tray_building.session.start", tray=name, trainee=code, left=len(left),
                 cells=len(own)), say("tray_building.session.fair"))  # fmt: skip
        for question in left:
            if not _asked(question, file, code):
                _stopped(file, code)
                return
        _say(*tray_summary(own, file.given(code)), "")
    _say(say("tray_building.session.all_done", trays=", ".join(trays), file=file.path))


def _asked(question: Question, file: AnswerFile, code: str) -> bool:
    """Show one piece, keep the answer, say what the numbers show; False to stop."""
    from lotscreen.tray.session import ANSWERS, Answer, shown, told

    _say("", *shown(question))
    began = time.monotonic()
    letter = _choice("tray_building.session.ask", "tray_building.session.again",
                     (*ANSWERS, _STOP))  # fmt: skip
    seconds = round(time.monotonic() - began, 1)
    if letter in ("", _STOP):
        return False
    sure = _choice("tray_building.session.ask_conf", "tray_building.session.again_conf",
                   ("1", "2", "3", "4", "5", _STOP))  # fmt: skip
    if sure in ("", _STOP):
        return False
    answer = ANSWERS[letter]
    file.add(Answer(code, question.tray, question.cell, answer, int(sure), seconds))
    _say(*told(question, answer))
    return True


def _choice(question: str, again: str, choices: Sequence[str]) -> str:
    """One of ``choices``, asked until it comes; '' at the end of the input."""
    while True:
        emit(say(question))
        line = sys.stdin.readline()
        if not (line.endswith("\n") and sys.stdin.isatty()):
            emit("\n")  # no key moved the cursor down
        if not line:
            return ""
        answer = line.strip().lower()[:1]
        if answer in choices and answer:
            return answer
        _say(say(again))


def _stopped(file: AnswerFile, code: str) -> None:
    n = len(file.given(code))
    _say(say("tray_building.session.stopped", n=n, file=file.path))


def _say(*sentences: str) -> None:
    from lotscreen.report.screen_lines import wrap

    lines = [line for sentence in sentences for line in (wrap(sentence) or [""])]
    emit("\n".join(lines) + "\n")
