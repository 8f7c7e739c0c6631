"""A pass rule in words: whom it passes by chance, who passed, how many trays are needed."""

from __future__ import annotations

from lotscreen.tray.marking.detection import exact_moments, standard_error
from lotscreen.tray.marking.pass_rule import FAILED, OPEN, PassRule, trays_needed
from lotscreen.tray.marking.people import PersonMarks
from lotscreen.tray.marking.wording import count, number, per_cent
from lotscreen.words import phrase, say


def rule_words(rule: PassRule) -> list[str]:
    """What was fixed, and the joint chance to pass of each example."""
    found = [
        say("tray_marking.pass.fixed", trays=rule.trays, hits=rule.least_hits,
            of_false=rule.false_pieces, alarms=rule.most_false_alarms,
            of_honest=rule.honest_pieces, digest=rule.digest[:12])
    ]  # fmt: skip
    for one in rule.examples:
        found.append(
            say("tray_marking.pass.chance", name=phrase(f"tray_marking.pass.{one.name}"),
                hits=per_cent(one.hits), alarms=per_cent(one.false_alarms),
                chance=per_cent(rule.chance(one)))
        )  # fmt: skip
    return [*found, *_needed(rule), *_one_tray(rule)]


def _needed(rule: PassRule) -> list[str]:
    needed = trays_needed(rule)
    risks = {"weak": per_cent(rule.risk_pass_weak), "good": per_cent(rule.risk_fail_good)}
    if needed.trays == 0:
        return [say("tray_marking.pass.never", **risks)]
    found = [
        say("tray_marking.pass.needed", trays=needed.trays, hits=needed.least_hits,
            of_false=needed.false_pieces, alarms=needed.most_false_alarms,
            of_honest=needed.honest_pieces, **risks)
    ]  # fmt: skip
    if needed.trays > rule.trays:
        found.append(phrase("tray_marking.pass.too_few"))
    return found


def _one_tray(rule: PassRule) -> list[str]:
    """A word where one tray is asked to certify."""
    if rule.trays > 1:
        return []
    fair = rule.fair
    error = standard_error(fair.hits, fair.false_alarms, rule.false_pieces, rule.honest_pieces)
    return [
        say("tray_marking.pass.one_tray", weak=per_cent(rule.chance(rule.weak)),
            error=number(error, 1))
    ]  # fmt: skip


def precision_words(of_false: int, of_honest: int, rule: PassRule | None) -> str:
    """How far one trainee's d' is open with so many pieces: of the rule's fair trainee, else
    of one with 80 % hits and 10 % false alarms (assumed)."""
    hits, alarms = (rule.fair.hits, rule.fair.false_alarms) if rule else (0.8, 0.1)
    error = standard_error(hits, alarms, of_false, of_honest)
    mean, spread = exact_moments(hits, alarms, of_false, of_honest)
    return say(
        "tray_marking.pass.precision", of_false=of_false, of_honest=of_honest,
        hits=per_cent(hits), alarms=per_cent(alarms), error=number(error), mean=number(mean),
        spread=number(spread),
    )  # fmt: skip


def verdict_words(rule: PassRule, person: PersonMarks) -> list[str]:
    """What the rule says of one trainee, and what it would say by chance."""
    verdict = rule.verdict(person.hits, person.of_false, person.alarms, person.of_honest)
    facts = {
        "hits": count(person.hits), "of_false": person.of_false,
        "alarms": count(person.alarms), "of_honest": person.of_honest,
        "least": rule.least_hits, "most": rule.most_false_alarms,
        "rule_false": rule.false_pieces, "rule_honest": rule.honest_pieces,
    }  # fmt: skip
    found = [say(f"tray_marking.pass.verdict_{verdict}", **facts)]
    if verdict in (FAILED, OPEN):
        chance = per_cent(1.0 - rule.chance(rule.fair))
        found.append(say("tray_marking.pass.fails_fair", chance=chance))
    return found
