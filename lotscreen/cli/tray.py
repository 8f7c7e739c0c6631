"""``lotscreen tray``: practice trays, each of its own commands in a file of its own."""

from __future__ import annotations

import typer

from lotscreen.cli.tray_build import build_command
from lotscreen.cli.tray_custody import custody_command
from lotscreen.cli.tray_mark import mark_command
from lotscreen.cli.tray_mark import mark_command
from lotscreen.cli.tray_run import run_command
from lotscreen.words import say

tray = typer.Typer(
    name="tray", help=say("tray_building.cli.help"), no_args_is_help=True, rich_markup_mode=None
)
tray.command("build", help=say("tray_building.cli.help_build"))(build_command)
tray.command("run", help=say("tray_building.cli.help_run"))(run_command)
tray.command("mark", help=say("tray_marking.cli.help"))(mark_command)
tray.command("custody", help=say("tray_building.cli.help_custody"))(custody_command)
tray.command("mark", help=say("tray_marking.cli.help"))(mark_command)
