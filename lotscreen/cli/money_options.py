"""Options that the commands about money share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lotscreen.words import say

Currency = Annotated[
    str, typer.Option("--currency", metavar="CODE", help=say("money.cli.currency"))
]
SpotAt = Annotated[str, typer.Option("--at", metavar="TIME", help=say("money.cli.at"))]
TermsFile = Annotated[
    Path | None, typer.Option("--terms", metavar="FILE", help=say("money.cli.terms"))
]
AtHand = Annotated[
    list[str] | None, typer.Option("--have", metavar="TEST", help=say("money.cli.have"))
]
