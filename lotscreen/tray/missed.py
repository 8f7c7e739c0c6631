"""What one trainee missed, kind by kind, as far as the intervals are sure of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from lotscreen.lot.what_is_seen import Rate, rate_of_counts
from lotscreen.records import InputError
from lotscreen.tray.answer_key import matched, read_key
from lotscreen.tray.answers import read_answers
from lotscreen.words import phrase, say

_LEAST_REST = 0.05
_MOST, _LEAST = 4.0, 0.25


@dataclass(frozen=True, slots=True)
class KindMissed:
    """Wrong answers on pieces of one kind, and ``rest``, the share wrong of other kinds of
    the same status. ``weight`` is how many times as often as by chance it is drawn."""

    kind: str
    rate: Rate
    rest: float
    weight: float


@dataclass(frozen=True, slots=True)
class Missed:
    """All kinds that one trainee met."""

    trainee: str
    kinds: tuple[KindMissed, ...]

    @property
    def weights(self) -> dict[str, float]:
        """Weights by kind, of those that differ from one."""
        return {one.kind: one.weight for one in self.kinds if one.weight != 1.0}

    def sentences(self) -> tuple[str, ...]:
        """One a kind that is weighted, with its interval; then what holds of the others."""
        said = [
            say("tray_building.missed.kind", trainee=self.trainee, wrong=one.rate.alarms,
                shown=one.rate.coins, kind=one.kind, low=100 * one.rate.low,
                high=100 * one.rate.high, rest=100 * one.rest, weight=one.weight)
            for one in sorted(self.kinds, key=lambda one: -one.weight)
            if one.weight != 1.0
        ]  # fmt: skip
        return (*said, phrase("tray_building.missed.others"))


def missed_weights(trainee: str, answers: Sequence[Path], keys: Sequence[Path]) -> Missed:
    """Weights from earlier answers and their keys; InputError where the trainee has none.

    A kind is weighted only as far as the exact 95 % interval of its rate of wrong answers
    lies apart from the rate of the other kinds: by the interval's nearer end over that
    rate. Where the interval holds it, the weight is one.
    """
    rows = read_answers(answers).rows
    own = rows[rows["trainee"] == trainee]
    if own.empty:
        raise InputError(
            say("tray_building.missed.nobody", trainee=trainee,
                files=", ".join(path.name for path in answers),
                known=", ".join(sorted(set(rows["trainee"]))))
        )  # fmt: skip
    found, _ = matched(read_answers(answers), read_key(keys))
    met = found[(found["trainee"] == trainee) & found["tellable"]]
    accepted = met["answer"] == "A"
    met = met.assign(wrong=accepted != met["standard"])
    kinds = [
        _kind(str(kind), group["wrong"], same.loc[same["kind"] != kind, "wrong"])
        for _, same in met.groupby("standard", sort=True)
        for kind, group in same.groupby("kind", sort=True)
    ]
    return Missed(trainee, tuple(kinds))


def _kind(kind: str, wrong: pd.Series, others: pd.Series) -> KindMissed:
    rate = rate_of_counts(int(wrong.sum()), len(wrong))
    rest = float(others.mean()) if len(others) else float(wrong.mean())
    return KindMissed(kind, rate, rest, _weight(rate, rest))


def _weight(rate: Rate, rest: float) -> float:
    base = max(rest, _LEAST_REST)
    if rate.low > base:
        return min(rate.low / base, _MOST)
    if rate.high < base:
        return max(rate.high / base, _LEAST)
    return 1.0
