"""A question that only a person can answer, asked where a person sits at a terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

from lotscreen.report.screen_lines import clean
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.intake import ReadOptions

T = TypeVar("T")
_ANSWERS = {"g": "g", "gram": "g", "grams": "g", "grain": "grain", "grains": "grain"}
_TRIES = 3


def with_answers(run: Callable[[ReadOptions], T], options: ReadOptions) -> T:
    """``run(options)``; where the sheet leaves open whether "gr" is gram or grain, once more
    with the answer. Away from a terminal, or without one, the error stands."""
    from lotscreen.intake import UnitUnknownError

    try:
        return run(options)
    except UnitUnknownError as question:
        unit = _asked(say("intake.ask.gram_or_grain", **question.place)) if _at_terminal() else ""
        if not unit:
            raise
        print(say("intake.ask.next_time", unit=unit), file=sys.stderr)
    return run(replace(options, weight_unit=unit))


def _at_terminal() -> bool:
    return sys.stdin.isatty() and sys.stderr.isatty()


def _asked(question: str) -> str:
    """The answer, '' where none of three was one."""
    for _ in range(_TRIES):
        print(clean(question), end=" ", file=sys.stderr, flush=True)
        line = sys.stdin.readline()
        if not line:
            break
        if line.strip().lower() in _ANSWERS:
            return _ANSWERS[line.strip().lower()]
    return ""
