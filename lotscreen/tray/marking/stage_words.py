"""Stages and their changes in words."""

from __future__ import annotations

from lotscreen.tray.marking.crossed import Estimate
from lotscreen.tray.marking.marked import Marked
from lotscreen.tray.marking.stages import BURST, QUIET, Change
from lotscreen.tray.marking.wording import number, per_cent
from lotscreen.words import phrase, say


def stage_name(marked: Marked, number_of: int) -> str:
    """A stage by its kind, its session, and which of its kind it is."""
    stage = marked.stages[number_of]
    same = [n for n, other in enumerate(marked.stages)
            if (other.name, other.session) == (stage.name, stage.session)]  # fmt: skip
    name = phrase(f"tray_marking.stage.{stage.name}")
    if stage.session:
        name = say("tray_marking.stage.in_session", name=name, session=stage.session)
    if len(same) > 1:
        name = say("tray_marking.stage.run", name=name, n=same.index(number_of) + 1)
    return name


def change_words(marked: Marked, number_of: int) -> list[str]:
    """What changed, for the class: skill and line apart, with intervals."""
    change = marked.changes[number_of]
    names = {"earlier": stage_name(marked, change.earlier),
             "later": stage_name(marked, change.later)}  # fmt: skip
    found = [
        say("tray_marking.stage.skill_change", what=_moved(change.skill, "skill"),
            **names, **_span(change.skill)),
        say("tray_marking.stage.line_change", what=_moved(change.line, "line"),
            **names, **_span(change.line)),
        say("tray_marking.stage.hit_change", **names, value=_points(change.hit.value),
            low=_points(change.hit.low), high=_points(change.hit.high)),
    ]  # fmt: skip
    if _is_prevalence(marked, change):
        key = "criterion_shift" if _shows(change.line) and not _shows(change.skill) else "open"
        found.append(phrase(f"tray_marking.stage.{key}"))
    else:
        found.append(say("tray_marking.stage.regression",
                         reliability=per_cent(change.reliability)))  # fmt: skip
    return found


def own_change_words(marked: Marked, code: str) -> list[str]:
    """One trainee's change between each pair of stages, and what luck alone would bring."""
    found = []
    for change in marked.changes:
        for one in change.people:
            if marked.grid.people[one.person] == code:
                names = {"earlier": stage_name(marked, change.earlier),
                         "later": stage_name(marked, change.later)}  # fmt: skip
                found.append(
                    say("tray_marking.stage.own_change", what=_moved(one.skill, "skill"),
                        luck=number(one.by_luck), **names, **_span(one.skill))
                )  # fmt: skip
    return found


def _is_prevalence(marked: Marked, change: Change) -> bool:
    names = marked.stages[change.earlier].name, marked.stages[change.later].name
    return names == (QUIET, BURST)


def _shows(estimate: Estimate) -> bool:
    return estimate.low > 0 or estimate.high < 0


def _moved(estimate: Estimate, what: str) -> str:
    if not _shows(estimate):
        return phrase("tray_marking.stage.no_change")
    return phrase(f"tray_marking.stage.{what}_{'up' if estimate.value > 0 else 'down'}")


def _span(estimate: Estimate) -> dict[str, str]:
    return {"value": number(estimate.value), "low": number(estimate.low),
            "high": number(estimate.high)}  # fmt: skip


def _points(share: float) -> str:
    return number(100 * share, 0)
