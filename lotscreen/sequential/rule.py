"""The running chart in its two modes: by a rule fixed before, and looking back.

The fixed rule holds for coins drawn at random; in any other order it describes the coins
measured and nothing else. Whichever coins stay unsettled, a clean lot is told *measure
all* and a bad one *accept* at most as often as :class:`WaldPlan` bounds it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from lotscreen.records import Bools, Floats, Ints, SettingsError, Texts
from lotscreen.sequential.cusum import CusumPath, CusumScheme, cusum_path
from lotscreen.sequential.notes import fixed_rule_notes, looking_back_notes
from lotscreen.sequential.plan import FixedRule, FrozenCentre
from lotscreen.sequential.running import RunningChart
from lotscreen.sequential.wald import WaldPlan
from lotscreen.words import say

_LIMIT_SDS = 3.0


def fixed_rule(
    set_aside: Bools, unsettled: Bools, item_ids: Texts, residual_z: Floats, rule: FixedRule
) -> RunningChart:
    """Wald's test on the share set aside, and running sums about a frozen centre.

    Four 1-D arrays of one length, one entry a coin in measuring order, the first coins of
    the rule included: set aside by the screen (*not consistent* counts too); unsettled
    (to re-measure, skipped or missing; this wins over set aside); ids; weight residuals,
    NaN where there is none. An unsettled coin counts as set aside when asking *accept*
    and as clean when asking *measure all*. Valid only when coins were drawn at random.
    """
    _check_lengths(set_aside, unsettled, item_ids, residual_z)
    if len(set_aside) <= rule.first_coins:
        raise SettingsError(
            say("sequential.no_coin_counts", first=rule.first_coins, coins=len(set_aside))
        )
    counted = slice(rule.first_coins, None)
    open_coins = unsettled[counted]
    low, high = _counts(set_aside[counted], open_coins)
    coin = np.arange(1, len(low) + 1, dtype=np.int64)
    decision, decided_at = _first_decision(rule.wald, coin, low, high)
    path = _path(residual_z[counted], rule.centre, rule.cusum)
    settle = open_coins & _before_a_chance(rule.wald, coin, low, high) & (decision == "go on")
    chart = RunningChart(
        mode="fixed rule",
        coin=coin,
        set_aside_low=low,
        set_aside_high=high,
        accept_line=_reachable(rule.wald.accept_line(coin), coin),
        measure_all_line=_reachable(rule.wald.measure_all_line(coin), coin),
        decision=decision,
        decided_at=decided_at,
        cusum_up=path.up,
        cusum_down=path.down,
        cusum_limit=rule.cusum.limit_sd if rule.cusum is not None else np.nan,
        settle_first=tuple(str(i) for i in item_ids[counted][settle]),
        notes=(),
    )
    return replace(chart, notes=fixed_rule_notes(chart, rule, path.signal_at))


def looking_back(set_aside: Bools, unsettled: Bools, reason: str = "") -> RunningChart:
    """The same paths against limits of the whole lot: for illustration, promises nothing.

    1-D arrays of one length in measuring order, as for :func:`fixed_rule`. The limits of
    the count are three standard deviations about the lot's own share, were the coins in
    any order (sampling without replacement). Sums of residuals that look back stand with
    the day (:mod:`lotscreen.sequential.back_sums`).
    ``reason`` is a sentence for the page: why no rule was fixed before ('' : none).
    """
    _check_lengths(set_aside, unsettled)
    coin = np.arange(1, len(set_aside) + 1, dtype=np.int64)
    low, high = _counts(set_aside, unsettled)
    lower, upper = _whole_lot_limits(coin, low)
    nothing = np.full(len(coin), np.nan)
    chart = RunningChart(
        mode="looking back",
        coin=coin,
        set_aside_low=low,
        set_aside_high=high,
        accept_line=_reachable(lower, coin),
        measure_all_line=_reachable(upper, coin),
        decision="",
        decided_at=0,
        cusum_up=nothing,
        cusum_down=nothing,
        cusum_limit=np.nan,
        settle_first=(),
        notes=(),
    )
    return replace(chart, notes=looking_back_notes(reason))


def _check_lengths(*columns: Bools | Floats | Texts) -> None:
    shapes = [np.shape(column) for column in columns]
    if len(set(shapes)) != 1 or len(shapes[0]) != 1:
        raise ValueError(f"shapes are {shapes}; they must be of one dimension and one length")


def _counts(set_aside: Bools, unsettled: Bools) -> tuple[Ints, Ints]:
    """Coins set aside so far: unsettled ones as clean, and as set aside."""
    low = np.cumsum(set_aside & ~unsettled, dtype=np.int64)
    return low, np.cumsum(set_aside | unsettled, dtype=np.int64)


def _first_decision(plan: WaldPlan, coin: Ints, low: Ints, high: Ints) -> tuple[str, int]:
    accepts = high <= plan.acceptance_number(coin)
    refuses = low >= plan.rejection_number(coin)
    decided = accepts | refuses
    if not decided.any():
        return "go on", 0
    first = int(np.argmax(decided))
    return ("accept" if accepts[first] else "measure all"), first + 1


def _before_a_chance(plan: WaldPlan, coin: Ints, low: Ints, high: Ints) -> Bools:
    """Coins up to the first at which settling alone could have reached a decision; all
    coins where it could not."""
    possible = (low <= plan.acceptance_number(coin)) | (high >= plan.rejection_number(coin))
    last = int(np.argmax(possible)) + 1 if possible.any() else len(coin)
    within: Bools = coin <= last
    return within


def _reachable(line: Floats, coin: Ints) -> Floats:
    """The line where a count of 0 .. ``coin`` can be at it, NaN elsewhere."""
    return np.where((line >= 0.0) & (line <= coin), line, np.nan)


def _whole_lot_limits(coin: Ints, count: Ints) -> tuple[Floats, Floats]:
    lot = len(coin)
    share = count[-1] / lot if lot else 0.0
    left = (lot - coin) / max(lot - 1, 1)
    reach = _LIMIT_SDS * np.sqrt(coin * share * (1.0 - share) * left)
    return coin * share - reach, coin * share + reach


def _path(residual_z: Floats, centre: FrozenCentre | None, scheme: CusumScheme | None) -> CusumPath:
    if centre is None or scheme is None:
        nothing = np.full(len(residual_z), np.nan)
        return CusumPath(nothing, nothing, 0)
    return cusum_path((residual_z - centre.centre_z) / centre.sd_z, scheme)
