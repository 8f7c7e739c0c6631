"""What is said of rolls and grades that have levels of wear of their own."""

from __future__ import annotations

import numpy as np

from lotscreen.quantities import GRADES
from lotscreen.wear import TypeFit
from lotscreen.words import say

_MIDDLE = (0.05, 0.95)
_MOST_ODDS = 1e6


def level_notes(fit: TypeFit) -> list[str]:
    """A sentence on the rolls and one on the grades of a type, none where it has none."""
    return [*_of_groups(fit), *_of_grades(fit)]


def _of_groups(fit: TypeFit) -> list[str]:
    groups = fit.groups
    if groups is None:
        return []
    odds = float(np.exp(min(abs(groups.log_evidence), np.log(_MOST_ODDS))))
    facts = {"n": len(groups.names), "odds": f"{odds:,.0f}" if odds >= 10 else f"{odds:.1f}"}
    if not groups.told:
        key = "groups_open" if groups.matter else "no_groups"
        return [say(f"lot_types.levels.{key}", **facts)]
    low, high = np.quantile(groups.factors(), _MIDDLE)
    return [say("lot_types.levels.groups", low=low, high=high, **facts)]


def _of_grades(fit: TypeFit) -> list[str]:
    grades = fit.grades
    if grades is None:
        return []
    loss = 100 * fit.wear_by_grade()
    each = ", ".join(
        say("lot_types.levels.grade", name=say(f"lot_types.grade.{name}"), loss=loss[k])
        for k, name in enumerate(GRADES)
        if grades.coins[k] >= 0.5
    )
    return [say("lot_types.levels.grades", each=each)]
