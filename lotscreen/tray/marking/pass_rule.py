"""A pass rule, fixed before the trays are given: whom it passes, and how many trays are
needed to tell a weak trainee from a good one."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from scipy import stats

from lotscreen.records import SettingsError
from lotscreen.words import say

_COUNTS = {
    "trays": (1, 400),
    "false_pieces": (1, 10_000),
    "honest_pieces": (1, 100_000),
    "least_hits": (0, 10_000),
    "most_false_alarms": (0, 100_000),
}
_SHARES = ("risk_pass_weak", "risk_fail_good")
_MOST_TRAYS = 120

PASSED, FAILED, OPEN, OTHER = "passed", "failed", "open", "other"


@dataclass(frozen=True, slots=True)
class ExampleTrainee:
    """A trainee whose true shares of hits and false alarms are known, to try a rule on."""

    name: str
    hits: float
    false_alarms: float


@dataclass(frozen=True, slots=True)
class PassRule:
    """``least_hits`` of ``false_pieces`` and at most ``most_false_alarms`` of
    ``honest_pieces``, over ``trays`` trays. The risks are those that the supervisor would
    take. ``digest`` names the file as it was."""

    trays: int
    false_pieces: int
    honest_pieces: int
    least_hits: int
    most_false_alarms: int
    risk_pass_weak: float
    risk_fail_good: float
    weak: ExampleTrainee
    fair: ExampleTrainee
    good: ExampleTrainee
    digest: str

    def chance(self, trainee: ExampleTrainee) -> float:
        """The joint chance to pass. Each piece is met once, so the luck of the pieces is in
        the binomial counts."""
        return chance_to_pass(
            trainee, self.false_pieces, self.honest_pieces, self.least_hits,
            self.most_false_alarms,
        )  # fmt: skip

    @property
    def examples(self) -> tuple[ExampleTrainee, ...]:
        """Those to try the rule on: weak, weak in one thing only, fair, good."""
        return (
            self.weak,
            ExampleTrainee("blind", self.weak.hits, self.good.false_alarms),
            ExampleTrainee("suspicious", self.good.hits, self.weak.false_alarms),
            self.fair,
            self.good,
        )

    def verdict(self, hits: float, of_false: int, alarms: float, of_honest: int) -> str:
        """``PASSED``, ``FAILED``, ``OPEN`` where answers are missing that could decide it,
        ``OTHER`` where more pieces were answered than the rule is made for."""
        not_met = self.false_pieces - of_false, self.honest_pieces - of_honest
        if min(not_met) < 0:
            return OTHER
        if hits >= self.least_hits and alarms + not_met[1] <= self.most_false_alarms:
            return PASSED
        if hits + not_met[0] < self.least_hits or alarms > self.most_false_alarms:
            return FAILED
        return OPEN


@dataclass(frozen=True, slots=True)
class Needed:
    """The fewest trays that keep both risks, with their limits; ``trays`` is 0 where even
    the most trays looked at do not."""

    trays: int
    false_pieces: int
    honest_pieces: int
    least_hits: int
    most_false_alarms: int
    pass_weak: float
    pass_good: float


def chance_to_pass(
    trainee: ExampleTrainee, of_false: int, of_honest: int, least_hits: int, most_alarms: int
) -> float:
    """At least so many hits and at most so many false alarms, both binomial."""
    hits = float(stats.binom.sf(least_hits - 1, of_false, trainee.hits))
    return hits * float(stats.binom.cdf(most_alarms, of_honest, trainee.false_alarms))


def trays_needed(rule: PassRule) -> Needed:
    """Trays like those of the rule, with the limits that suit their number best. Weak is
    whoever is weak in one thing only, hits or false alarms: who is so in both passes less
    often."""
    for trays in range(1, _MOST_TRAYS + 1):
        of_false = max(round(rule.false_pieces * trays / rule.trays), 1)
        of_honest = max(round(rule.honest_pieces * trays / rule.trays), 1)
        _, blind, suspicious, _, best = (
            _all_limits(trainee, of_false, of_honest) for trainee in rule.examples
        )
        weak, good = np.maximum(blind, suspicious), best
        fits = np.where(weak <= rule.risk_pass_weak, good, -1.0)
        hits, alarms = np.unravel_index(int(np.argmax(fits)), fits.shape)
        if fits[hits, alarms] >= 1.0 - rule.risk_fail_good:
            return Needed(
                trays, of_false, of_honest, int(hits), int(alarms),
                float(weak[hits, alarms]), float(good[hits, alarms]),
            )  # fmt: skip
    return Needed(0, 0, 0, 0, 0, np.nan, np.nan)


def _all_limits(trainee: ExampleTrainee, of_false: int, of_honest: int) -> np.ndarray:
    """Chance to pass for every limit of hits (rows) and of false alarms (columns)."""
    hits = stats.binom.sf(np.arange(of_false + 1) - 1, of_false, trainee.hits)
    alarms = stats.binom.cdf(np.arange(of_honest + 1), of_honest, trainee.false_alarms)
    return np.asarray(np.outer(hits, alarms))


def read_rule(path: Path) -> PassRule:
    """Read a rule; SettingsError that names file, key, value and mend."""
    try:
        content = path.read_bytes()
        said: dict[str, Any] = tomllib.loads(content.decode("utf-8"))
    except OSError as error:
        why = error.strerror or error
        raise SettingsError(say("tray_marking.rule.unreadable", file=path.name, why=why)) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise SettingsError(say("tray_marking.rule.no_toml", file=path.name, why=error)) from error
    known = {*_COUNTS, *_SHARES, "weak", "fair", "good"}
    for name in sorted(set(said) ^ known):
        key = "unknown" if name in said else "missing"
        names = ", ".join(sorted(known))
        raise SettingsError(say(f"tray_marking.rule.{key}", file=path.name, name=name, known=names))
    counts = {name: _whole(path.name, said, name, *span) for name, span in _COUNTS.items()}
    _possible(path.name, counts)
    risks = {name: _share(path.name, said, name) for name in _SHARES}
    examples = {name: _example(path.name, said[name], name) for name in ("weak", "fair", "good")}
    digest = hashlib.sha256(content).hexdigest()
    return PassRule(
        trays=counts["trays"],
        false_pieces=counts["false_pieces"],
        honest_pieces=counts["honest_pieces"],
        least_hits=counts["least_hits"],
        most_false_alarms=counts["most_false_alarms"],
        risk_pass_weak=risks["risk_pass_weak"],
        risk_fail_good=risks["risk_fail_good"],
        weak=examples["weak"],
        fair=examples["fair"],
        good=examples["good"],
        digest=digest,
    )


def _whole(file: str, said: Mapping[str, Any], key: str, low: int, high: int) -> int:
    value = said[key]
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        raise SettingsError(
            say("tray_marking.rule.no_count", file=file, name=key, value=value, low=low, high=high)
        )
    return value


def _share(file: str, said: Any, key: str, shown: str = "") -> float:
    value = said.get(key) if isinstance(said, dict) else said
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < 1:
        raise SettingsError(
            say("tray_marking.rule.no_share", file=file, name=shown or key, value=value)
        )
    return float(value)


def _example(file: str, said: Any, name: str) -> ExampleTrainee:
    hits, alarms = (_share(file, said, key, f"{name}.{key}") for key in ("hits", "false_alarms"))
    return ExampleTrainee(name, hits, alarms)


def _possible(file: str, counts: Mapping[str, int]) -> None:
    for limit, of in (("least_hits", "false_pieces"), ("most_false_alarms", "honest_pieces")):
        if counts[limit] > counts[of]:
            raise SettingsError(
                say("tray_marking.rule.no_count", file=file, name=limit, value=counts[limit],
                    low=0, high=counts[of])
            )  # fmt: skip
