"""The bid drawn as steps from melt down to bid, the bad case beside."""

from __future__ import annotations

import textwrap

from matplotlib.patches import Rectangle

from lotscreen.money.offer import Bid, Step
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.style import ACCENT, GREY, INK, PAGE_WIDTH_MM, PALE, Sheet
from lotscreen.report.numerals import whole
from lotscreen.words import phrase, say

_HEIGHT_MM = 76.0
_BOX = (14.0, 11.0, PAGE_WIDTH_MM - 2.0, _HEIGHT_MM - 9.0)
_ENDS = ("melt", "bid")
_HALF = 0.36
_ROOM = 0.12
_NAME_SIGNS = 18


def offer_steps(bid: Bid, way: str, currency: str) -> Picture:
    """Each step as a bar that hangs from what was left before it; mean filled, bad case
    outlined. The axis starts near the lower bid, and says so."""
    sheet = Sheet(PAGE_WIDTH_MM, _HEIGHT_MM)
    high, low = bid.melt, min(bid.bid, bid.bid_bad)
    room = _ROOM * max(high - low, 0.01 * high)
    floor = max(low - 2 * room, 0.0)
    area = Area(sheet.paper, _BOX, (-0.6, len(bid.steps) - 0.4), (floor, high + room))
    for place, step in enumerate(bid.steps):
        _draw_step(area, place, step, floor)
    _draw_levels(area, bid)
    area.y_axis(say("money.figure.axis", currency=currency), decimals=0)
    area.paper.plot([area.left, area.right], [area.bottom] * 2, color=GREY, linewidth=0.5)
    alt = say("money.figure.alt", way=way, melt=whole(bid.melt), bid=whole(bid.bid),
              bad=whole(bid.bid_bad), currency=currency)  # fmt: skip
    return sheet.picture(alt, say("money.figure.caption", way=way))


def _draw_step(area: Area, place: int, step: Step, floor: float) -> None:
    ends = step.key in _ENDS
    for left, off, at, bad in (
        (step.left, step.off, place - _HALF, False),
        (step.left_bad, step.off_bad, place + 0.02, True),
    ):
        bottom, top = (floor, left) if ends else (left, left + off)
        bottom, top = min(bottom, top), max(bottom, top)
        face = "none" if bad else ACCENT if ends else PALE
        area.patch(
            Rectangle((at, bottom), _HALF - 0.02, top - bottom, linewidth=0.5, facecolor=face,
                      edgecolor=INK)
        )  # fmt: skip
    shown = max(step.left, step.left + step.off)
    text = whole(round(step.left if ends else -step.off))
    area.text(place - 0.5 * _HALF, shown, text, ha="center", va="bottom", fontsize=7)
    bad_text = whole(round(step.left_bad if ends else -step.off_bad))
    below = min(step.left_bad, step.left_bad + step.off_bad)
    if step.key == "bid":
        area.text(place + 0.5 * _HALF, step.left_bad, bad_text, ha="center", va="bottom",
                  fontsize=7, color=GREY)  # fmt: skip
    elif not ends:
        area.paper.text(area.at_x(place + 0.5 * _HALF), area.at_y(below) - 0.8, bad_text,
                        ha="center", va="top", fontsize=7, color=GREY)  # fmt: skip
    name = "\n".join(textwrap.wrap(phrase(f"money.step.{step.key}"), _NAME_SIGNS))
    area.paper.text(area.at_x(place), area.bottom - 1.5, name, ha="center", va="top", fontsize=7.4)


def _draw_levels(area: Area, bid: Bid) -> None:
    """What is left, carried over to the next step."""
    for place, (step, _) in enumerate(zip(bid.steps, bid.steps[1:], strict=False)):
        area.plot([place - _HALF, place + 1 - _HALF], [step.left] * 2, color=GREY, linewidth=0.4)
        area.plot(
            [place + 0.02, place + 1.02], [step.left_bad] * 2, color=GREY, linewidth=0.4,
            linestyle=":",
        )  # fmt: skip
