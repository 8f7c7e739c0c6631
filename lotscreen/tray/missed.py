"""What one trainee missed, kind by kind, as far as the intervals are sure of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.stats import fisher_exact

from lotscreen.lot.what_is_seen import Rate, rate_of_counts
from lotscreen.records import InputError
from lotscreen.tray.answer_key import matched, read_key
from lotscreen.tray.answers import read_answers
from lotscreen.words import say

_LEAST_REST = 0.05
_MOST, _LEAST = 4.0, 0.25
_BY_CHANCE = 0.05


@dataclass(frozen=True, slots=True)
class KindMissed:
    """Wrong answers on pieces of one kind or told by one reading (``column`` of the key says
    which, ``label`` its cell), and ``rest``, the rate of the other pieces of the same
    status. ``weight`` is how many times as often as by chance they are drawn."""

    column: str
    label: str
    rate: Rate
    rest: Rate
    weight: float


@dataclass(frozen=True, slots=True)
class Missed:
    """All kinds and readings that one trainee met."""

    trainee: str
    kinds: tuple[KindMissed, ...]

    @property
    def weights(self) -> dict[str, float]:
        """Weights by kind or reading, of those that differ from one."""
        return {one.label: one.weight for one in self.kinds if one.weight != 1.0}

    def sentences(self) -> tuple[str, ...]:
        """One a kind that is weighted, with its interval; then what holds of the others."""
        said = [
            say(f"tray_building.missed.{one.column}", trainee=self.trainee, wrong=one.rate.alarms,
                shown=one.rate.coins, kind=one.label, low=100 * one.rate.low,
                high=100 * one.rate.high, others=one.rest.alarms, of=one.rest.coins,
                weight=one.weight)
            for one in sorted(self.kinds, key=lambda one: -one.weight)
            if one.weight != 1.0
        ]  # fmt: skip
        key = "others" if said else "nothing"
        return (*said, say(f"tray_building.missed.{key}", trainee=self.trainee))


def missed_weights(trainee: str, answers: Sequence[Path], keys: Sequence[Path]) -> Missed:
    """Weights from earlier answers and their keys; InputError where the trainee has none.

    Pieces are grouped by kind and by the reading that tells them. A group is weighted only
    where its rate of wrong answers differs from that of the other pieces of its status
    beyond chance (Fisher's exact test, 5 %), and only as far as its exact 95 % interval
    goes: by the interval's nearer end over the others' rate.
    """
    given = read_answers(answers)
    if trainee not in set(given.rows["trainee"]):
        raise InputError(
            say("tray_building.missed.nobody", trainee=trainee,
                files=", ".join(path.name for path in answers),
                known=", ".join(sorted(set(given.rows["trainee"]))))
        )  # fmt: skip
    found, _ = matched(given, read_key(keys))
    met = found[(found["trainee"] == trainee) & found["tellable"]]
    accepted = met["answer"] == "A"
    met = met.assign(wrong=accepted != met["standard"])
    kinds = [
        _group(column, str(label), own["wrong"], same.loc[same[column] != label, "wrong"])
        for _, same in met.groupby("standard", sort=True)
        for column in ("kind", "told_by")
        for label, own in same.groupby(column, sort=True)
        if label
    ]
    return Missed(trainee, tuple(kinds))


def _group(column: str, label: str, wrong: pd.Series, others: pd.Series) -> KindMissed:
    rate = rate_of_counts(int(wrong.sum()), len(wrong))
    if not len(others):
        return KindMissed(column, label, rate, rate, 1.0)
    rest = rate_of_counts(int(others.sum()), len(others))
    return KindMissed(column, label, rate, rest, _weight(rate, rest))


def _weight(rate: Rate, rest: Rate) -> float:
    """By how much the group is surely missed more, or less, than the others."""
    table = np.array([(one.alarms, one.coins - one.alarms) for one in (rate, rest)])
    if float(fisher_exact(table).pvalue) > _BY_CHANCE:
        return 1.0
    base = max(rest.alarms / rest.coins, _LEAST_REST)
    if rate.alarms / rate.coins > base:
        return min(max(rate.low / base, 1.0), _MOST)
    return max(min(rate.high / base, 1.0), _LEAST)
