"""``lotscreen types``: lists, searches and shows the dated standards on file."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lotscreen.cli.common import emit, guarded
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.standards import CoinType, StandardsTable

_PAGE = 80
_INDENT = 24


def types(
    text: Annotated[
        str | None, typer.Argument(metavar="TEXT", help=say("standards.types.text"))
    ] = None,
    show: Annotated[
        str | None, typer.Option("--show", metavar="KEY", help=say("standards.types.show"))
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help=say("standards.types.json"))] = False,
    standards: Annotated[
        list[Path] | None,
        typer.Option("--standards", metavar="FILE", help=say("standards.types.standards")),
    ] = None,
) -> None:
    """List the coin types on file, search them, or show one with all figures and sources."""
    with guarded():
        # imported here, because the records bring NumPy and pandas with them
        from lotscreen.standards import load_standards

        table = load_standards(standards or ())
        if show is not None:
            chosen = [table.get(show)]
        else:
            chosen = list(table.types) if text is None else table.search(text)
        if as_json:
            emit(_json(table, chosen) + "\n")
        elif show is not None:
            emit("\n".join(_page(chosen[0])) + "\n")
        else:
            emit("\n".join(_listed(table, chosen, text)) + "\n")


def _json(table: StandardsTable, chosen: Sequence[CoinType]) -> str:
    import json

    keys = {coin.key for coin in chosen}
    saved = table.to_dict()
    saved["types"] = [entry for entry in saved["types"] if entry["key"] in keys]
    return json.dumps({"schema": "1.0", **saved}, indent=1, ensure_ascii=False)


def _listed(table: StandardsTable, chosen: Sequence[CoinType], text: str | None) -> Iterator[str]:
    from lotscreen.standards.describe import fineness

    if text is not None:
        yield from _understood(table, text)
        yield ""
    if not chosen:
        yield from _wrap(say("standards.types.none", text=text))
        return
    yield say("standards.types.columns")
    for coin in chosen:
        across = "" if coin.diameter_mm is None else f"{coin.diameter_mm:.2f}"
        struck = f"{coin.first_year}-{'' if coin.last_year is None else coin.last_year}"
        metal = f"{coin.metal} {fineness(coin)}".strip()
        yield f"{coin.key:<26} {struck:<9} {coin.weight_g:>9.3f} {across:>9}  {metal}".rstrip()
    yield from _wrap(say("standards.types.count", n=len(chosen), all=len(table.types)), _PAGE)


def _understood(table: StandardsTable, text: str) -> list[str]:
    """What a sheet with this text in its type column would mean."""
    found = table.resolve(text, None)
    means = "means" if found.key else "means_none"
    lines = _wrap(say(f"standards.types.{means}", text=text, type_key=found.key))
    if found.note:
        lines += _wrap(say("standards.types.note", note=found.note))
    return lines


def _page(coin: CoinType) -> Iterator[str]:
    from lotscreen.standards.describe import describe

    yield coin.key
    yield from _wrap(coin.name)
    yield ""
    for figure in describe(coin):
        yield from _block(f"  {figure.label}", figure.value)
        if figure.source:
            yield from _block("", say("standards.types.source", source=figure.source))


def _wrap(text: str, width: int = _PAGE) -> list[str]:
    return textwrap.wrap(text, width, break_on_hyphens=False)


def _block(label: str, text: str) -> list[str]:
    lines = _wrap(text, _PAGE - _INDENT)
    return [f"{label if n == 0 else '':<{_INDENT}}{line}" for n, line in enumerate(lines)]
