"""Which dated standard a type text and a year mean."""

from __future__ import annotations

from collections.abc import Sequence

from lotscreen.standards.coin_type import CoinType, Resolution
from lotscreen.standards.names import Heard, Vocabulary, plain
from lotscreen.words import say

# Two standards this near in weight are as good as one where the date is not known.
SAME_WEIGHT_SHARE = 0.005


class Resolver:
    """Looks up texts; remembers what it has been asked."""

    def __init__(self, types: Sequence[CoinType]) -> None:
        self._types = {coin.key: coin for coin in types}
        self._order = {coin.key: place for place, coin in enumerate(types)}
        self._by_plain_key = {plain(coin.key): coin.key for coin in types}
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

    def _resolve(self, text: str, year: float | None, mark: str) -> Resolution:
        if not text:
            return Resolution("", (), say("standards.note.empty"))
        exact = self._by_plain_key.get(plain(text))
        if exact is not None:
            return self._dated(text, [self._types[exact]], year, mark, ())
        heard = self._vocabulary.hear(text)
        if heard.elsewhere and not heard.states:
            return Resolution("", (), say("standards.note.elsewhere", text=text))
        fitting = self._fitting(heard)
        if not fitting:
            return Resolution("", (), say("standards.note.unknown", text=text))
        if year is None and len(heard.years) == 1:
            year = heard.years[0]
        return self._dated(text, fitting, year, mark, heard.left_over)

    def _fitting(self, heard: Heard) -> list[CoinType]:
        if not heard.units:
            return []
        keys = frozenset.intersection(*heard.units)
        types = [self._types[key] for key in sorted(keys, key=self._order.__getitem__)]
        if heard.states:
            types = [coin for coin in types if coin.state in heard.states]
        if heard.metals:
            types = [coin for coin in types if coin.metal in heard.metals]
        for phrase in heard.qualifiers:
            said = [c for c in types if phrase in {plain(q) for q in c.qualifiers}]
            types = said or types
        return types

    def _dated(
        self,
        text: str,
        types: Sequence[CoinType],
        year: float | None,
        mark: str,
        left: Sequence[str],
    ) -> Resolution:
        if year is None:
            return self._undated(text, types, left)
        struck = [coin for coin in types if coin.struck_in(year)]
        if not struck:
            return _outside(types, year)
        keys = tuple(coin.key for coin in struck)
        if len({(coin.state, coin.unit, coin.metal) for coin in struck}) > 1:
            note = say("standards.note.several", text=text, names=_names(struck))
            return Resolution("", keys, note)
        chosen, shared = _in_shared_year(struck, year, mark)
        notes = [note for note in (shared, _left_over(left)) if note]
        return Resolution(chosen.key, keys, "; ".join(notes))

    def _undated(self, text: str, types: Sequence[CoinType], left: Sequence[str]) -> Resolution:
        keys = tuple(coin.key for coin in types)
        chosen = types[-1]
        if len(types) == 1:
            return Resolution(chosen.key, keys, _left_over(left))
        weights = [coin.weight_g for coin in types]
        one_family = len({(coin.state, coin.unit, coin.metal) for coin in types}) == 1
        if one_family and max(weights) <= min(weights) * (1 + SAME_WEIGHT_SHARE):
            return Resolution(chosen.key, keys, say("standards.note.no_year", name=chosen.name))
        return Resolution("", keys, say("standards.note.several", text=text, names=_names(types)))


def _outside(types: Sequence[CoinType], year: float) -> Resolution:
    nearest = sorted(types, key=lambda coin: _distance(coin, year))[:3]
    note = say(
        "standards.note.years",
        name=nearest[0].name,
        years=_years(nearest[0]),
        year=f"{year:g}",
    )
    return Resolution("", tuple(coin.key for coin in nearest), note)


def _in_shared_year(struck: Sequence[CoinType], year: float, mark: str) -> tuple[CoinType, str]:
    """The standard taken where two share ``year``, and the note that says so."""
    later = struck[-1]
    if len(struck) == 1:
        return later, ""
    if later.first_year_marks:
        return (later if mark in later.first_year_marks else struck[-2]), ""
    note = say(
        "standards.note.shared", year=f"{year:g}", note=later.first_year_note, name=later.name
    )
    return later, note


def _distance(coin: CoinType, year: float) -> float:
    if year < coin.first_year:
        return coin.first_year - year
    return year - (coin.last_year if coin.last_year is not None else year)


def _years(coin: CoinType) -> str:
    return f"{coin.first_year}-{coin.last_year if coin.last_year is not None else ''}"


def _names(types: Sequence[CoinType]) -> str:
    return ", ".join(coin.name for coin in types)


def _left_over(words: Sequence[str]) -> str:
    return say("standards.note.left_over", words=", ".join(words)) if words else ""
