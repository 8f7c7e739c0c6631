"""A sampling plan, fixed before the first coin, as a record and as a file."""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from enum import StrEnum
from typing import Any

import numpy as np

from lotscreen.records import SettingsError
from lotscreen.sequential.attributes import plan_for_share
from lotscreen.sequential.finite import chance_at_most, coins_up_to
from lotscreen.sequential.goal import Goal, lines_of_bets
from lotscreen.sequential.lines import Lines, lines_of_single_sample
from lotscreen.sequential.truncated import (
    keeps_its_risk,
    lines_within,
    risk_of_cut,
    soonest_cut,
)
from lotscreen.words import phrase, say

SCHEMA = "1.0"
_MOST_COINS = 1_000_000


class Method(StrEnum):
    """How a plan decides: bets that hold whenever one stops; Wald's test of two stated
    lots; one sample of fixed size."""

    ANY_TIME = "any time"
    TWO_LOTS = "two lots"
    ONE_SAMPLE = "one sample"


@dataclass(frozen=True, slots=True)
class SamplingPlan:
    """Everything fixed before the first coin. Shares and chances lie between 0 and 1.

    ``roll_coins`` coins lie in a roll (0: loose, numbered). *Accept* is to mean: ``sure``
    that fewer than ``bad_share`` are of kinds noticed at least ``notice`` of the time.
    ``alarm_rate`` bounds the share of honest coins set aside, ``tolerated_share`` is what
    a clean lot may hold, ``risk_measure_all`` the risk to measure all of it.
    ``allowed`` is the acceptance number of one sample. Coins are fetched in batches of
    ``batch_coins``. ``most_coins`` cuts Wald's test off (0: it may take the whole lot).
    SettingsError where a figure is out of its range.
    """

    lot_coins: int
    bad_share: float
    sure: float = 0.95
    notice: float = 0.95
    alarm_rate: float = 0.003
    tolerated_share: float = 0.005
    risk_measure_all: float = 0.05
    method: str = Method.ANY_TIME.value
    allowed: int = 0
    roll_coins: int = 0
    batch_coins: int = 20
    seed: int = 0
    seconds_per_coin: float = 8.0
    type_key: str = ""
    most_coins: int = 0

    def __post_init__(self) -> None:
        if self.method not in set(Method):
            methods = ", ".join(repr(m.value) for m in Method)
            raise SettingsError(say("plan.method_unknown", method=self.method, methods=methods))
        whole = (self.lot_coins, self.batch_coins, self.roll_coins + 1, self.allowed + 1)
        if min(whole) < 1 or not self.seconds_per_coin > 0.0:
            raise SettingsError(
                say(
                    "plan.numbers_wrong",
                    coins=self.lot_coins,
                    batch=self.batch_coins,
                    rolls=self.roll_coins,
                    allowed=self.allowed,
                    seconds=self.seconds_per_coin,
                )
            )
        if self.lot_coins > _MOST_COINS:
            raise SettingsError(say("plan.lot_too_large", coins=self.lot_coins, most=_MOST_COINS))
        self.goal  # noqa: B018 - raises where the promise cannot be kept
        self._check_cut()

    @property
    def goal(self) -> Goal:
        """The promise in numbers of coins."""
        return Goal(
            lot_coins=self.lot_coins,
            bad_share=self.bad_share,
            notice=self.notice,
            risk_accept=round(1.0 - self.sure, 12),
            alarm_rate=self.alarm_rate,
            tolerated_share=self.tolerated_share,
            risk_measure_all=self.risk_measure_all,
        )

    def lines(self) -> Lines:
        """The lines of the method, for up to all coins of the lot (of the sample)."""
        goal = self.goal
        if self.method == Method.TWO_LOTS:
            return lines_within(goal.two_counts(), self.most_coins or self.lot_coins)
        if self.method == Method.ONE_SAMPLE:
            return lines_of_single_sample(self.sample_coins(), self.allowed)
        return lines_of_bets(goal, self.lot_coins)

    def _check_cut(self) -> None:
        """Only Wald's test can be cut off, and not so soon that a risk is not kept."""
        if not self.most_coins:
            return
        if self.method != Method.TWO_LOTS or not 0 < self.most_coins <= self.lot_coins:
            raise SettingsError(
                say("plan.most_wrong", most=self.most_coins, coins=self.lot_coins,
                    method=Method.TWO_LOTS.value)
            )  # fmt: skip
        test = self.goal.two_counts()
        if not keeps_its_risk(test, self.most_coins):
            raise SettingsError(
                say(
                    "plan.most_too_few",
                    most=self.most_coins,
                    clean=test.clean_coins,
                    measure_all=100 * risk_of_cut(test, self.most_coins),
                    promised=100 * self.risk_measure_all,
                    least=soonest_cut(test, self.most_coins),
                )
            )

    def sample_coins(self) -> int:
        """The smallest sample that keeps the promise of *accept* with up to ``allowed`` set
        aside; the whole lot where none does."""
        goal = self.goal
        bad, risk = goal.bad_coins, goal.risk_accept
        if self.notice == 1.0 and self.allowed < bad:
            return plan_for_share(self.lot_coins, bad, self.allowed, risk).coins
        low, high = self.allowed, self.lot_coins
        while high - low > 1:
            middle = (low + high) // 2
            wrong = chance_at_most(self.allowed, bad, self.lot_coins, middle, self.notice)
            if wrong <= risk:
                high = middle
            else:
                low = middle
        return high

    def tolerated_coins(self) -> int:
        """How many departing coins a clean lot may hold."""
        return coins_up_to(self.lot_coins, self.tolerated_share)

    def digest(self) -> str:
        """First 16 hex digits of the SHA-256 of all figures, names sorted (a figure that came
        later counts where it is used, so that older files keep theirs)."""
        told = asdict(self)
        if not self.most_coins:
            del told["most_coins"]
        text = json.dumps(told, sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()[:16]


def plan_text(plan: SamplingPlan) -> str:
    """The plan as a TOML file, every figure with its meaning beside it."""
    lines = [f"# {phrase('plan.file.head')}", f'schema = "{SCHEMA}"', ""]
    for field in fields(plan):
        value = getattr(plan, field.name)
        shown = json.dumps(value)
        lines.append(f"{field.name} = {shown}  # {phrase(f'plan.file.{field.name}')}")
    lines += ["", f'digest = "{plan.digest()}"  # {phrase("plan.file.digest")}']
    return "\n".join(lines) + "\n"


def plan_from_text(text: str, name: str) -> tuple[SamplingPlan, bool]:
    """The plan of a file called ``name``, and whether it is as it was written (its digest
    fits). SettingsError names file, key and mend."""
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(say("plan.file_unreadable", file=name, why=error)) from error
    written = found.pop("digest", "")
    found.pop("schema", "")
    known = {f.name: f for f in fields(SamplingPlan)}
    for key in found:
        if key not in known:
            raise SettingsError(
                say("plan.key_unknown", file=name, figure=key, keys=", ".join(known))
            )
    for key in ("lot_coins", "bad_share"):
        if key not in found:
            raise SettingsError(say("plan.key_missing", file=name, figure=key))
    for key, value in found.items():
        _check_kind(name, key, value, str(known[key].type))
    plan = SamplingPlan(**found)
    return plan, written == plan.digest()


def _check_kind(file: str, key: str, value: Any, kind: str) -> None:
    wanted: dict[str, tuple[type, ...]] = {"int": (int,), "float": (int, float), "str": (str,)}
    if isinstance(value, bool) or not isinstance(value, wanted[kind]):
        meant = phrase(f"plan.kind.{kind}")
        raise SettingsError(say("plan.kind_wrong", file=file, figure=key, value=value, kind=meant))


def figures(plan: SamplingPlan) -> dict[str, Any]:
    """All figures by name."""
    return asdict(plan)


def changed_figures(before: Mapping[str, Any], now: Mapping[str, Any]) -> Sequence[str]:
    """What differs between two plans' figures, in words: 'bad_share 0.01 -> 0.02'. A figure
    that an older record does not name yet stood at its default."""
    plain = {f.name: f.default for f in fields(SamplingPlan)}
    names = sorted({*before, *now})
    pairs = [(name, before.get(name, plain.get(name)), now.get(name)) for name in names]
    return [
        say("plan.changed_figure", name=name, before=old, now=new)
        for name, old, new in pairs
        if old != new
    ]


def first_coins_set_aside(lines: Lines) -> list[tuple[int, int]]:
    """For 1, 2, 3 ... coins set aside, up to how many coins drawn they say *measure all*:
    pairs (set aside, coins), as long as the pairs say something new."""
    pairs: list[tuple[int, int]] = []
    for count in range(1, int(lines.measure_all.max()) + 1):
        within = np.flatnonzero(lines.measure_all <= count)
        within = within[within >= count]
        if len(within) and (not pairs or within[-1] > pairs[-1][1]):
            pairs.append((count, int(within[-1])))
    return pairs
