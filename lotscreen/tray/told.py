"""A set in words, for whoever built it: what is in it, and what to do next."""

from __future__ import annotations

import numpy as np

from lotscreen.tray.built import BuiltSet
from lotscreen.tray.purpose import shown_if_all_found
from lotscreen.words import phrase, say

_ENOUGH = 30  # pieces that are not honest, the least that marks of a series should rest on


def built_sentences(built: BuiltSet) -> list[str]:
    """What was built, how equal the trays are, what stayed out, what to do first."""
    order = built.order
    who = ", ".join(built.trainees) or phrase("tray_building.front.anybody")
    key = "built" if len(built.trays) > 1 else "built_one"
    facts = {"name": order.name, "n": len(built.trays), "purpose": order.purpose.key, "who": who}
    said = [
        say(f"tray_building.says.{key}", **facts),
        _equal(built),
        *certifying_sentences(built),
        *built.practised,
    ]  # fmt: skip
    out = sum(bool(p.usable) for p in built.pieces)
    if out:
        said.append(say("tray_building.says.unusable", n=out))
    if built.doubts:
        said.append(say("tray_building.says.doubts", n=built.doubts, file=built.source))
    if built.invented:
        said.append(phrase("tray_building.fair.invented"))
    said.append(
        phrase("tray_building.says.next_desk" if built.invented else "tray_building.says.next")
    )
    return said


def certifying_sentences(built: BuiltSet) -> list[str]:
    """What the trays can certify at best, where they are meant to."""
    if not built.order.purpose.certifies:
        return []
    most = built.order.purpose.not_honest[1] * len(built.trays)
    said = [say("tray_building.says.certifies", most=most, shown=100 * shown_if_all_found(most))]
    if most < _ENOUGH:
        shown = 100 * shown_if_all_found(_ENOUGH)
        said.append(say("tray_building.says.too_few", enough=_ENOUGH, shown=shown))
    return said


def _equal(built: BuiltSet) -> str:
    """How far apart the trays are, without telling how many pieces are of which sort."""
    means = [
        float(np.mean([c.piece.difficulty for c in tray.cells if c.piece.tellable]))
        for tray in built.trays
    ]
    if len(means) < 2:
        return say("tray_building.says.one_tray", mean=means[0])
    return say("tray_building.says.equal", low=min(means), high=max(means))
