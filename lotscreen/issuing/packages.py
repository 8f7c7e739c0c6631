"""The versions of all packages that take part, as constraints that an installer can take."""

from __future__ import annotations

import re
from importlib.metadata import PackageNotFoundError, distribution

_NAME = re.compile(r"[A-Za-z0-9._-]+")
_START = "lotscreen"


def packages_text() -> str:
    """One line ``name==version`` for every package that this program needs, by name; those
    of optional extras are left out, and so is the program itself."""
    found: dict[str, str] = {}
    waiting = [_START]
    while waiting:
        name = waiting.pop()
        if name in found:
            continue
        try:
            known = distribution(name)
        except PackageNotFoundError:
            continue
        found[name] = known.version
        waiting += [_plain(r) for r in known.requires or () if "extra ==" not in r]
    found.pop(_START, None)
    return "".join(f"{name}=={version}\n" for name, version in sorted(found.items()))


def _plain(requirement: str) -> str:
    match = _NAME.match(requirement)
    return re.sub(r"[-_.]+", "-", match[0]).lower() if match else ""
