"""The one place where the program asks what time it is: for a record that names none."""

from __future__ import annotations

import datetime


def now() -> str:
    """This minute with the offset of the place, ISO 8601."""
    return datetime.datetime.now().astimezone().isoformat(timespec="minutes")
