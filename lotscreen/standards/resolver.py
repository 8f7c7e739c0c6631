"""Which dated standard a type text, a year and a mint mark mean."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lotscreen.standards.coin_type import CoinType, Resolution
from lotscreen.standards.names import Heard, Phrase, Vocabulary, like_a_state, plain
from lotscreen.words import say

# Two standards this near in weight are as good as one where the text cannot tell them apart.
SAME_WEIGHT_SHARE = 0.005
_NO_WORDS = Heard((), frozenset(), frozenset(), frozenset(), (), False, ())


@dataclass(frozen=True, slots=True)
class _Question:
    """One thing asked: text as written, the years given (usually one or none), mint mark,
    what the text says."""

    text: str
    years: tuple[float, ...]
    mark: str
    heard: Heard


class Resolver:
    """Looks up texts; remembers what it has been asked."""

    def __init__(self, types: Sequence[CoinType]) -> None:
        self._types = {coin.key: coin for coin in types}
        self._by_plain_key = {plain(coin.key): coin for coin in types}
        self._vocabulary = Vocabulary(types)
        self._asked: dict[tuple[str, float | None, str], Resolution] = {}

    def resolve(self, text: str, year: float | None, mint_mark: str) -> Resolution:
        """The standard of ``text`` in ``year`` (None or NaN: not known)."""
        if year is not None and year != year:
            year = None
        asked = (text, year, mint_mark)
        if asked not in self._asked:
            self._asked[asked] = self._resolve(text.strip(), year, mint_mark.strip().upper())
        return self._asked[asked]

    def search(self, text: str) -> list[CoinType]:
        """The types that hold every word of ``text``, a year within the years struck."""
        return [coin for coin in self._types.values() if all(_holds(coin, w) for w in plain(text))]

    def _resolve(self, text: str, year: float | None, mark: str) -> Resolution:
        """As heard, unless a word that nobody knows is one slip from a unit or a number and
        would then mean another type: a hlaf sovereign is no sovereign."""
        found = self._as_heard(text, year, mark)
        words = plain(text)
        strange = self._vocabulary.hear(text).left_over if found.key else ()
        for word in strange:
            for meant in self._vocabulary.one_slip_from(word):
                mended = " ".join(meant if other == word else other for other in words)
                if self._as_heard(mended, year, mark).key not in ("", found.key):
                    note = say("standards.note.slip", text=text, word=word, meant=meant)
                    return Resolution("", (), note)
        return found

    def _as_heard(self, text: str, year: float | None, mark: str) -> Resolution:
        if not text:
            return Resolution("", (), say("standards.note.empty"))
        years = () if year is None else (year,)
        exact = self._by_plain_key.get(plain(text))
        if exact is not None:
            return _chosen([exact], _Question(text, years, mark, _NO_WORDS))
        heard = self._vocabulary.hear(text)
        question = _Question(text, years or heard.years, mark, heard)
        if heard.elsewhere and not heard.states:
            return Resolution("", (), say("standards.note.elsewhere", text=text))
        strange = [word for word in heard.left_over if like_a_state(word)]
        if strange and not heard.states:
            words = ", ".join(strange)
            return Resolution("", (), say("standards.note.like_a_state", text=text, words=words))
        named = [coin for coin in self._types.values() if _names_unit(heard, coin.key)]
        types = sorted(
            (coin for coin in named if _fits(coin, heard)), key=lambda coin: coin.first_year
        )
        if types:
            return _chosen(types, question)
        if len(heard.units) > 1 and not named:
            return Resolution("", (), say("standards.note.units", text=text))
        return Resolution("", (), say("standards.note.unknown", text=text))


def _holds(coin: CoinType, word: str) -> bool:
    if word.isdigit() and len(word) == 4:
        return coin.struck_in(int(word))
    texts = (coin.key, coin.name, coin.metal, coin.state, *coin.words, *coin.qualifiers)
    return any(word in plain(text) for text in texts)


def _names_unit(heard: Heard, key: str) -> bool:
    return bool(heard.units) and all(key in keys for keys in heard.units)


def _fits(coin: CoinType, heard: Heard) -> bool:
    state_fits = not heard.states or coin.state in heard.states
    return state_fits and (not heard.metals or coin.metal in heard.metals)


def _chosen(types: Sequence[CoinType], question: _Question) -> Resolution:
    """One of ``types``, all of which the text may name, or none with the reason."""
    struck = [coin for coin in types if all(map(coin.struck_in, question.years))]
    said = _pointed_at(types, question.heard)
    if not struck or (said and _at_odds(said, struck)):
        return _outside(said or types, question)
    struck = _as_said(struck, question.heard)
    keys = tuple(coin.key for coin in struck)
    if len(struck) == 2 and _shared_year(struck, question.years):
        return _in_shared_year(struck[0], struck[1], question)
    if len(struck) > 1 and not _alike(struck):
        note = say("standards.note.several", text=question.text, keys=", ".join(keys))
        return Resolution("", keys, note)
    coin = max(struck, key=_years_struck)
    alike = say("standards.note.alike", name=coin.name) if len(struck) > 1 else ""
    return Resolution(coin.key, keys, _notes(alike, _left_over(question.heard)))


def _pointed_at(types: Sequence[CoinType], heard: Heard) -> list[CoinType]:
    return [coin for coin in types if heard.said & _phrases(coin.qualifiers)]


def _at_odds(said: Sequence[CoinType], struck: Sequence[CoinType]) -> bool:
    """The text says a fineness that no type struck in the year has."""
    return not {coin.fineness for coin in said} & {coin.fineness for coin in struck}


def _as_said(types: Sequence[CoinType], heard: Heard) -> list[CoinType]:
    """The types that the text's own words point to; those that must be said left out."""
    said = _pointed_at(types, heard)
    if said or heard.metals:
        return said or list(types)
    return [coin for coin in types if not coin.said_only] or list(types)


def _shared_year(pair: Sequence[CoinType], years: tuple[float, ...]) -> bool:
    """One series, the first year of the later, which says how to tell the two apart."""
    before, later = pair
    same = (before.state, before.unit) == (later.state, later.unit)
    first = len(years) == 1 and years[0] == later.first_year
    return same and first and later.first_year_note != ""


def _in_shared_year(before: CoinType, later: CoinType, question: _Question) -> Resolution:
    """The year in which one standard ends and the next begins."""
    keys = (before.key, later.key)
    left_over = _left_over(question.heard)
    said = question.heard.said
    if later.first_year_marks:
        coin = later if question.mark in later.first_year_marks else before
        return Resolution(coin.key, keys, left_over)
    if said & _phrases(later.first_year_words):
        return Resolution(later.key, keys, left_over)
    if said & _phrases(before.last_year_words):
        return Resolution(before.key, keys, left_over)
    note = say(
        "standards.note.shared",
        year=later.first_year,
        note=later.first_year_note,
        name=later.name,
    )
    return Resolution(later.key, keys, _notes(note, left_over))


def _alike(types: Sequence[CoinType]) -> bool:
    weights = [coin.weight_g for coin in types]
    one_unit = len({coin.unit for coin in types}) == 1
    return one_unit and max(weights) <= min(weights) * (1 + SAME_WEIGHT_SHARE)


def _outside(types: Sequence[CoinType], question: _Question) -> Resolution:
    years = question.years
    nearest = sorted(types, key=lambda coin: max(_distance(coin, year) for year in years))[:3]
    note = say(
        "standards.note.years",
        text=question.text,
        year=", ".join(f"{year:g}" for year in years),
        nearest=", ".join(f"{coin.key} ({struck_years(coin)})" for coin in nearest),
    )
    return Resolution("", tuple(coin.key for coin in nearest), note)


def _distance(coin: CoinType, year: float) -> float:
    if year < coin.first_year:
        return coin.first_year - year
    return 0.0 if coin.last_year is None else max(0.0, year - coin.last_year)


# A type still struck counts as struck for ever when the longest-lived is chosen.
def _years_struck(coin: CoinType) -> float:
    return float("inf") if coin.last_year is None else coin.last_year - coin.first_year


def struck_years(coin: CoinType) -> str:
    """'1873-1964', or '1982-' for a type still struck."""
    return f"{coin.first_year}-{'' if coin.last_year is None else coin.last_year}"


def _phrases(texts: Iterable[str]) -> set[Phrase]:
    return {plain(text) for text in texts}


def _left_over(heard: Heard) -> str:
    words = ", ".join(heard.left_over)
    return say("standards.note.left_over", words=words) if words else ""


def _notes(*notes: str) -> str:
    return "; ".join(note for note in notes if note)
