"""What a header says: the role of its column, the unit, which repeat, who measured."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from lotscreen.intake.vocabulary import (
    LENGTH_ROLES,
    MEASURE_ROLES,
    WEIGHT_ROLES,
    filler_words,
    header_words,
    number_words,
    unit_only_roles,
    without_accents,
)
from lotscreen.quantities import (
    AMBIGUOUS_UNIT_WORDS,
    CONDUCTIVITY_UNITS,
    DENSITY_UNITS,
    LENGTH_UNITS,
    UNIT_WORDS,
    WEIGHT_UNITS,
)
from lotscreen.words import say

AMBIGUOUS = "gr"  # the unit of a header or a cell that says "gr"

_BRACKETS = re.compile(r"[(\[{]([^)\]}]*)[)\]}]")
_NUMBERED = re.compile(r"(?P<word>.*[^\W\d])[\s_.\-#(\[]*(?P<repeat>[1-9])[)\]]?", re.DOTALL)
_PERSON = re.compile(r"(?P<word>.+?)(?: (?:by|von|par|por))? (?P<person>[a-z]\d{0,2})")
_LONGEST_HEADER = 80


@dataclass(frozen=True, slots=True)
class Sense:
    """What a header was taken for. ``repeat`` is 0 where the header has no number,
    ``rank`` grows with the distance from the first choice of words."""

    role: str
    unit: str = ""
    repeat: int = 0
    person: str = ""
    rank: int = 0
    why: str = ""


def unit_factors(role: str) -> Mapping[str, float]:
    """The units that a role may be written in, as multiples of its canonical unit."""
    if role in WEIGHT_ROLES or role in ("tare", "nominal"):
        return WEIGHT_UNITS
    if role in LENGTH_ROLES:
        return LENGTH_UNITS
    return {"density": DENSITY_UNITS, "conductivity": CONDUCTIVITY_UNITS}.get(role, {})


def canonical_unit(role: str) -> str:
    """The unit in which values of the role are kept."""
    return next(unit for unit, factor in unit_factors(role).items() if factor == 1.0)


def unit_of_word(word: str) -> str | None:
    """A unit's key, ``AMBIGUOUS`` for "gr", None where the word is no unit."""
    plain = " ".join(word.casefold().split())
    if plain in AMBIGUOUS_UNIT_WORDS:
        return AMBIGUOUS
    return UNIT_WORDS.get(plain) or UNIT_WORDS.get(plain.rstrip("."))


@lru_cache(maxsize=4096)
def sense_of(header: str) -> Sense | None:
    """The sense of a header's words, None where they are not in the register."""
    if not header.strip() or len(header) > _LONGEST_HEADER:
        return None
    found = _with_unit(header) or _numbered(header)
    if found is None and _without_unit(header)[0] is None:
        return _with_unit(_BRACKETS.sub(" ", header))
    return found


def _with_unit(header: str) -> Sense | None:
    unit, rest = _without_unit(header)
    words = _plain(rest)
    if not words:
        return _unit_only(unit)
    found = _looked_up(words)
    if found is None or (unit and not _fits(found.role, unit)):
        return None
    return replace(found, unit=unit or "")


def _numbered(header: str) -> Sense | None:
    """``weight_g_2``: a number behind the unit says which reading of the coin."""
    match = _NUMBERED.fullmatch(header.strip())
    found = _with_unit(match["word"]) if match is not None else None
    if match is None or found is None or found.role not in MEASURE_ROLES:
        return None
    return replace(found, repeat=int(match["repeat"]))


def _fits(role: str, unit: str) -> bool:
    return (unit == AMBIGUOUS and "g" in unit_factors(role)) or unit in unit_factors(role)


def _unit_only(unit: str | None) -> Sense | None:
    role = unit_only_roles().get(unit or "")
    if role is None or unit is None:
        return None
    return Sense(role, unit, rank=100, why=say("intake.why.unit_only"))


def _without_unit(header: str) -> tuple[str | None, str]:
    """The unit in brackets or as the last words of a header, and the header without it."""
    for match in _BRACKETS.finditer(header):
        unit = unit_of_word(match[1])
        if unit is not None:
            return unit, header[: match.start()] + " " + header[match.end() :]
    for between in ("_,", "_,/"):
        tokens = re.sub(f"[{between}]", " ", header).split()
        for length in (2, 1):
            unit = unit_of_word(" ".join(tokens[-length:])) if len(tokens) >= length else None
            if unit is not None:
                return unit, " ".join(tokens[:-length])
    return None, header


def _plain(header: str) -> str:
    words = without_accents(header.casefold()).casefold()
    return " ".join(re.sub(r"[^\w#°%]|_", " ", words).split())


def _looked_up(words: str) -> Sense | None:
    """The register's answer, else that for the words before a number or a person's letter."""
    direct = _in_register(words)
    if direct is not None:
        return direct
    for pattern in (_NUMBERED, _PERSON):
        match = pattern.fullmatch(words)
        found = _in_register(match["word"].strip()) if match is not None else None
        if match is not None and found is not None and found.role in MEASURE_ROLES:
            extra = match.groupdict()
            return replace(
                found,
                repeat=int(extra.get("repeat", 0)),
                person=extra.get("person", "").upper(),
            )
    return None


def _in_register(words: str) -> Sense | None:
    kept = [word for word in words.split() if word not in filler_words()]
    named = kept[:-1] if kept and kept[-1] in number_words() else kept
    for tried in (words, " ".join(kept), " ".join(named)):
        if tried in header_words():
            role, rank = header_words()[tried]
            return Sense(role, rank=rank, why=say("intake.why.word", word=tried))
    return None
