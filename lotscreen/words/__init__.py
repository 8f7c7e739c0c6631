"""All words that any output prints, in TOML files beside this one.

``say("findings.lighter", percent=3.1)`` looks up table ``findings`` (one file a table)
and fills the braces. A test reads every phrase and refuses the barred words.
"""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def table(name: str) -> dict[str, Any]:
    """The phrases of ``<name>.toml``; KeyError where there is no such file."""
    path = files(__package__) / f"{name}.toml"
    if not path.is_file():
        raise KeyError(f"no table of words called {name!r}")
    return tomllib.loads(path.read_text(encoding="utf-8"))


@cache
def phrase(key: str) -> str:
    """The phrase at a dotted key, first part the table; KeyError names a missing key."""
    name, *path = key.split(".")
    found: Any = table(name)
    for part in path:
        found = found[part]
    if not isinstance(found, str):
        raise KeyError(f"{key!r} is not a phrase")
    return found


def say(key: str, **facts: object) -> str:
    """The phrase at ``key`` with its braces filled from ``facts``."""
    return phrase(key).format(**facts)
