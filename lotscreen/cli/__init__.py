"""The command ``lotscreen``: one file a command. Nothing heavy is imported until one runs."""

from __future__ import annotations

from typing import Annotated

import typer

from lotscreen import __version__
from lotscreen.cli.bag import bag_command
from lotscreen.cli.common import emit, guarded
from lotscreen.cli.issue import issue_command
from lotscreen.cli.lazy import lazy
from lotscreen.cli.next import next_command
from lotscreen.cli.offer import offer_command
from lotscreen.cli.plan import plan_command
from lotscreen.cli.read import read
from lotscreen.cli.screen import screen_command
from lotscreen.cli.second import second_command
from lotscreen.cli.stop import stop_command
from lotscreen.cli.types import types
from lotscreen.cli.verify import verify_command
from lotscreen.words import say

__all__ = ["app", "main"]

app = typer.Typer(
    name="lotscreen",
    help=say("cli.app.help"),
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
app.command("screen", help=say("cli.screen.help"))(screen_command)
app.command("read", help=say("cli.read.help"))(read)
app.command("plan", help=say("plan.cli.help"))(plan_command)
app.command("stop", help=say("plan.stop_cli.help"))(stop_command)
app.command("bag", help=say("bag.cli.help"))(bag_command)
app.command("second", help=say("second_tests.cli.help"))(second_command)
app.command("offer", help=say("money.cli.help"))(offer_command)
app.command("next", help=say("money.cli.next_help"))(next_command)
app.command("types", help=say("cli.types.help"))(types)
app.add_typer(
    lazy("lotscreen.cli.record", "record_app"), name="record", help=say("ledger.record.help")
)
app.command("issue", help=say("issuing.cli.help"))(issue_command)
app.command("verify", help=say("ledger.verify.help"))(verify_command)
app.add_typer(lazy("lotscreen.cli.tray", "tray"), name="tray", help=say("tray_building.cli.help"))
app.add_typer(
    lazy("lotscreen.cli.ledger", "ledger_app"), name="ledger", help=say("ledger.ledger.help")
)


def _print_version(asked: bool) -> None:
    if asked:
        with guarded():
            emit(say("cli.version", version=__version__) + "\n")
        raise typer.Exit


@app.callback()
def _all_commands(
    version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_print_version, is_eager=True, help=say("cli.app.version")
        ),
    ] = False,
) -> None:
    """Options that belong to no single command."""


def main() -> None:
    """The entry of the command ``lotscreen``."""
    app()
