"""Who stands out beyond chance: blind to a kind, suspicious, hasty at the end.

Everybody is looked at in many ways; all looks together name anyone who does not differ in
five sets of a hundred at most.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from lotscreen.tray.marking.chances import holm
from lotscreen.tray.marking.detection import criterion
from lotscreen.tray.marking.grid import Grid, hits_and_alarms
from lotscreen.tray.marking.kinds import KindMark
from lotscreen.tray.marking.pace import Pace

ALL_LOOKS = 0.03
"""Of the five sets in a hundred that are promised, two are kept for what the tests leave out:
trainees who are alike still differ a little from sense to sense."""

TOLERATED_ALARMS = 0.10
"""Share of honest pieces that a good teller may hold up (assumed; the example of a pass
rule has 9 of 95)."""

BLIND, SUSPICIOUS, HASTY = "blind", "suspicious", "hasty"


@dataclass(frozen=True, slots=True)
class StandOut:
    """One trainee named for one thing; ``kind`` where that is a kind of piece. ``p_value``
    is corrected for all looks."""

    person: int
    what: str
    kind: str
    p_value: float


def stand_outs(
    grid: Grid, kinds: Sequence[KindMark], paces: Sequence[Pace]
) -> tuple[StandOut, ...]:
    """All that are named, in the order of the trainees."""
    looks = [(k.person, BLIND, k.kind, k.p_value, k.plain) for k in kinds if k.false]
    suspicion, plainly = _suspicion(grid)
    for person in range(len(grid.people)):
        looks.append((person, SUSPICIOUS, "", suspicion[person], plainly[person]))
        looks.append((person, HASTY, "", paces[person].p_value, True))
    adjusted = holm(np.array([look[3] for look in looks], dtype=np.float64))
    found = [
        StandOut(person, what, kind, float(p))
        for (person, what, kind, _, plain), p in zip(looks, adjusted, strict=True)
        if plain and p < ALL_LOOKS
    ]
    return tuple(sorted(found, key=lambda one: (one.person, one.what, one.kind)))


def _suspicion(grid: Grid) -> tuple[np.ndarray, np.ndarray]:
    """The chance of so many false alarms in one who tolerates what a good teller may, or in
    one like the others on the same pieces, whichever is greater; and whether c is below 0."""
    hits, of_false, alarms, of_honest = hits_and_alarms(grid)
    c = criterion(hits, of_false, alarms, of_honest)
    found = np.full(len(grid.people), np.nan)
    for person, (k, n) in enumerate(zip(np.floor(alarms), of_honest, strict=True)):
        if n == 0:
            continue
        beyond = float(stats.binom.sf(k - 1, n, TOLERATED_ALARMS))
        rest, of_rest = alarms.sum() - alarms[person], of_honest.sum() - n
        like = 0.0
        if of_rest:
            table = np.array([[k, n - k], [np.floor(rest), of_rest - np.floor(rest)]])
            like = float(stats.fisher_exact(table, "greater").pvalue)
        found[person] = max(beyond, like)
    return found, np.asarray(c < 0)
