"""Operating characteristic and average sample number of a plan, beside each other."""

from __future__ import annotations

import numpy as np

from lotscreen.records import Floats
from lotscreen.report.blocks import Picture
from lotscreen.report.figures.area import Area
from lotscreen.report.figures.style import ACCENT, GREY, HALF_WIDTH_MM, INK, Sheet
from lotscreen.report.numerals import fixed, whole
from lotscreen.sequential.curve import Curve
from lotscreen.sequential.outlook import minutes_for
from lotscreen.sequential.sampling_plan import SamplingPlan
from lotscreen.words import phrase, say

_HEIGHT_MM = 56.0
_BOX = (9.0, 9.0, HALF_WIDTH_MM - 5.0, _HEIGHT_MM - 5.0)


def characteristic(plan: SamplingPlan, curve: Curve) -> Picture:
    """Chance to accept against the share of the lot that the screen would set aside."""
    share = _share(plan, curve)
    sheet = Sheet(HALF_WIDTH_MM, _HEIGHT_MM)
    area = Area(sheet.paper, _BOX, (0.0, float(share[-1])), (0.0, 100.0))
    area.plot(share, 100.0 * curve.accept, color=INK)
    area.plot(share, 100.0 * curve.measure_all, color=GREY, linestyle="--")
    _marks(area, plan)
    area.x_axis(phrase("report_plan.plan.share_axis"), ticks=5)
    area.y_axis(phrase("report_plan.plan.chance_axis"), decimals=0)
    clean, bad = (
        fixed(100.0 * float(np.interp(n, curve.departing, curve.accept)), 1)
        for n in (plan.goal.clean_coins, plan.goal.bad_noticed)
    )
    alt = say("report_plan.plan.alt_characteristic", clean=clean, bad=bad)
    return sheet.picture(alt, phrase("report_plan.plan.caption_characteristic"))


def sample_number(plan: SamplingPlan, curve: Curve) -> Picture:
    """Mean number of coins to a decision against the same share."""
    share = _share(plan, curve)
    sheet = Sheet(HALF_WIDTH_MM, _HEIGHT_MM)
    top = 1.1 * float(curve.average_coins.max())
    area = Area(sheet.paper, _BOX, (0.0, float(share[-1])), (0.0, top))
    area.plot(share, curve.average_coins, color=INK)
    _marks(area, plan)
    area.x_axis(phrase("report_plan.plan.share_axis"), ticks=5)
    area.y_axis(phrase("report_plan.plan.coins_axis"), decimals=0)
    most = float(curve.average_coins.max())
    alt = say(
        "report_plan.plan.alt_number",
        least=whole(round(float(curve.average_coins[0]))),
        most=whole(round(most)),
        minutes=whole(round(minutes_for(most, plan.seconds_per_coin))),
    )
    return sheet.picture(alt, phrase("report_plan.plan.caption_number"))


def _share(plan: SamplingPlan, curve: Curve) -> Floats:
    return 100.0 * curve.departing / plan.lot_coins


def _marks(area: Area, plan: SamplingPlan) -> None:
    """Where the clean and the bad lot are."""
    for coins in (plan.goal.clean_coins, plan.goal.bad_noticed):
        area.vertical(100.0 * coins / plan.lot_coins, color=ACCENT, linestyle=":", linewidth=0.8)
