"""The day strip: moving average and running sums of the residuals, check weights, who
measured."""

from __future__ import annotations

import numpy as np

from lotscreen.lot.day import Day
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.running import SUMS_MM, sums_area, thinned
from lotscreen.report.figures.style import (
    ACCENT,
    FAINT,
    GREY,
    INK,
    PAGE_WIDTH_MM,
    Paper,
    Sheet,
    label,
)
from lotscreen.report.numerals import whole
from lotscreen.report.printable import shortened
from lotscreen.words import phrase, say

_LEFT_MM, _RIGHT_MM = 9.0, 134.0
_PEOPLE_MM, _CHECKS_MM, _DRIFT_MM = 5.0, 22.0, 38.0
_AXIS_MM = 10.0
_MOST_POINTS = 2_000


def day_strip(day: Day) -> Picture:
    """Panels below each other on one axis; the check weights only where there are any."""
    checks = _CHECKS_MM + 8.0 if day.checks else 0.0
    height = _AXIS_MM + _PEOPLE_MM + 8.0 + checks + SUMS_MM + 8.0 + _DRIFT_MM + 6.0
    sheet = Sheet(PAGE_WIDTH_MM, height)
    x = (0.0, float(day.place[-1]) + 1.0)
    top = _AXIS_MM + _PEOPLE_MM
    people = Area(sheet.paper, (_LEFT_MM, _AXIS_MM, _RIGHT_MM, top), x, (0.0, 1.0))
    _draw_people(people, day)
    people.x_axis(phrase("report_plan.day.order_axis"), decimals=0)
    bottom = top + 8.0
    if day.checks:
        _draw_checks(Area(sheet.paper, (_LEFT_MM, bottom, _RIGHT_MM, bottom + _CHECKS_MM), x,
                          _check_span(day)), day)  # fmt: skip
        bottom += checks
    _draw_sums(sheet.paper, bottom, day)
    bottom += SUMS_MM + 8.0
    reach = 1.25 * max(float(np.abs(day.average_sd).max()), day.limit_sd)
    box = (_LEFT_MM, bottom, _RIGHT_MM, bottom + _DRIFT_MM)
    _draw_drift(Area(sheet.paper, box, x, (-reach, reach)), day)
    return sheet.picture(_alt(day), phrase("report_plan.day.caption"))


def _draw_drift(area: Area, day: Day) -> None:
    step = -(-len(day.place) // _MOST_POINTS)
    area.horizontal(0.0, color=GREY, linewidth=0.4)
    area.plot(day.place[::step], day.average_sd[::step], color=INK, linewidth=0.8)
    for limit in (day.limit_sd, -day.limit_sd):
        area.horizontal(limit, color=ACCENT, linestyle="--", linewidth=0.7)
    if day.signal_at:
        area.vertical(day.signal_at, color=GREY, linestyle=":")
    said = phrase("report_plan.day.limit")
    area.beside([(day.limit_sd, said), (-day.limit_sd, said)])
    area.x_axis("", decimals=0)
    area.y_axis(phrase("report_plan.day.residual_axis"))


def _draw_sums(paper: Paper, bottom: float, day: Day) -> None:
    place, up = thinned(day.place, day.sums.up)
    down = thinned(day.place, day.sums.down)[1]
    last, limit = float(day.place[-1]) + 1.0, day.sums.scheme.limit_sd
    area = sums_area(paper, bottom, last, place, up, down, limit)
    if day.sums.signal_at:
        area.vertical(day.sums.signal_at, color=GREY, linestyle=":")
    area.x_axis("", decimals=0)
    area.y_axis(phrase("report_plan.day.sums_axis"))


def _check_span(day: Day) -> tuple[float, float]:
    reach = max(max(abs(c.read_g - c.nominal_g), c.tolerance_g) for c in day.checks)
    return -1.25 * reach, 1.25 * reach


def _draw_checks(area: Area, day: Day) -> None:
    tolerance = max(c.tolerance_g for c in day.checks)
    area.horizontal(0.0, color=GREY, linewidth=0.4)
    for limit in (tolerance, -tolerance):
        area.horizontal(limit, color=ACCENT, linestyle="--", linewidth=0.7)
    for passes, shape in ((True, "o"), (False, "s")):
        chosen = [i for i, c in enumerate(day.checks) if c.passes == passes]
        if chosen:
            area.plot(
                day.check_place[chosen],
                [day.checks[i].read_g - day.checks[i].nominal_g for i in chosen],
                linestyle="none", marker=shape, markersize=4.2, clip=False,
                markeredgecolor=INK, markerfacecolor="white" if passes else ACCENT,
            )  # fmt: skip
    area.x_axis("", decimals=0)
    area.y_axis(phrase("report_plan.day.check_axis"), ticks=3)


def _draw_people(area: Area, day: Day) -> None:
    for number, stretch in enumerate(day.stretches):
        shade = FAINT if number % 2 else "white"
        area.columns(stretch.first - 0.5, stretch.last + 0.5, facecolor=shade, edgecolor=GREY,
                     linewidth=0.4)  # fmt: skip
        width = area.at_x(stretch.last) - area.at_x(stretch.first)
        name = shortened(stretch.person or phrase("report_plan.day.nobody"), 18)
        if width > 2.0 * len(name):
            middle = 0.5 * (stretch.first + stretch.last)
            area.text(middle, 0.5, label(name), ha="center", va="center", fontsize=7)


def people_of(day: Day) -> str:
    """Who measured, with the number of measurements."""
    counts: dict[str, int] = {}
    for stretch in day.stretches:
        counts[stretch.person] = counts.get(stretch.person, 0) + stretch.last - stretch.first + 1
    return ", ".join(
        say("report_plan.day.person", name=name or phrase("report_plan.day.nobody"), n=whole(n))
        for name, n in counts.items()
    )


def _alt(day: Day) -> str:
    return say(
        "report_plan.day.alt",
        n=whole(len(day.place)),
        checks=whole(len(day.checks)),
        failed=whole(sum(not c.passes for c in day.checks)),
        people=people_of(day),
    )
