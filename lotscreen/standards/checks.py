"""What must hold between the figures of the standards; run at every load."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise

from lotscreen.quantities import GRAIN_G
from lotscreen.standards.series_file import Entry, wrong
from lotscreen.words import say

# Statutes round their own grams unevenly: the five-pound piece of 1870 by 0.00002 g.
GRAM_SLACK_G = 0.00003


def check_entry(entry: Entry) -> None:
    """Grains against grams, years in order, least current weight below the standard."""
    coin = entry.coin_type
    if coin.last_year is not None and coin.last_year < coin.first_year:
        raise wrong(entry.file, coin.key, "last_year", coin.last_year, say("standards.mend.years"))
    for name, (grams, grains) in entry.printed.items():
        if abs(grains * GRAIN_G - grams) > GRAM_SLACK_G:
            mend = say("standards.mend.grains", grains=grains, grams=grains * GRAIN_G)
            raise wrong(entry.file, coin.key, name, grams, mend)
    least = coin.least_current_g
    if least is not None and least >= coin.weight_g:
        mend = say("standards.mend.least", weight=coin.weight_g)
        raise wrong(entry.file, coin.key, "least_current_g", least, mend)


def check_parts(entries: Sequence[Entry]) -> None:
    """Halves of wholes: ``parts`` pieces weigh one whole within 0.00003 g a piece."""
    weights = {entry.coin_type.key: entry.coin_type.weight_g for entry in entries}
    for entry in entries:
        for whole_key, parts in entry.part_of:
            _check_part(entry, weights, whole_key, parts)


def _check_part(entry: Entry, weights: Mapping[str, float], whole_key: str, parts: int) -> None:
    key, weight = entry.coin_type.key, entry.coin_type.weight_g
    if whole_key not in weights:
        raise wrong(entry.file, key, "part_of", whole_key, say("standards.mend.part_unknown"))
    whole = weights[whole_key]
    if abs(whole / parts - weight) > GRAM_SLACK_G:
        mend = say("standards.mend.part_weight", parts=parts, sum=parts * weight, whole=whole)
        raise wrong(entry.file, key, "weight_g", weight, mend)


def check_dates(entries: Sequence[Entry]) -> None:
    """Standards of one state, unit and metal do not overlap.

    They may share one year, the first of the later, where the later says what tells the
    two apart.
    """
    series: dict[tuple[str, str, str], list[Entry]] = {}
    for entry in entries:
        coin = entry.coin_type
        series.setdefault((coin.state, coin.unit, coin.metal), []).append(entry)
    for same in series.values():
        same.sort(key=lambda entry: entry.coin_type.first_year)
        for before, after in pairwise(same):
            _check_pair(before, after)


def _check_pair(before: Entry, after: Entry) -> None:
    old, new = before.coin_type, after.coin_type
    shared = new.first_year_note and old.last_year == new.first_year > old.first_year
    if old.last_year is not None and (old.last_year < new.first_year or shared):
        return
    mend = say("standards.mend.overlap", other=old.key, year=new.first_year)
    raise wrong(after.file, new.key, "first_year", new.first_year, mend)


def check_entries(entries: Sequence[Entry]) -> None:
    """What must hold within one type, for each."""
    for entry in entries:
        check_entry(entry)


CHECKS: list[Callable[[Sequence[Entry]], None]] = [check_entries, check_parts, check_dates]
"""The register of self-checks: adding one is one function and one line."""


def check_all(entries: Mapping[str, Entry]) -> None:
    """Every self-check over all types on file; StandardsError at the first that fails."""
    for check in CHECKS:
        check(list(entries.values()))
