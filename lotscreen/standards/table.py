"""The table of dated standards: loading, look-up, saving."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Self

from lotscreen.records import StandardsError
from lotscreen.standards.alloys import load_alloys
from lotscreen.standards.checks import check_all
from lotscreen.standards.coin_type import CoinType, Remedy, Resolution
from lotscreen.standards.fields import WORD_LISTS
from lotscreen.standards.resolver import Resolver
from lotscreen.standards.series_file import Entry, read_series, wrong
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class StandardsTable:
    """Every dated standard on file, in file order, with the digest of all figures."""

    types: tuple[CoinType, ...]
    digest: str = field(init=False)
    _by_key: dict[str, CoinType] = field(init=False, repr=False, compare=False)
    _resolver: Resolver = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "digest", _digest(self.types))
        object.__setattr__(self, "_by_key", {coin.key: coin for coin in self.types})
        object.__setattr__(self, "_resolver", Resolver(self.types))

    def get(self, key: str) -> CoinType:
        """The type called ``key``; StandardsError names near keys where there is none."""
        try:
            return self._by_key[key]
        except KeyError:
            close = get_close_matches(key, self._by_key, n=3, cutoff=0.5)
            near = say("standards.near", keys=", ".join(close)) if close else ""
            raise StandardsError(say("standards.unknown_key", type_key=key, near=near)) from None

    def resolve(self, text: str, year: float | None, mint_mark: str = "") -> Resolution:
        """The dated standard that a sheet's type text, year and mint mark mean.

        ``year`` None or NaN: the coin shows none. The key is '' where no single standard
        fits; the note then says why. A note beside a key is worth a person's look.
        """
        return self._resolver.resolve(text, year, mint_mark)

    def search(self, text: str) -> list[CoinType]:
        """The types whose key, name, words or metal hold every word of ``text``; a year
        finds the types struck in it."""
        return self._resolver.search(text)

    def to_dict(self) -> dict[str, Any]:
        """JSON-safe; :meth:`from_dict` gives the same table back."""
        types = [{**asdict(coin), "sources": dict(coin.sources)} for coin in self.types]
        return {"digest": self.digest, "types": types}

    @classmethod
    def from_dict(cls, saved: Mapping[str, Any]) -> Self:
        """The table that :meth:`to_dict` saved; StandardsError where it was altered."""
        table = cls(tuple(_coin_type(entry) for entry in saved["types"]))
        if table.digest != saved["digest"]:
            raise StandardsError(
                say("standards.altered", saved=saved["digest"], found=table.digest)
            )
        return table


def _coin_type(entry: Mapping[str, Any]) -> CoinType:
    values = dict(entry)
    for name in WORD_LISTS:
        values[name] = tuple(values[name])
    values["remedies"] = tuple(Remedy(**remedy) for remedy in values["remedies"])
    return CoinType(**values)


def _digest(types: Sequence[CoinType]) -> str:
    text = json.dumps([{**asdict(c), "sources": dict(c.sources)} for c in types], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def load_standards(extra: Sequence[Path] = ()) -> StandardsTable:
    """The built-in standards and those of the user's files, checked.

    A file of ``extra`` that is wrong, or that takes a key on file without ``replaces``,
    is a StandardsError with file, key, value and mend.
    """
    if not extra:
        return _built_in_table()
    entries = dict(_built_in())
    for path in extra:
        for entry in read_series(path, load_alloys()):
            _add(entries, entry)
    check_all(entries)
    return StandardsTable(tuple(entry.coin_type for entry in entries.values()))


def _add(entries: dict[str, Entry], entry: Entry) -> None:
    key = entry.coin_type.key
    if entry.replaces and entry.replaces not in entries:
        raise wrong(entry.file, key, "replaces", entry.replaces, say("standards.mend.replaces"))
    if key in entries and entry.replaces != key:
        raise wrong(entry.file, key, "key", key, say("standards.mend.duplicate", type_key=key))
    if entry.replaces and entry.replaces != key:
        del entries[entry.replaces]
    entries[key] = entry


@cache
def _built_in() -> Mapping[str, Entry]:
    entries: dict[str, Entry] = {}
    folder = files("lotscreen.standards") / "data" / "series"
    for path in sorted(folder.iterdir(), key=lambda path: path.name):
        if path.name.endswith(".toml"):
            for entry in read_series(path, load_alloys()):
                _add(entries, entry)
    check_all(entries)
    return entries


@cache
def _built_in_table() -> StandardsTable:
    return StandardsTable(tuple(entry.coin_type for entry in _built_in().values()))
