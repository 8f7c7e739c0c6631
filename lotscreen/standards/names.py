"""From the text of a sheet to words the standards know: spelling, states, metals, units."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from importlib.resources import files

from lotscreen.standards.coin_type import CoinType

Phrase = tuple[str, ...]

_IRREGULAR = {
    "pence": "penny", "pennies": "penny", "halves": "half", "halfpence": "halfpenny",
    "halfpennies": "halfpenny",
}  # fmt: skip
_GLYPHS = {
    "½": " 1/2 ", "¼": " 1/4 ", "⅕": " 1/5 ", "%": " percent ", "€": " euro ", "¢": " cent ",
    "£": " pound ", "$": " dollar ", "/-": " shilling ",
}  # fmt: skip
_SIGN_FIRST = re.compile(r"([£$€])\s*(\d+(?:[.,]\d+)?(?:\s+1/[24]|½|¼)?)")
_SHORTEST_STATE = 5
_SHORT_WORD = 4
_WORD = re.compile(r"\d*\.\d+|\d+/\d+|\d+|[a-z]+")


def plain(text: str) -> Phrase:
    """Lower-case words without accents, punctuation and plural endings; number words as
    figures, a money sign after its number.

    >>> plain("U.S. Half-Dollars")
    ('u', 's', 'half', 'dollar')
    >>> plain("$2.50 (½ £5)")
    ('2.5', 'dollar', '1/2', '5', 'pound')
    """
    text = _SIGN_FIRST.sub(r"\2\1", text)
    for glyph, spelt in _GLYPHS.items():
        text = text.replace(glyph, spelt)
    text = unicodedata.normalize("NFKD", text.casefold())
    text = "".join(letter for letter in text if not unicodedata.combining(letter))
    text = re.sub(r"(?<=\d),(?=\d)", ".", text)
    return tuple(_spelt(word) for word in _WORD.findall(text))


def _spelt(word: str) -> str:
    if word in _IRREGULAR:
        return _IRREGULAR[word]
    if "." in word:
        return f"{float(word):g}"
    if len(word) > 3 and word.endswith("s") and not word.endswith("ss"):
        word = word[:-1]
    return _numbers().get(word, word)


@cache
def _names() -> dict[str, dict[str, list[str]]]:
    path = files("lotscreen.standards") / "data" / "names.toml"
    return tomllib.loads(path.read_text(encoding="utf-8"))


@cache
def _numbers() -> dict[str, str]:
    return {
        word: figure for figure, words in _names()["numbers"].items() for word in map(_bare, words)
    }


def _bare(word: str) -> str:
    text = unicodedata.normalize("NFKD", word.casefold())
    return "".join(letter for letter in text if not unicodedata.combining(letter))


@cache
def _state_endings() -> tuple[str, ...]:
    return tuple(_names()["state_like"]["endings"])


def like_a_state(word: str) -> bool:
    """Whether a word of :func:`plain` that nobody knows ends as the name of a state does.

    >>> like_a_state("elbonian"), like_a_state("scratched")
    (True, False)
    """
    return len(word) >= _SHORTEST_STATE and word.endswith(_state_endings())


def _exchanged(word: str) -> set[str]:
    return {word[:i] + word[i + 1] + word[i] + word[i + 2 :] for i in range(len(word) - 1)}


def _one_left_out(word: str) -> set[str]:
    if len(word) <= _SHORT_WORD:
        return set()
    return {word[:i] + word[i + 1 :] for i in range(len(word))}


@dataclass(frozen=True, slots=True)
class Heard:
    """What a text says; every part is empty where the text is silent.

    ``units`` holds the keys that each unit phrase may mean, ``said`` the phrases that
    choose between standards of one unit.
    """

    units: tuple[frozenset[str], ...]
    states: frozenset[str]
    metals: frozenset[str]
    said: frozenset[Phrase]
    years: tuple[int, ...]
    elsewhere: bool
    left_over: tuple[str, ...]


class Vocabulary:
    """All phrases that the types on file and the table of names know.

    A phrase may play several roles: "bronze" is a metal and tells two pennies of 1860
    apart.
    """

    def __init__(self, types: Iterable[CoinType]) -> None:
        self._roles: dict[Phrase, dict[str, set[str]]] = {}
        for coin in types:
            self._add_type(coin)
        names = _names()
        for role, table in (("state", names["states"]), ("metal", names["metals"])):
            for name, phrases in table.items():
                for phrase in phrases:
                    self._add(phrase, role, name)
        for role in ("elsewhere", "filler"):
            for phrase in names[role]["words"]:
                self._add(phrase, role, role)
        self._longest = max(len(words) for words in self._roles)

    def _add_type(self, coin: CoinType) -> None:
        for phrase in (*coin.words, coin.unit, coin.name):
            self._add(phrase, "unit", coin.key)
        for phrase in (*coin.qualifiers, *coin.first_year_words, *coin.last_year_words):
            self._add(phrase, "said", coin.key)
        self._add(coin.state, "state", coin.state)
        self._add(coin.metal, "metal", coin.metal)

    def _add(self, phrase: str, role: str, name: str) -> None:
        self._roles.setdefault(plain(phrase), {}).setdefault(role, set()).add(name)

    def one_slip_from(self, word: str) -> list[str]:
        """Words for units and numbers that are ``word`` with two letters exchanged or, of
        five letters or more, with one left out or one too many."""
        found = self._slips.get(word, set()) | (_one_left_out(word) & self._of_units)
        return sorted(found - {word})

    @cached_property
    def _of_units(self) -> set[str]:
        phrases = (phrase for phrase, roles in self._roles.items() if "unit" in roles)
        return {word for phrase in phrases for word in phrase if word.isalpha()} | set(_numbers())

    @cached_property
    def _slips(self) -> dict[str, set[str]]:
        """The words of units and numbers by what one slip makes of them."""
        found: dict[str, set[str]] = {}
        for meant in self._of_units:
            for written in _exchanged(meant) | _one_left_out(meant):
                found.setdefault(written, set()).add(meant)
        return found

    def hear(self, text: str) -> Heard:
        """Split ``text`` greedily into the longest known phrases."""
        units: list[frozenset[str]] = []
        found: dict[str, set[str]] = {"state": set(), "metal": set(), "elsewhere": set()}
        said: set[Phrase] = set()
        years: list[int] = []
        left: list[str] = []
        for phrase in self._phrases(plain(text)):
            roles = self._roles.get(phrase, {})
            if "unit" in roles:
                units.append(frozenset(roles["unit"]))
            if "said" in roles:
                said.add(phrase)
            for role, names in found.items():
                names |= roles.get(role, set())
            if not roles and _is_year(phrase):
                years.append(int(phrase[0]))
            elif not roles:
                left.extend(phrase)
        return Heard(
            tuple(units),
            frozenset(found["state"]),
            frozenset(found["metal"]),
            frozenset(said),
            tuple(years),
            bool(found["elsewhere"]),
            tuple(left),
        )

    def _phrases(self, words: Sequence[str]) -> list[Phrase]:
        phrases: list[Phrase] = []
        at = 0
        while at < len(words):
            size = min(self._longest, len(words) - at)
            while size > 1 and tuple(words[at : at + size]) not in self._roles:
                size -= 1
            phrases.append(tuple(words[at : at + size]))
            at += size
        return phrases


def _is_year(phrase: Phrase) -> bool:
    return len(phrase) == 1 and phrase[0].isdigit() and len(phrase[0]) == 4
