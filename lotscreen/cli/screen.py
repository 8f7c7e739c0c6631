"""``lotscreen screen``: a sheet goes in, findings and a report come out."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lotscreen.cli.asking import with_answers
from lotscreen.cli.check_option import parsed_checks
from lotscreen.cli.common import emit, guarded, progress
from lotscreen.cli.exit_codes import ExitCode
from lotscreen.cli.sheet_options import (
    Checks,
    FoldsUpTo,
    Mapping,
    SettingsFile,
    Sheets,
    Standards,
    Types,
    Unit,
)
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.report.outputs import Written

_ROWS = re.compile(r"rows?\s+(?=\d)", re.I)


def screen_command(
    sheets: Sheets,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIR", help=say("cli.screen.out"))
    ] = None,
    types: Types = None,
    standards: Standards = None,
    settings: SettingsFile = None,
    limit: Annotated[
        float | None, typer.Option("--limit", metavar="SHARE", help=say("cli.screen.limit"))
    ] = None,
    folds_up_to: FoldsUpTo = None,
    check: Checks = None,
    mapping: Mapping = None,
    unit: Unit = None,
    lot: Annotated[
        str | None, typer.Option("--lot", metavar="ID", help=say("cli.screen.lot"))
    ] = None,
    seed: Annotated[
        int, typer.Option("--seed", metavar="N", min=0, help=say("cli.screen.seed"))
    ] = 0,
    as_json: Annotated[bool, typer.Option("--json", help=say("cli.screen.json"))] = False,
) -> None:
    """Screen SHEETs and write the outputs; the help text is in the table of words."""
    request = _Request(
        sheets=tuple(sheets),
        out=out,
        types=_types(types or []),
        standards=tuple(standards or []),
        settings=settings,
        changed={"limit": limit, "folds_up_to": folds_up_to},
        checks=parsed_checks(check or []),
        mapping=mapping,
        unit=unit,
        lot=lot,
        seed=seed,
    )
    with guarded():
        written = _run(request)
        emit(written.json_text if as_json else written.summary())
        intake = written.screening.intake
        if len(intake.left_out) or intake.doubts:
            raise typer.Exit(ExitCode.DONE_WITH_DOUBTS)


@dataclass(frozen=True, slots=True)
class _Request:
    """What the command line asks for."""

    sheets: tuple[Path, ...]
    out: Path | None
    types: tuple[str, ...]
    standards: tuple[Path, ...]
    settings: Path | None
    changed: dict[str, float | None]
    checks: tuple[tuple[float, float], ...]
    mapping: Path | None
    unit: str | None
    lot: str | None
    seed: int


def _run(request: _Request) -> Written:
    # imported here, so that --help and a mistyped option answer at once
    from lotscreen.intake import options_from_words
    from lotscreen.report.folder import refuse_folder_in_use
    from lotscreen.report.outputs import FILES, write_outputs
    from lotscreen.screening import screen
    from lotscreen.settings import load_settings
    from lotscreen.standards import load_standards

    if request.out is not None:
        refuse_folder_in_use(request.out, FILES)
    with progress() as tell:
        screen_with = partial(
            screen,
            request.sheets,
            settings=load_settings(request.settings, request.changed),
            standards=load_standards(request.standards),
            check=request.checks,
            seed=request.seed,
            progress=tell,
        )
        screening = with_answers(
            lambda said: screen_with(read_options=said),
            options_from_words(request.types, request.mapping, request.unit),
        )
        return write_outputs(screening, request.out, lot=request.lot, progress=tell)


def _types(texts: Sequence[str]) -> tuple[str, ...]:
    """The types as given, 'rows 2-3=' written '2-3='; one of them at most without rows."""
    whole = [text for text in texts if "=" not in text]
    if len(whole) > 1:
        raise typer.BadParameter(say("cli.two_types", first=whole[0], second=whole[1]))
    return tuple(_ROWS.sub("", text.strip(), count=1) for text in texts)
