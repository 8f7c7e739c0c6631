"""The dates a handful of coins shows."""

from __future__ import annotations

_YEARS_A_STEP = 10


def late_dated(first: int, last: int) -> tuple[int, ...]:
    """Years to draw from, later ones oftener: every ten years add one chance."""
    return tuple(
        year for year in range(first, last + 1) for _ in range(1 + (year - first) // _YEARS_A_STEP)
    )
