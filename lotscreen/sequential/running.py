"""The running chart over coins in measuring order: records of its two modes."""

from __future__ import annotations

from dataclasses import dataclass

from lotscreen.records import Floats, Ints


@dataclass(frozen=True, slots=True)
class RunningChart:
    """A running chart over the coins in measuring order; the two modes are never mixed.

    ``mode`` is 'fixed rule' (limits fixed before the first counted coin; the only mode
    that prints risks) or 'looking back' (whole-lot limits: illustration, promises
    nothing). ``coin`` counts 1.. over the counted coins. ``set_aside_low`` counts coins
    set aside with unsettled coins as clean, ``set_aside_high`` with unsettled coins as
    set aside. ``accept_line`` and ``measure_all_line`` are the test's boundaries at each
    coin (NaN where none); looking back there is no test, and they are the lower and the
    upper limit within which the count stays when the order says nothing.
    ``decision`` is 'accept', 'measure all' or 'go on' ('' when
    looking back), reached at coin ``decided_at`` (0: not reached). ``cusum_up`` and
    ``cusum_down`` are the two one-sided sums of the weight residuals, in standard
    deviations, signalling above ``cusum_limit`` (all NaN where no centre was fixed
    before). ``settle_first`` are the ids of unsettled
    coins to settle first. ``notes`` are sentences for the page, the caution first.
    """

    mode: str
    coin: Ints
    set_aside_low: Ints
    set_aside_high: Ints
    accept_line: Floats
    measure_all_line: Floats
    decision: str
    decided_at: int
    cusum_up: Floats
    cusum_down: Floats
    cusum_limit: float
    settle_first: tuple[str, ...]
    notes: tuple[str, ...]
