"""What was assumed of the coins of one type before the fit, and what they said themselves."""

from __future__ import annotations

import numpy as np

from lotscreen.lot.statement import Assumption, Ridge, WearRate
from lotscreen.records import Floats
from lotscreen.settings import Settings
from lotscreen.wear import TypeFit, grid
from lotscreen.wear.allowance import slick_wear
from lotscreen.wear.gauge_fit import THICKNESS_PER_WEAR, THICKNESS_PER_WEAR_SD, WEAR_SPREAD
from lotscreen.wear.known import SLICK_KNOWN
from lotscreen.wear.shape import TAIL_LOG_SD, default_shape
from lotscreen.wear.struck import TAIL_SHARE, TAIL_TIMES
from lotscreen.wear.type_fit import UNLIKE_LOG_SD
from lotscreen.words import say

_TO_SD = float(np.sqrt(1 - TAIL_SHARE + TAIL_SHARE * TAIL_TIMES**2))


def assumptions(
    fit: TypeFit, settings: Settings, ridge: Ridge, rate: WearRate | None, date_note: str
) -> tuple[Assumption, ...]:
    """One line for each width that was declared, the lot's own word beside it."""
    shift = say("lot_types.assumed.shift_said", shift=100 * fit.struck.shift)
    checks = "scale_checked" if fit.belief.from_checks else "scale"
    per_year = 100 * fit.coin_type.wear_per_year * settings.wear_factor
    lines = (
        ("scale", say(f"lot_types.assumed.{checks}_declared", error=100 * fit.belief.error,
                      width=100 * fit.belief.sd), shift),
        ("mint", say("lot_types.assumed.mint_declared", width=100 * settings.mint_bias_width),
         say("lot_types.assumed.with_scale")),
        ("wear", say("lot_types.assumed.wear_declared", rate=per_year,
                     factor=float(np.exp(fit.coin_type.wear_log_sd))), _rate_said(rate)),
        ("end", say("lot_types.assumed.end_declared", year=fit.circulation_end,
                    width=settings.circulation_end_width),
         say("lot_types.assumed.end_said", years=ridge.more_years)),
        ("date", say("lot_types.assumed.date_declared"), date_note),
        ("shape", say("lot_types.assumed.shape_declared", tail=TAIL_LOG_SD,
                      spread=100 * _spread(default_shape())),
         say("lot_types.assumed.shape_said", spread=100 * _spread(fit.shape))),
        ("unlike", say("lot_types.assumed.unlike_declared", share=100 * fit.worn_unlike,
                       factor=float(np.exp(UNLIKE_LOG_SD))),
         say("lot_types.assumed.unlike_said", coins=fit.coins)),
        ("slick", say("lot_types.assumed.slick_declared", share=100 * SLICK_KNOWN,
                      wear=100 * slick_wear(fit.coin_type)),
         say("lot_types.assumed.slick_said", share=100 * fit.slick_known)),
        ("struck", say("lot_types.assumed.struck_declared", sd=_TO_SD * fit.struck_prior_sd_g,
                       share=100 * TAIL_SHARE, times=TAIL_TIMES),
         say("lot_types.assumed.struck_said", sd=_TO_SD * fit.struck.sd_g)),
        *_of_thickness(fit),
    )  # fmt: skip
    return tuple(
        Assumption(say(f"lot_types.assumed.{key}"), declared, said) for key, declared, said in lines
    )


def _of_thickness(fit: TypeFit) -> tuple[tuple[str, str, str], ...]:
    """The same of the change of thickness with wear, where lot-mates tell it."""
    gauge = fit.thickness
    if not (gauge.speaks and gauge.free_slope):
        return ()
    declared = say("lot_types.assumed.thickness_declared", slope=THICKNESS_PER_WEAR,
                   sd=THICKNESS_PER_WEAR_SD, spread=100 * WEAR_SPREAD)  # fmt: skip
    allowed = float(np.hypot(gauge.wear_spread, gauge.wear_doubt))
    said = say("lot_types.assumed.thickness_said", slope=-gauge.slope_mm / gauge.reference_mm,
               spread=100 * gauge.wear_spread, allowed=100 * allowed)  # fmt: skip
    return (("thickness", declared, said),)


def _rate_said(rate: WearRate | None) -> str:
    if rate is None:
        return say("lot_types.rate.no_date")
    return say("lot_types.assumed.wear_said", rate=rate.percent, low=rate.wide_low_percent,
               high=rate.wide_high_percent)  # fmt: skip


def _spread(shape: Floats) -> float:
    """Standard deviation over mean of the wear of coins of one date."""
    mean = float(shape @ grid.FACTOR)
    square = float(shape @ np.square(grid.FACTOR))
    return float(np.sqrt(max(square - mean**2, 0.0)) / mean)
