"""Numbers as the report prints them: decimal point, true minus, thin space in thousands."""

from __future__ import annotations

import math

from lotscreen.words import phrase, say

THIN = "\u202f"
MISSING = "–"


def whole(number: float) -> str:
    """A count: ``2 000`` with a thin space that never breaks."""
    return f"{number:,.0f}".replace(",", THIN).replace("-", "−")


def counted(number: int, noun: str) -> str:
    """A count with its noun of ``report.one`` or ``report.many``: '1 coin', '31 coins'."""
    form = phrase(f"report.one.{noun}") if number == 1 else phrase(f"report.many.{noun}")
    return f"{whole(number)}\u00a0{form}"


def fixed(value: float | None, decimals: int, signed: bool = False) -> str:
    """``value`` with ``decimals``, a dash where there is none; ``signed`` prints a plus."""
    if value is None or not math.isfinite(value):
        return MISSING
    text = f"{value:+.{decimals}f}" if signed else f"{value:.{decimals}f}"
    if float(text) == 0:
        text = text.lstrip("+-")
    return text.replace("-", "−")


def as_read(value: float, decimals: int) -> str:
    """A reading with at least ``decimals``, and more where it was written with more."""
    exact = f"{value:.4f}".rstrip("0").partition(".")[2] if math.isfinite(value) else ""
    return fixed(value, max(decimals, len(exact)))


def percent(value: float | None, decimals: int = 1, signed: bool = False) -> str:
    """``value`` (already in per cent) followed by its sign."""
    text = fixed(value, decimals, signed)
    return text if text == MISSING else f"{text}{THIN}%"


def rarity(p_value: float, short: bool = False) -> str:
    """A rate among honest coins in words: '1 in 500'; tiny ones on two lines, or as
    'under 1 in 1 000 000' where ``short``."""
    if not math.isfinite(p_value):
        return MISSING
    if p_value < 1e-6:
        words = "report.numbers.under" if short else "report.numbers.rarer_than"
        return say(words, n=whole(1_000_000))
    if p_value >= 0.5:
        return say("report.numbers.common")
    return say("report.numbers.one_in", n=whole(_round_two(1.0 / p_value)))


def _round_two(number: float) -> float:
    """``number`` to two significant figures."""
    step = 10.0 ** (math.floor(math.log10(number)) - 1)
    return round(number / step) * step


def decimals_of_step(step: float) -> int:
    """Decimals that show a balance's step: 0.01 -> 2, 0.1 -> 1; 3 where it is not known."""
    if not math.isfinite(step) or step <= 0:
        return 3
    return min(4, max(0, math.ceil(-math.log10(step) - 1e-9)))
