"""``lotscreen tray``: practice trays, each of its own commands in a file of its own."""

from __future__ import annotations

import typer

from lotscreen.cli.tray_build import build_command
from lotscreen.cli.tray_custody import custody_command
from lotscreen.cli.tray_mark import mark_command
from lotscreen.cli.tray_run import run_command
from lotscreen.words import say

tray = typer.Typer(
    name="tray", help=say("tray_building.cli.help"), no_args_is_help=True, rich_markup_mode=None
)
for name, long, command in (
    ("build", say("tray_building.cli.help_build"), build_command),
    ("run", say("tray_building.cli.help_run"), run_command),
    ("mark", say("tray_marking.cli.help"), mark_command),
    ("custody", say("tray_building.cli.help_custody"), custody_command),
):
    tray.command(name, help=long, short_help=say(f"tray_building.cli.short_{name}"))(command)
