"""From the text of a sheet to words the standards know: spelling, states, metals, units."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from lotscreen.standards.coin_type import CoinType

_IRREGULAR = {"pence": "penny", "pennies": "penny", "halves": "half", "halfpence": "halfpenny",
              "halfpennies": "halfpenny", "coronas": "corona"}  # fmt: skip
_GLYPHS = {"½": " 1/2 ", "¼": " 1/4 ", "⅕": " 1/5 ", "%": " percent ", "€": " euro ", "¢": " cent ",
           "£": " pound ", "$": " dollar "}  # fmt: skip


def plain(text: str) -> tuple[str, ...]:
    """Lower-case words without accents, punctuation and plural endings.

    >>> plain("U.S. Half-Dollars (½ $)")
    ('u', 's', 'half', 'dollar', '1/2', 'dollar')
    """
    for glyph, spelt in _GLYPHS.items():
        text = text.replace(glyph, spelt)
    text = unicodedata.normalize("NFKD", text.casefold())
    text = "".join(letter for letter in text if not unicodedata.combining(letter))
    text = re.sub(r"(?<=\d)(?=[a-z])|(?<=[a-z])(?=\d)", " ", text)
    return tuple(_singular(word) for word in re.findall(r"\d*\.\d+|\d+/\d+|\d+|[a-z]+", text))


def _singular(word: str) -> str:
    if word in _IRREGULAR:
        return _IRREGULAR[word]
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


@dataclass(frozen=True, slots=True)
class Heard:
    """What a text says: every set is empty where the text is silent."""

    units: tuple[frozenset[str], ...]
    states: frozenset[str]
    metals: frozenset[str]
    qualifiers: frozenset[tuple[str, ...]]
    years: tuple[int, ...]
    elsewhere: bool
    left_over: tuple[str, ...]


@cache
def _names() -> dict[str, dict[str, list[str]]]:
    path = files("lotscreen.standards") / "data" / "names.toml"
    return tomllib.loads(path.read_text(encoding="utf-8"))


class Vocabulary:
    """All phrases that the types on file and the table of names know."""

    def __init__(self, types: Iterable[CoinType]) -> None:
        self._roles: dict[tuple[str, ...], dict[str, set[str]]] = {}
        for coin in types:
            for phrase in (*coin.words, coin.unit, coin.name):
                self._add(phrase, "unit", coin.key)
            for phrase in coin.qualifiers:
                self._add(phrase, "qualifier", coin.key)
            self._add(coin.state, "state", coin.state)
            self._add(coin.metal, "metal", coin.metal)
        names = _names()
        for role, table in (("state", names["states"]), ("metal", names["metals"])):
            for name, phrases in table.items():
                for phrase in phrases:
                    self._add(phrase, role, name)
        for role in ("elsewhere", "filler"):
            for phrase in names[role]["words"]:
                self._add(phrase, role, "")
        self._longest = max((len(words) for words in self._roles), default=1)

    def _add(self, phrase: str, role: str, name: str) -> None:
        self._roles.setdefault(plain(phrase), {}).setdefault(role, set()).add(name)

    def hear(self, text: str) -> Heard:
        """Split ``text`` greedily into the longest known phrases."""
        units: list[frozenset[str]] = []
        found: dict[str, set[str]] = {"state": set(), "metal": set(), "elsewhere": set()}
        qualifiers: set[tuple[str, ...]] = set()
        years: list[int] = []
        left: list[str] = []
        for phrase in self._phrases(plain(text)):
            roles = self._roles.get(phrase)
            if roles is None:
                if _is_year(phrase):
                    years.append(int(phrase[0]))
                else:
                    left.extend(phrase)
                continue
            if "unit" in roles:
                units.append(frozenset(roles["unit"]))
            if "qualifier" in roles:
                qualifiers.add(phrase)
            for role, names in found.items():
                names |= roles.get(role, set())
        return Heard(
            tuple(units),
            frozenset(found["state"]),
            frozenset(found["metal"]),
            frozenset(qualifiers),
            tuple(years),
            bool(found["elsewhere"]),
            tuple(left),
        )

    def _phrases(self, words: Sequence[str]) -> list[tuple[str, ...]]:
        phrases: list[tuple[str, ...]] = []
        at = 0
        while at < len(words):
            size = min(self._longest, len(words) - at)
            while size > 1 and tuple(words[at : at + size]) not in self._roles:
                size -= 1
            phrases.append(tuple(words[at : at + size]))
            at += size
        return phrases


def _is_year(phrase: tuple[str, ...]) -> bool:
    return len(phrase) == 1 and phrase[0].isdigit() and len(phrase[0]) == 4
