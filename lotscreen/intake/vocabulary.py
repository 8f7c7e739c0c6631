"""The words of sheets, from ``headers.toml`` and ``cells.toml`` beside this file."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from typing import Any

from lotscreen.intake.grid import plain_words

WEIGHT_ROLES = ("weight", "weight_gross")
LENGTH_ROLES = ("diameter", "diameter_min", "diameter_max", "thickness")
MEASURE_ROLES = (*WEIGHT_ROLES, *LENGTH_ROLES, "density", "conductivity")
SCOPED_ROLES = ("person", "instrument", "time", "tare")
SINGLE_ROLES = (
    "coin_id", "type", "date", "mint_mark", "count", "lot", "position", "kind", "nominal",
    "grade",
)  # fmt: skip
ROLES = (*SINGLE_ROLES, "group", *MEASURE_ROLES, *SCOPED_ROLES)


@cache
def _file(name: str) -> dict[str, Any]:
    return tomllib.loads((files(__package__) / name).read_text(encoding="utf-8"))


@cache
def header_words() -> dict[str, tuple[str, int]]:
    """Role and rank of every header word (rank 0 is the first choice of its role)."""
    found: dict[str, tuple[str, int]] = {}
    for role, languages in _file("headers.toml")["roles"].items():
        words = (word for language in languages.values() for word in language)
        for rank, word in enumerate(words):
            found.setdefault(word, (role, rank))
    return found


@cache
def filler_words() -> frozenset[str]:
    """Words of a header that change nothing."""
    return frozenset(_file("headers.toml")["extras"]["filler"])


@cache
def number_words() -> frozenset[str]:
    """Words behind a name that say only that things are numbered: "Roll #"."""
    return frozenset(_file("headers.toml")["extras"]["number"])


@cache
def unit_only_roles() -> dict[str, str]:
    """The role of a header that is nothing but a unit."""
    return dict(_file("headers.toml")["extras"]["unit_only"])


@cache
def cell_words(name: str) -> frozenset[str]:
    """The set of words ``name`` of ``cells.toml``."""
    return frozenset(_file("cells.toml")[name])


@cache
def kind_words() -> dict[str, str]:
    """What a row is, by the word of a column that says it."""
    kinds = {w: kind for kind, words in _file("cells.toml")["kinds"].items() for w in words}
    kinds.update(dict.fromkeys(cell_words("check"), "check"))
    kinds.update(dict.fromkeys(cell_words("bag"), "bag"))
    kinds.update(dict.fromkeys(cell_words("reference"), "reference"))
    return kinds


@cache
def grade_words() -> dict[str, str]:
    """The grade that each word of a grade column means."""
    return {w: grade for grade, words in _file("cells.toml")["grades"].items() for w in words}


@cache
def starts_with(name: str) -> re.Pattern[str]:
    """Matches a text, as of ``plain_words``, that starts with a word of the set ``name``;
    group ``rest`` is what follows."""
    return _starting(cell_words(name))


def _starting(words: Iterable[str]) -> re.Pattern[str]:
    longest_first = sorted(words, key=lambda w: (-len(w), w))
    return re.compile(rf"(?:{'|'.join(map(re.escape, longest_first))})(?!\w)\W*(?P<rest>.*)")


def is_missing(text: str) -> bool:
    """Whether a cell is empty or says that there is nothing."""
    plain = plain_words(text)
    return not plain or plain in cell_words("missing")


def is_ditto(text: str) -> bool:
    """Whether a cell says 'as above'."""
    return plain_words(text) in cell_words("ditto")


def without_accents(text: str) -> str:
    """``é`` as ``e``; letters that have no accent to lose stay."""
    decomposed = unicodedata.normalize("NFKD", text)
    return "".join(c for c in decomposed if not unicodedata.combining(c))
