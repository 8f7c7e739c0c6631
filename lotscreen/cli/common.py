"""What every command does alike: errors to exit codes, results to stdout, progress to stderr."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import typer

from lotscreen.cli.exit_codes import ExitCode
from lotscreen.report.screen_lines import clean
from lotscreen.words import say

DEBUG_VARIABLE = "LOTSCREEN_DEBUG"
_PROGRESS_WIDTH = 79


@contextmanager
def guarded() -> Iterator[None]:
    """Turn what goes wrong inside into a message on stderr and the exit code that fits.

    A fault of ours shows its traceback only where LOTSCREEN_DEBUG is set. The parser's own
    exceptions and a closed pipe are left to the parser.
    """
    try:
        yield
    except (typer.Exit, typer.Abort, typer.BadParameter, BrokenPipeError):
        raise
    except KeyboardInterrupt:
        _complain(say("cli.interrupted"))
        raise typer.Exit(ExitCode.INTERRUPTED) from None
    except Exception as error:
        # imported here, because the records bring NumPy and pandas with them
        from lotscreen.records import LotscreenError

        known = isinstance(error, LotscreenError)
        if os.environ.get(DEBUG_VARIABLE) and not known:
            raise
        kind = type(error).__name__
        _complain(str(error) if known else say("cli.our_fault", kind=kind, message=error))
        code = error.exit_code if isinstance(error, LotscreenError) else ExitCode.OUR_FAULT
        raise typer.Exit(code) from None


def _complain(message: str) -> None:
    """Print ``message``, which may quote a cell, so that it steers no terminal."""
    print("\n".join(clean(line) for line in message.split("\n")), file=sys.stderr)


def emit(text: str) -> None:
    """Print ``text`` to stdout at once; OutputError where stdout takes no more.

    On a terminal, signs of a cell that would steer it are replaced.
    """
    encoding = sys.stdout.encoding or "utf-8"
    if sys.stdout.isatty():
        text = "\n".join(clean(line) for line in text.split("\n"))
    try:
        sys.stdout.write(text.encode(encoding, "replace").decode(encoding))
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        from lotscreen.records import OutputError

        where = say("cli.stdout")
        raise OutputError(say("cli.cannot_write", path=where, reason=error.strerror)) from error


@contextmanager
def progress() -> Iterator[Callable[[str], None]]:
    """A function that tells on stderr what is being done.

    On a terminal one line is written over and wiped at the end; elsewhere each step is a
    line of its own. No colour is used.
    """
    over_one_line = sys.stderr.isatty() and os.environ.get("TERM", "dumb") != "dumb"

    def tell(step: str) -> None:
        end = "" if over_one_line else "\n"
        before = "\r\x1b[K" if over_one_line else ""
        print(before + step[:_PROGRESS_WIDTH], end=end, file=sys.stderr, flush=True)

    try:
        yield tell
    finally:
        if over_one_line:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)
