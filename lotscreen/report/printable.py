"""Text of a user's cell made safe to set: only signs that the embedded fonts can show.

Libertinus Serif comes with the typesetter, DejaVu Sans with matplotlib; a sign that
neither is sure to hold is written as its code point, so that nothing is lost in silence
and no font of the machine is needed.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from pathlib import Path

import matplotlib
from matplotlib.ft2font import FT2Font

FONT_FOLDER = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
BREAK = "\u200b"
_LONG_WORD = re.compile(r"[^\s\u200b]{24,}")


@cache
def _signs() -> frozenset[int]:
    return frozenset(FT2Font(str(FONT_FOLDER / "DejaVuSans.ttf")).get_charmap())


@cache
def _shown(sign: str) -> str:
    if sign in (BREAK, "\n"):
        return sign
    if sign.isspace():
        return sign if sign in "\u00a0\u202f\u2009" else " "
    if unicodedata.category(sign) in {"Cc", "Cf", "Co", "Cn", "Cs"} or ord(sign) not in _signs():
        return f"[U+{ord(sign):04X}]"
    return sign


def printable(text: str) -> str:
    """``text`` with unshowable signs as ``[U+....]`` and long words made breakable."""
    if not text.isascii() or not text.isprintable():
        text = "".join(_shown(sign) for sign in text)
    return _LONG_WORD.sub(_broken, text)


def _broken(match: re.Match[str]) -> str:
    word = match[0]
    return BREAK.join(word[i : i + 12] for i in range(0, len(word), 12))


def sentence(text: str) -> str:
    """``text`` with a capital in front and a full stop behind."""
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")


def shortened(text: str, longest: int) -> str:
    """``text`` cut to ``longest`` signs, with an ellipsis where something was cut."""
    return text if len(text) <= longest else text[: longest - 1].rstrip() + "…"
