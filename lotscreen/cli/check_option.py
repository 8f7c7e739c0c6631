"""Options about sheets that several commands share, and a check weight as text."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from lotscreen.words import say

TypesOption = Annotated[
    list[str] | None,
    typer.Option("--type", metavar="[ROWS=]TYPE", help=say("cli.screen.type")),
]
StandardsOption = Annotated[
    list[Path] | None,
    typer.Option("--standards", metavar="FILE", help=say("cli.screen.standards")),
]
SettingsOption = Annotated[
    Path | None, typer.Option("--settings", metavar="FILE", help=say("cli.screen.settings"))
]
ChecksOption = Annotated[
    list[str] | None,
    typer.Option("--check", metavar="STATED=READ", help=say("cli.screen.check")),
]
MapOption = Annotated[
    Path | None, typer.Option("--map", metavar="FILE", help=say("cli.screen.map"))
]
UnitOption = Annotated[
    str | None, typer.Option("--unit", metavar="UNIT", help=say("intake.read.unit"))
]

_CHECK = re.compile(r"\s*(\d+(?:\.\d+)?)\s*=\s*(\d+(?:\.\d+)?)\s*(?:g\s*)?", re.A)


def parsed_checks(texts: Sequence[str]) -> tuple[tuple[float, float], ...]:
    """Nominal and reading, g, of each text like "20.00=19.98"; BadParameter where one is not."""
    pairs = []
    for text in texts:
        match = _CHECK.fullmatch(text)
        if match is None or float(match[1]) == 0:
            raise typer.BadParameter(say("cli.bad_check", text=text))
        pairs.append((float(match[1]), float(match[2])))
    return tuple(pairs)
