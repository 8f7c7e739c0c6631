"""Law and fairness, on every report of marks: permission, codes, appeal, retention,
adjustments, and what marks cannot say."""

from __future__ import annotations

from dataclasses import dataclass

from lotscreen.report.blocks import Block, Heading, Items, Paragraph, SignLines
from lotscreen.words import phrase, say, table


@dataclass(frozen=True, slots=True)
class House:
    """What the house adds to every report: the day until which answers are kept, to whom
    one may appeal, the permission under which pieces are held; '' leaves a blank line."""

    kept_until: str = ""
    appeal_to: str = ""
    permission: str = ""


def fairness(house: House, rights: bool) -> list[Block]:
    """For a trainee (``rights``) or for the supervisor."""
    blank = phrase("tray_marking.law.blank")
    facts = {
        "until": house.kept_until or blank,
        "whom": house.appeal_to or blank,
        "permission": house.permission or blank,
    }
    keys = table("tray_marking")["law"]["trainee" if rights else "supervisor"]
    side = "trainee" if rights else "supervisor"
    blocks: list[Block] = [
        Heading(phrase(f"tray_marking.law.head_{side}")),
        Items(tuple(text.format(**facts) for text in keys)),
    ]
    if rights:
        blocks.append(Paragraph(say("tray_marking.law.appeal", **facts), "note"))
    else:
        blocks.append(SignLines(tuple(table("tray_marking")["law"]["sign"])))
    return blocks
