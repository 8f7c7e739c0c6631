"""From the figures of a coin to sentences; all phrases are in the words room."""

from __future__ import annotations

import numpy as np

from lotscreen.records import Floats
from lotscreen.words import say

_SHOWN_SHARE = 0.05
_MOST_SHOWN = 3


def explain(code: str, **facts: object) -> str:
    """The sentence of a reason code."""
    return say(f"findings.reason.{code}", **facts)


def ranked(shares: Floats, keys: tuple[str, ...]) -> str:
    """The likeliest explanations with their shares at equal start, most likely first."""
    order = np.argsort(-shares, kind="stable")[:_MOST_SHOWN]
    return "; ".join(
        say("findings.explanation.one", name=say(f"findings.explanation.{keys[i]}"),
            share=100 * shares[i])
        for i in order
        if shares[i] >= _SHOWN_SHARE
    )  # fmt: skip


def next_test(key: str) -> str:
    """The next test in words."""
    return say(f"findings.test.{key}")
