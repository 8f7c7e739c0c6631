"""Files written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Write ``content`` so that either the old or the new file is there, never a part: to
    a hidden file beside it, which then takes its place. OSError where that cannot be done;
    what was there is then unchanged."""
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with beside.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except OSError:
        beside.unlink(missing_ok=True)
        raise
