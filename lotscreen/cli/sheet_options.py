"""Options that the commands about a screened sheet share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lotscreen.words import say

Sheets = Annotated[list[Path], typer.Argument(metavar="SHEET...", help=say("cli.screen.sheets"))]
Types = Annotated[
    list[str] | None, typer.Option("--type", metavar="[ROWS=]TYPE", help=say("cli.screen.type"))
]
Standards = Annotated[
    list[Path] | None,
    typer.Option("--standards", metavar="FILE", help=say("cli.screen.standards")),
]
SettingsFile = Annotated[
    Path | None, typer.Option("--settings", metavar="FILE", help=say("cli.screen.settings"))
]
Checks = Annotated[
    list[str] | None, typer.Option("--check", metavar="STATED=READ", help=say("cli.screen.check"))
]
FoldsUpTo = Annotated[
    int | None,
    typer.Option("--folds-up-to", metavar="COINS", min=0, help=say("sensitivity.option")),
]
Mapping = Annotated[Path | None, typer.Option("--map", metavar="FILE", help=say("cli.screen.map"))]
Unit = Annotated[str | None, typer.Option("--unit", metavar="UNIT", help=say("intake.read.unit"))]
OneLot = Annotated[
    str | None, typer.Option("--lot", metavar="LOT", help=say("second_tests.cli.lot"))
]
TestSheets = Annotated[
    list[Path] | None, typer.Option("--tests", metavar="FILE", help=say("second_tests.cli.tests"))
]
AsJson = Annotated[bool, typer.Option("--json", help=say("second_tests.cli.json"))]
