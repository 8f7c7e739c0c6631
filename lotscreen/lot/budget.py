"""The one budget of alarms about the lot as a whole, and how it is shared out.

Five questions are asked of every lot; each may alarm in one honest, well-measured lot of a
hundred, so that any of them does in five at most (Bonferroni). The order is looked at in
five ways, each of which has a fifth of its share. What cannot be asked leaves its share
unspent.
"""

from __future__ import annotations

BUDGET = 0.05
"""Honest, well-measured lots with any alarm about the lot as a whole, at most (assumed)."""

QUESTIONS = ("order", "mean", "clusters", "mixed_wear", "share")
EACH = BUDGET / len(QUESTIONS)

LOOKS_AT_ORDER = ("runs", "change", "average", "sums", "set_aside")
LOOK = EACH / len(LOOKS_AT_ORDER)
"""Honest lots in which one look at the order alarms, at most."""
