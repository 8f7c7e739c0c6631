"""Options that the commands about the ledger share."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Annotated

import typer

from lotscreen.cli.clock import now
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.ledger.store import Ledger

VARIABLE = "LOTSCREEN_LEDGER"
BUILT_IN = "lotscreen.ledger"

LedgerOption = Annotated[
    str, typer.Option("--ledger", metavar="WHERE", help=say("ledger.cli.ledger"))
]
LotOption = Annotated[str, typer.Option("--lot", metavar="NAME", help=say("ledger.cli.lot"))]
ByOption = Annotated[str, typer.Option("--by", metavar="CODE", help=say("ledger.cli.by"))]
AtOption = Annotated[str, typer.Option("--at", metavar="TIME", help=say("ledger.cli.at"))]


def opened(where: str, *, create: bool = False) -> Ledger:
    """The ledger named by the option, the environment, or built in."""
    # imported here, because the store brings SQLAlchemy with it
    from lotscreen.ledger.store import open_ledger

    return open_ledger(where or os.environ.get(VARIABLE) or BUILT_IN, create=create)


def moment(at: str) -> str:
    """``at`` as given, or the time now."""
    return at.strip() or now()


def refuse_unopened(book: Ledger, lot: str) -> None:
    """InputError, naming the lots there are, where ``lot`` is not in the ledger."""
    if lot not in book.lots():
        raise book.not_opened(lot)
