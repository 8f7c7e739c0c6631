"""The looks that were taken under a plan, one line of JSON each; what was changed between."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from typing import Any

from lotscreen.records import SettingsError
from lotscreen.sequential.sampling_plan import SamplingPlan, changed_figures, figures
from lotscreen.sequential.stopping import StopState
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class Look:
    """One look: the plan's figures then, coins that counted, set aside, what was said."""

    plan: Mapping[str, Any]
    coins: int
    low: int
    high: int
    decision: str


def look_of(state: StopState) -> Look:
    """The look that a state is."""
    plan = figures(state.plan)
    return Look(plan, state.drawn, state.low, state.high, state.decision)


def look_line(look: Look) -> str:
    """The look as its line of the record, without a line end."""
    return json.dumps(asdict(look), sort_keys=True)


def looks_from_text(text: str, name: str) -> tuple[Look, ...]:
    """The looks of a record called ``name``; SettingsError names a line that is none."""
    looks = []
    wanted = {f.name for f in fields(Look)}
    for number, line in enumerate(text.splitlines(), 1):
        try:
            found = json.loads(line)
        except ValueError as error:
            raise SettingsError(
                say("plan.stop.looks_unreadable", file=name, line=number)
            ) from error
        if not isinstance(found, dict) or set(found) != wanted:
            raise SettingsError(say("plan.stop.looks_unreadable", file=name, line=number))
        looks.append(Look(**found))
    return tuple(looks)


def changes(looks: Sequence[Look], plan: SamplingPlan) -> tuple[str, ...]:
    """Each change of the plan after coins had been looked at, in words."""
    plans = [*(look.plan for look in looks), figures(plan)]
    said = []
    for look, later in zip(looks, plans[1:], strict=True):
        changed = changed_figures(look.plan, later)
        if changed and look.coins:
            said.append(say("plan.stop.changed", coins=look.coins, figures="; ".join(changed)))
    return tuple(said)
