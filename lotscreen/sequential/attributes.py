"""Single samples judged by counting: as large as a promise needs, or by the standard's table.

Code letters and plans are those of ISO 2859-1 for general inspection level II, normal
inspection, as tables developed from MIL-STD-105E print them (the text of ISO 2859-1 was not
read). In these tables the acceptance number depends only on how far the letter's place
and the limit's place are along their two lists, which is how they are kept here. The
standard's plans protect the seller's lots one after another; what a single lot is held to
is told by the operating characteristic.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import comb

import numpy as np

from lotscreen.records import Floats, Ints, SettingsError
from lotscreen.sequential.curve import curve_in_lot
from lotscreen.sequential.lines import lines_of_single_sample
from lotscreen.words import say

LETTERS = (
    (8, "A", 2), (15, "B", 3), (25, "C", 5), (50, "D", 8), (90, "E", 13), (150, "F", 20),
    (280, "G", 32), (500, "H", 50), (1200, "J", 80), (3200, "K", 125), (10_000, "L", 200),
    (35_000, "M", 315), (150_000, "N", 500), (500_000, "P", 800), (10**12, "Q", 1250),
)  # fmt: skip
"""Largest lot, code letter, sample size; level II. A to E and N to Q are from memory."""

LIMITS_PERCENT = (0.065, 0.10, 0.15, 0.25, 0.40, 0.65, 1.0, 1.5, 2.5, 4.0, 6.5, 10.0)
"""Acceptance quality limits on file. The plans were compared with a printed table from
0.40 to 2.5 for the letters F to M; the others follow its rule, from memory."""

_UP, _DOWN = "up", "down"
_ALONG = (0, _UP, _DOWN, 1, 2, 3, 5, 7, 10, 14, 21)
"""What the table holds along a row: acceptance numbers, and arrows to the next plan."""
_ZERO_OF_FIRST_LETTER = LIMITS_PERCENT.index(6.5)  # letter A accepts with none at 6.5 %


@dataclass(frozen=True, slots=True)
class SinglePlan:
    """Draw ``coins``; accept with up to ``acceptance_number`` set aside. ``letter`` is the
    code letter of the plan used ('' where it comes from no table), ``lot_letter`` that
    of the lot's size. A sample as large as the lot is the whole lot."""

    lot_coins: int
    coins: int
    acceptance_number: int
    letter: str = ""
    lot_letter: str = ""

    def chance_to_accept(self, departing: Ints) -> Floats:
        """Exact operating characteristic in this lot, for numbers of coins (1-D) that the
        screen would set aside."""
        lines = lines_of_single_sample(self.coins, self.acceptance_number)
        return curve_in_lot(lines, self.lot_coins, departing).accept


def standard_plan(lot_coins: int, limit_percent: float) -> SinglePlan:
    """The single plan of the standard for a lot; ``limit_percent`` is one of
    :data:`LIMITS_PERCENT` (SettingsError otherwise)."""
    if limit_percent not in LIMITS_PERCENT:
        limits = ", ".join(f"{limit:g}" for limit in LIMITS_PERCENT)
        raise SettingsError(say("plan.limit_unknown", limit=limit_percent, limits=limits))
    if lot_coins < 2:
        raise SettingsError(say("plan.lot_coins_wrong", coins=lot_coins))
    place = next(i for i, (most, *_) in enumerate(LETTERS) if lot_coins <= most)
    lot_letter = LETTERS[place][1]
    place, allowed = _plan_at(place, LIMITS_PERCENT.index(limit_percent))
    _, letter, coins = LETTERS[place]
    if coins >= lot_coins:
        return SinglePlan(lot_coins, lot_coins, allowed, letter, lot_letter)
    return SinglePlan(lot_coins, coins, allowed, letter, lot_letter)


def _plan_at(letter: int, limit: int) -> tuple[int, int]:
    """Follow the arrows from a letter's row; the row of the plan and its number."""
    while True:
        along = letter + limit - _ZERO_OF_FIRST_LETTER
        if along < 0:
            letter += 1
        elif along >= len(_ALONG) or _ALONG[along] == _UP:
            letter += -1 if letter else 1  # above the first letter there is no plan
        elif _ALONG[along] == _DOWN:
            letter += 1
        else:
            return letter, int(_ALONG[along])


def plan_for_share(lot_coins: int, bad_coins: int, allowed: int, risk: float) -> SinglePlan:
    """The smallest sample that is accepted with up to ``allowed`` set aside in at most
    ``risk`` of draws from a lot that holds ``bad_coins`` to be set aside.

    Whole numbers throughout: a sample that hits the risk exactly counts.
    ``0 <= allowed < bad_coins <= lot_coins``, ``0 < risk < 1``.
    """
    if not 0 <= allowed < bad_coins <= lot_coins:
        raise SettingsError(
            say("plan.allowed_wrong", allowed=allowed, bad=bad_coins, coins=lot_coins)
        )
    limit = Fraction(str(risk))
    low, high = allowed, lot_coins
    while high - low > 1:
        middle = (low + high) // 2
        if _accepted_within(lot_coins, bad_coins, middle, allowed, limit):
            high = middle
        else:
            low = middle
    return SinglePlan(lot_coins, high, allowed)


def _accepted_within(lot: int, bad: int, drawn: int, allowed: int, limit: Fraction) -> bool:
    # the smaller of the two roles, drawn and bad, keeps the numbers short
    few, many = sorted((bad, drawn))
    ways = sum(comb(many, x) * comb(lot - many, few - x) for x in range(min(allowed, few) + 1))
    return ways * limit.denominator <= comb(lot, few) * limit.numerator


def coins_at_chance(plan: SinglePlan, chance: float) -> int:
    """The most coins to be set aside that the lot may hold to be accepted with at least
    ``chance``, by the plan's exact operating characteristic."""
    low, high = plan.acceptance_number, plan.lot_coins
    while high - low > 0:
        middle = (low + high + 1) // 2
        if plan.chance_to_accept(np.array([middle]))[0] >= chance:
            low = middle
        else:
            high = middle - 1
    return low
