"""Options that several commands share: a check weight as text."""

from __future__ import annotations

import re
from collections.abc import Sequence

import typer

from lotscreen.words import say

_CHECK = re.compile(r"\s*(\d+(?:\.\d+)?)\s*=\s*(\d+(?:\.\d+)?)\s*(?:g\s*)?", re.A)


def parsed_checks(texts: Sequence[str]) -> tuple[tuple[float, float], ...]:
    """Nominal and reading, g, of each text like "20.00=19.98"; BadParameter where one is not."""
    pairs = []
    for text in texts:
        match = _CHECK.fullmatch(text)
        if match is None or 0 in (float(match[1]), float(match[2])):
            raise typer.BadParameter(say("cli.bad_check", text=text))
        pairs.append((float(match[1]), float(match[2])))
    return tuple(pairs)
