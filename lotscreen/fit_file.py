"""A frozen fit on disk, so that an earlier lot's limits can judge a later one."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

from lotscreen.records import InputError, OutputError
from lotscreen.wear import Fit
from lotscreen.wear.saved import fit_from_dict, fit_to_dict
from lotscreen.whole_file import write_whole
from lotscreen.words import say

_DIGEST_LENGTH = 16


def save_fit(fit: Fit, path: Path) -> None:
    """Write ``fit`` to ``path`` whole or not at all; an existing file is not overwritten.

    OutputError where it exists or cannot be written.
    """
    if path.exists():
        raise OutputError(say("findings.saved.exists", file=path.name))
    text = _text(fit)
    try:
        write_whole(path, text.encode("utf-8"))
    except OSError as error:
        raise OutputError(say("findings.saved.unwritable", file=path.name, why=error)) from error


def load_fit(path: Path) -> Fit:
    """The fit saved at ``path``; InputError where it is none, or of another schema."""
    try:
        saved = json.loads(path.read_text(encoding="utf-8"))
        return fit_from_dict(saved)
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise InputError(say("findings.saved.unreadable", file=path.name, why=error)) from error


def fit_digest(fit: Fit) -> str:
    """Sixteen hex digits over all that :func:`save_fit` would write."""
    return hashlib.sha256(_text(fit).encode()).hexdigest()[:_DIGEST_LENGTH]


def _text(fit: Fit) -> str:
    return json.dumps(fit_to_dict(fit), sort_keys=True, allow_nan=False)
