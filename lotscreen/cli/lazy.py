"""A command with commands below it that is loaded when one of them is asked for, so that
``lotscreen --help`` need not build them all."""

from __future__ import annotations

from functools import cache
from importlib import import_module
from typing import Any

import typer
from typer.core import TyperGroup
from typer.main import get_group


def lazy(module: str, name: str) -> typer.Typer:
    """A group that stands for the ``typer.Typer`` called ``name`` in ``module``."""

    @cache
    def real() -> TyperGroup:
        app: typer.Typer = getattr(import_module(module), name)
        return get_group(app)

    class Lazy(TyperGroup):
        """Asks the real group what it holds."""

        def list_commands(self, ctx: Any) -> list[str]:
            return real().list_commands(ctx)

        def get_command(self, ctx: Any, cmd_name: str) -> Any:
            return real().get_command(ctx, cmd_name)

    group = typer.Typer(cls=Lazy, no_args_is_help=True, rich_markup_mode=None)
    group.callback()(_nothing)
    return group


def _nothing() -> None:
    """A group needs a function, or the parser takes it for a command."""
