"""Pauses of the process around native code: its own words, and the collector of garbage."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

_STDERR = 2


@contextmanager
def quiet() -> Iterator[None]:
    """Nothing is written to the process's own stderr meanwhile.

    A library in native code that meets a broken file may print where it failed before it
    raises; that line is no message to a user. Python's own stderr is flushed before.
    """
    sys.stderr.flush()
    try:
        kept = os.dup(_STDERR)
    except OSError:  # no stderr at all
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, _STDERR)
        yield
    finally:
        os.dup2(kept, _STDERR)
        os.close(nowhere)
        os.close(kept)


@contextmanager
def uncollected() -> Iterator[None]:
    """No search for garbage meanwhile: making millions of cells would set off hundreds."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()
