"""What ``stop`` found, in sentences: the answer, the bounds, what to fetch next, cautions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from lotscreen.lot.what_is_seen import seen_sentence
from lotscreen.records import Ints
from lotscreen.sequential.draw import place_of
from lotscreen.sequential.sampling_plan import SamplingPlan
from lotscreen.sequential.stop_words import answer, bounds, later_coins, outlook
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.stopping import Stop

_MOST_PLACES = 40
"""Coins named by their places; the others are counted."""


def stop_sentences(found: Stop, changed: Sequence[str]) -> list[str]:
    """All sentences, the answer first; ``changed`` tells changes of the plan."""
    state = found.state
    said = [answer(state), *changed]
    if state.drawn == found.plan.lot_coins and not len(found.skipped):
        said.append(say("plan.stop.all_measured", coins=state.drawn))
    if found.top:
        said.append(say("plan.stop.top"))
    if found.rising:
        said.append(say("plan.stop.lies_in_order"))
    said += later_coins(state)
    said += bounds(state)
    if found.seen:
        lengths = any(kind.lengths for kind in found.seen)
        said += [seen_sentence(found.seen, b.bet.notice, lengths) for b in state.bounds]
        said.append(say("plan.seen.never"))
    said += _unsettled(found)
    said += _next(found)
    if found.expected is not None:
        said.append(outlook(state, found.expected))
    if found.beside:
        said.append(say("plan.stop.beside", coins=found.beside))
    if found.rolls is not None:
        said.append(found.rolls.note)
    said.append(say("plan.stop.frozen" if found.frozen else "plan.stop.not_frozen"))
    return said


def places(numbers: Ints, plan: SamplingPlan, most: int = _MOST_PLACES) -> str:
    """Where coins lie: 'roll 3: 4, 17; roll 7: 2', or their numbers for loose coins; those
    beyond ``most`` are counted."""
    found = [place_of(int(number), plan.roll_coins) for number in numbers[:most]]
    more = len(numbers) - len(found)
    rest = [say("plan.list.more", n=more)] if more else []
    if not plan.roll_coins:
        return ", ".join([*(str(place.number) for place in found), *rest])
    rolls = dict.fromkeys(place.roll for place in found)
    entries = [
        say(
            "plan.list.roll",
            roll=roll,
            positions=", ".join(str(p.position) for p in found if p.roll == roll),
        )
        for roll in rolls
    ]
    return "; ".join([*entries, *rest])


def _unsettled(found: Stop) -> list[str]:
    said = []
    state = found.state
    if state.high > state.low:
        said.append(say("plan.stop.unsettled", coins=state.high - state.low))
    if found.settle_first:
        first = list(found.settle_first[:_MOST_PLACES])
        more = len(found.settle_first) - len(first)
        named = ", ".join([*first, *([say("plan.list.more", n=more)] if more else [])])
        said.append(say("plan.stop.settle_first", coins=named))
    if len(found.skipped):
        said.append(say("plan.stop.skipped", coins=places(found.skipped, found.plan)))
    return said


def _next(found: Stop) -> list[str]:
    if found.expected is None:
        return []
    if not len(found.fetch):
        return [say("plan.stop.none_left")]
    begun = len(found.fetch) < min(found.plan.batch_coins, found.plan.lot_coins - found.state.drawn)
    key = "rest_of_batch" if begun else "next"
    return [say(f"plan.stop.{key}", coins=places(np.sort(found.fetch), found.plan))]
