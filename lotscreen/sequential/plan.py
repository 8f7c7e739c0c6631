"""The fixed rule of a running chart: all limits known before the first counted coin."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from lotscreen.records import Bools, Floats, SettingsError
from lotscreen.sequential.cusum import CusumScheme
from lotscreen.sequential.exact import exact_curve
from lotscreen.sequential.run_length import scheme_for
from lotscreen.sequential.wald import WaldPlan
from lotscreen.settings import Settings
from lotscreen.words import say

REFERENCE_SD = 0.5
"""Half the shift of the residuals to notice soonest: one standard deviation (assumed)."""

CLIP_SD = 3.0
"""The most that one residual counts in a running sum; 3 honest coins in 1,000 exceed it."""

FALSE_SIGNAL_CHANCE = 0.01
"""Share of unchanging lots in which a running sum about a centre fixed before may signal: as
much as one question asked of the lot as a whole may (assumed)."""

LEAST_FIRST_COINS = 50
"""Fewer coins know neither centre nor spread well enough to freeze them (assumed)."""


class LimitsFrom(StrEnum):
    """Where the limits come from; all three are known before the first counted coin."""

    SETTINGS = "settings"
    EARLIER_FIT = "earlier fit"
    FIRST_COINS = "first coins"


@dataclass(frozen=True, slots=True)
class FrozenCentre:
    """Centre and standard deviation of the residuals, in the residuals' own unit, fixed
    before the first counted coin."""

    centre_z: float
    sd_z: float


@dataclass(frozen=True, slots=True)
class FixedRule:
    """Limits fixed before the first counted coin, and what they rest on.

    ``alarm_rate_upper`` is the upper bound of the share of honest coins that the screen
    sets aside, ``tolerated_share`` the share of departing coins that a clean lot may
    hold, ``chance_to_notice`` the share of those that the screen sets aside. The clean
    hypothesis of ``wald`` is at least their sum (alarms + tolerated x noticed), else a
    SettingsError tells how often an all-honest lot of ``lot_coins`` would be refused; so
    does a lot without a coin to count raise one.
    ``first_coins`` coins come before the first counted one. ``draw`` says how the coins
    were drawn at random ('' : they were not, or nobody wrote it down). ``centre`` and
    ``cusum`` are None where no centre was fixed before.
    """

    wald: WaldPlan
    alarm_rate_upper: float
    tolerated_share: float
    lot_coins: int
    limits_from: LimitsFrom
    chance_to_notice: float = 1.0
    first_coins: int = 0
    draw: str = ""
    centre: FrozenCentre | None = None
    cusum: CusumScheme | None = None

    def __post_init__(self) -> None:
        if self.lot_coins <= self.first_coins:
            raise SettingsError(
                say("sequential.no_coin_counts", first=self.first_coins, coins=self.lot_coins)
            )
        least = self.least_clean_share
        if self.wald.clean_share >= least * (1.0 - 1e-12):
            return
        curve = exact_curve(self.wald, np.array([self.alarm_rate_upper]), self.lot_coins)
        raise SettingsError(
            say(
                "sequential.clean_share_too_low",
                clean=self.wald.clean_share,
                least=least,
                alarm=self.alarm_rate_upper,
                tolerated=self.tolerated_share * self.chance_to_notice,
                coins=self.lot_coins,
                refused=100.0 * curve.measure_all[0],
            )
        )

    @property
    def least_clean_share(self) -> float:
        """The lowest clean hypothesis that does not count honest alarms as departures."""
        return self.alarm_rate_upper + self.tolerated_share * self.chance_to_notice


def rule_from_settings(
    settings: Settings, alarm_rate_upper: float, lot_coins: int, draw: str = ""
) -> FixedRule:
    """Limits of the share from the settings alone; no centre for the running sums, because
    residuals about a fit to this very lot have no centre that was fixed before."""
    return FixedRule(
        wald=wald_plan(settings, alarm_rate_upper),
        alarm_rate_upper=alarm_rate_upper,
        tolerated_share=settings.clean_share,
        lot_coins=lot_coins,
        limits_from=LimitsFrom.SETTINGS,
        draw=draw,
    )


def rule_from_earlier_fit(
    settings: Settings, alarm_rate_upper: float, lot_coins: int, draw: str = ""
) -> FixedRule:
    """As above, for residuals z standardised by a fit made before this lot: its centre is
    0 and its standard deviation 1."""
    return FixedRule(
        wald=wald_plan(settings, alarm_rate_upper),
        alarm_rate_upper=alarm_rate_upper,
        tolerated_share=settings.clean_share,
        lot_coins=lot_coins,
        limits_from=LimitsFrom.EARLIER_FIT,
        draw=draw,
        centre=FrozenCentre(0.0, 1.0),
        cusum=scheme_for(lot_coins, FALSE_SIGNAL_CHANCE, REFERENCE_SD, CLIP_SD),
    )


def rule_from_first_coins(
    settings: Settings,
    alarm_rate_upper: float,
    lot_coins: int,
    first_residual_z: Floats,
    first_unusable: Bools,
    draw: str = "",
) -> FixedRule:
    """As above, with centre and spread of the first coins, which then do not count.

    ``first_residual_z`` and ``first_unusable`` (set aside or unsettled) are 1-D arrays of
    the first coins in measuring order. SettingsError where fewer than 50 are usable or
    they are all alike.
    """
    usable = first_residual_z[~first_unusable & np.isfinite(first_residual_z)]
    spread = float(usable.std(ddof=1)) if len(usable) >= LEAST_FIRST_COINS else 0.0
    counted = lot_coins - len(first_residual_z)
    if not spread > 0.0 or counted < 1:
        raise SettingsError(
            say(
                "sequential.first_coins_too_few",
                first=len(first_residual_z),
                usable=len(usable),
                least=LEAST_FIRST_COINS,
                coins=lot_coins,
            )
        )
    return FixedRule(
        wald=wald_plan(settings, alarm_rate_upper),
        alarm_rate_upper=alarm_rate_upper,
        tolerated_share=settings.clean_share,
        lot_coins=lot_coins,
        limits_from=LimitsFrom.FIRST_COINS,
        first_coins=len(first_residual_z),
        draw=draw,
        centre=FrozenCentre(float(usable.mean()), spread),
        cusum=scheme_for(counted, FALSE_SIGNAL_CHANCE, REFERENCE_SD, CLIP_SD, len(usable)),
    )


def wald_plan(settings: Settings, alarm_rate_upper: float) -> WaldPlan:
    """The two hypotheses of the settings: clean is the honest alarms' upper bound plus the
    tolerated share. SettingsError where the bad share is not above that."""
    clean = alarm_rate_upper + settings.clean_share
    if not clean < settings.bad_share:
        raise SettingsError(
            say(
                "sequential.bad_share_too_low",
                bad=settings.bad_share,
                clean=clean,
                alarm=alarm_rate_upper,
                tolerated=settings.clean_share,
            )
        )
    return WaldPlan(clean, settings.bad_share, settings.risk_measure_all, settings.risk_accept)
