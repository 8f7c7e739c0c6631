"""``lotscreen tray mark``: answers and key to marks, and a report for each."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lotscreen import __version__
from lotscreen.cli.common import emit, guarded, progress
from lotscreen.cli.exit_codes import ExitCode
from lotscreen.words import say

_LEFT_OUT_SHOWN = 6


def mark_command(
    answers: Annotated[
        list[Path], typer.Argument(metavar="ANSWERS…", help=say("tray_marking.cli.answers"))
    ],
    key: Annotated[
        list[Path], typer.Option("--key", metavar="FILE", help=say("tray_marking.cli.key"))
    ],
    rule: Annotated[
        Path | None, typer.Option("--rule", metavar="FILE", help=say("tray_marking.cli.rule"))
    ] = None,
    set_out: Annotated[
        list[str] | None,
        typer.Option("--set-out", metavar="PIECE", help=say("tray_marking.cli.set_out")),
    ] = None,
    kept_until: Annotated[
        str, typer.Option("--kept-until", metavar="DATE", help=say("tray_marking.cli.kept_until"))
    ] = "",
    appeal_to: Annotated[
        str, typer.Option("--appeal-to", metavar="WHO", help=say("tray_marking.cli.appeal_to"))
    ] = "",
    permission: Annotated[
        str, typer.Option("--permission", metavar="REF", help=say("tray_marking.cli.permission"))
    ] = "",
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FOLDER", help=say("tray_marking.cli.out"))
    ] = None,
    no_reports: Annotated[
        bool, typer.Option("--no-reports", help=say("tray_marking.cli.no_reports"))
    ] = False,
    every_row: Annotated[bool, typer.Option("--all", help=say("tray_marking.cli.all"))] = False,
) -> None:
    """Read, mark, print and write; the help is in the words."""
    with guarded(), progress() as tell:
        # imported here, because the records bring NumPy and pandas with them
        from lotscreen.report.tray.house_words import House
        from lotscreen.report.tray.mark_files import write_mark_files
        from lotscreen.report.tray.mark_text import mark_text
        from lotscreen.tray.answer_key import read_key
        from lotscreen.tray.answers import read_answers
        from lotscreen.tray.marking.marked import mark
        from lotscreen.tray.marking.pass_rule import read_rule

        fixed = None if rule is None else read_rule(rule)
        tell(say("tray_marking.cli.reading"))
        given, keys = read_answers(answers), read_key(key)
        tell(say("tray_marking.cli.marking"))
        marked = mark(given, keys, fixed, set_out or ())
        house = House(kept_until, appeal_to, permission)
        written = None if no_reports else write_mark_files(marked, house, __version__, out, tell)
        emit(mark_text(marked, None if every_row else _LEFT_OUT_SHOWN, written))
    if marked.left_out or marked.doubts:
        raise typer.Exit(ExitCode.DONE_WITH_DOUBTS)
