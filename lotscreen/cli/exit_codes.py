"""What the command's exit codes mean. 1 and 2 belong to the command parser; what is found
among the coins changes none of them."""

from __future__ import annotations

from enum import IntEnum


class ExitCode(IntEnum):
    """Exit codes of every command; those of errors are also on the errors themselves."""

    DONE = 0
    DONE_WITH_DOUBTS = 3
    """Done, but rows were left out or entries are in doubt."""
    INPUT = 4
    """A sheet was not understood."""
    STANDARDS_OR_SETTINGS = 5
    OUTPUT = 6
    """An output cannot be written."""
    VERIFY_DIFFERS = 7
    """``verify`` found a difference."""
    OUR_FAULT = 70
    INTERRUPTED = 130
