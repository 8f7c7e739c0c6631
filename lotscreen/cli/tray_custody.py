"""``lotscreen tray custody``: the count that closes a session, out, in and difference."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lotscreen.cli.common import emit, guarded
from lotscreen.cli.exit_codes import ExitCode
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.tray.custody import Custody


def custody_command(
    sheet: Annotated[
        Path, typer.Argument(metavar="CUSTODY", help=say("tray_building.cli.custody"))
    ],
    folder: Annotated[
        Path | None,
        typer.Option("--set", metavar="FOLDER", help=say("tray_building.cli.custody_set")),
    ] = None,
    pdf: Annotated[
        Path | None,
        typer.Option("--pdf", metavar="FILE", help=say("tray_building.cli.custody_pdf")),
    ] = None,
) -> None:
    """Read the filled list and say whether everything is back."""
    with guarded():
        # imported here, so that --help and a mistyped option answer at once
        from lotscreen.report.screen_lines import wrap
        from lotscreen.tray.custody import custody_sentences, read_custody

        custody = read_custody(sheet, folder)
        if pdf is not None:
            _write(pdf, custody)
        said = [line for text in custody_sentences(custody) for line in wrap(text)]
        emit("\n".join(said) + "\n")
        if not custody.closed:
            raise typer.Exit(ExitCode.DONE_WITH_DOUBTS)


def _write(pdf: Path, custody: Custody) -> None:
    from lotscreen.records import OutputError
    from lotscreen.report.folder import write_file
    from lotscreen.report.tray.set_files import custody_bytes

    if pdf.exists():
        raise OutputError(say("tray_building.custody.exists", file=pdf.name))
    write_file(pdf, custody_bytes(custody))
