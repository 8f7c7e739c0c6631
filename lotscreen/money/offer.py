"""The highest sensible bid: melt at a timed spot, what the doubts cost, spread and costs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from lotscreen.money.rate import RateBelief, belief_of_coins, belief_of_counts
from lotscreen.money.terms import Spot, Terms
from lotscreen.money.value import (
    FineMetal,
    Rest,
    fine_of_coins,
    fine_of_rest,
    mean_of_rest,
    together,
)
from lotscreen.money.worth import CoinsWorth
from lotscreen.records import Bools, Floats, SettingsError
from lotscreen.words import say

_QUANTILES = (0.05, 0.5, 0.95)


@dataclass(frozen=True, slots=True)
class Step:
    """One step from melt to bid: the key of its words, the amount taken off (negative: put
    on), and what is left, in money; on the mean and in the bad case."""

    key: str
    off: float
    left: float
    off_bad: float
    left_bad: float


@dataclass(frozen=True, slots=True)
class Bid:
    """One way to buy the lot: ``coins`` bought, melt if all are as said, mean melt, melt at
    5, 50 and 95 % of cases and in the bad case, the steps down to the bid, the bid on the
    mean and in the bad case, and how many coins depart (mean, 5 %, 95 %)."""

    coins: int
    ounces: Mapping[str, float]
    ounces_mean: Mapping[str, float]
    ounces_at: Mapping[str, tuple[float, float, float]]
    melt: float
    melt_mean: float
    melt_at: tuple[float, float, float]
    melt_bad: float
    steps: tuple[Step, ...]
    bid: float
    bid_bad: float
    departing: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class ByFace:
    """Melt by face value for United States silver coins below the dollar, had one bought by
    count: as reckoned for worn coins and as struck (common practice, no source);
    beside it the melt of the same coins by weight."""

    coins: int
    face: float
    melt_worn: float
    melt_struck: float
    melt_weight: float


@dataclass(frozen=True, slots=True)
class Offer:
    """What may be paid: with all coins, and without those set aside (None: none are, or
    nothing was measured singly). ``set_aside`` coins; ``not_valued`` have no fine metal on
    file or no weight; ``rate`` is the mean share of departing coins believed."""

    spot: Spot
    terms: Terms
    whole: Bid
    without: Bid | None
    set_aside: int
    not_valued: int
    rate: float
    by_face: ByFace | None
    until: dt.datetime


def offer_of_coins(
    worths: Sequence[CoinsWorth], spot: Spot, terms: Terms, scale_sd: float, *,
    not_valued: int = 0, rest: Rest | None = None, by_face: ByFace | None = None,
) -> Offer:  # fmt: skip
    """The offer for coins measured singly, with the ``rest`` of the lot weighed together.

    ``scale_sd`` is one sd of the balance's scale, a share of the weight. Raises
    SettingsError where the spot has no price of a metal in the lot.
    """
    priced(spot, [w.metal for w in worths] + ([rest.metal] if rest is not None else []))
    belief = belief_of_coins(terms, [w.coins for w in worths])
    everything: list[Bools] = [np.ones(len(w.claimed_oz), dtype=np.bool_) for w in worths]
    kept: list[Bools] = [~w.flagged for w in worths]
    set_aside = sum(int(w.flagged.sum()) for w in worths)
    shared = float(np.hypot(scale_sd, _relative_fineness_sd(terms, worths)))
    whole = _bid(worths, everything, belief, spot, terms, shared, rest)
    without = _bid(worths, kept, belief, spot, terms, shared, rest) if set_aside else None
    return Offer(spot, terms, whole, without, set_aside, not_valued, belief.mean, by_face,
                 spot.until(terms.valid_minutes))  # fmt: skip


def offer_of_bag(
    rest: Rest, measured: int, spot: Spot, terms: Terms, *, scale_sd: float = 0.0,
    by_face: ByFace | None = None,
) -> Offer:  # fmt: skip
    """The offer for a lot weighed whole, of which ``measured`` coins were measured singly
    and ``rest.confirmed`` of those depart; ``rest.coins`` were not measured."""
    if not 0 <= rest.confirmed <= measured:
        raise SettingsError(say("money.error.counts", departing=rest.confirmed, measured=measured))
    priced(spot, [rest.metal])
    belief = belief_of_counts(terms, measured, rest.confirmed)
    shared = float(np.hypot(scale_sd, terms.fineness_sd / rest.fineness))
    fine = {rest.metal: fine_of_rest(rest, belief, shared)}
    whole = _bid_of(fine, rest.coins + measured, spot, terms)
    return Offer(spot, terms, whole, None, 0, 0, belief.mean, by_face,
                 spot.until(terms.valid_minutes))  # fmt: skip


def mean_bid(
    worths: Sequence[CoinsWorth], belief: RateBelief, spot: Spot, terms: Terms,
    rest: Rest | None = None,
) -> float:  # fmt: skip
    """The bid on the mean for all coins, without drawing cases."""
    total = -terms.fixed - terms.work
    for worth in worths:
        mean = float((worth.coins.at_rate(belief.mean) * worth.true_oz).sum())
        total += mean * spot.prices[worth.metal] * (1 - terms.spread(worth.metal))
    if rest is not None:
        loose = mean_of_rest(rest, belief)
        total += loose * spot.prices[rest.metal] * (1 - terms.spread(rest.metal))
    return total


def priced(spot: Spot, metals: Sequence[str]) -> None:
    """SettingsError where the spot has no price of one of the metals."""
    for metal in metals:
        if metal not in spot.prices:
            raise SettingsError(say("money.error.no_price", metal=metal))


def _relative_fineness_sd(terms: Terms, worths: Sequence[CoinsWorth]) -> float:
    fineness = [float(w.coin_type.fineness or 1.0) for w in worths]
    return terms.fineness_sd / min(fineness, default=1.0)


def _bid(
    worths: Sequence[CoinsWorth], kept: Sequence[Bools], belief: RateBelief, spot: Spot,
    terms: Terms, shared_sd: float, rest: Rest | None,
) -> Bid:  # fmt: skip
    fine = fine_of_coins(worths, belief, shared_sd, kept)
    coins = sum(int(k.sum()) for k in kept)
    if rest is not None:
        loose = fine_of_rest(rest, belief, shared_sd)
        own = fine.get(rest.metal)
        fine[rest.metal] = loose if own is None else together([own, loose])
        coins += rest.coins
    return _bid_of(fine, coins, spot, terms)


def _bid_of(fine: Mapping[str, FineMetal], coins: int, spot: Spot, terms: Terms) -> Bid:
    """From ounces to money: each metal at its price and spread, cases added case by case."""
    prices = {metal: spot.prices[metal] for metal in fine}
    melt = sum(own.claimed * prices[m] for m, own in fine.items())
    mean = sum(own.mean * prices[m] for m, own in fine.items())
    cases = _cases([own.draws * prices[m] for m, own in fine.items()])
    kept_cases = _cases([
        own.draws * prices[m] * (1 - terms.spread(m)) for m, own in fine.items()
    ])  # fmt: skip
    bad = float(np.quantile(cases, terms.bad_case))
    after_bad = float(np.quantile(kept_cases, terms.bad_case))
    after = sum(own.mean * prices[m] * (1 - terms.spread(m)) for m, own in fine.items())
    steps = _steps(melt, (mean, bad), (after, after_bad), terms)
    odd = _cases([own.departing for own in fine.values()])
    departing = (float(np.mean(odd)), *map(float, np.quantile(
        odd, (_QUANTILES[0], _QUANTILES[2]), method="inverted_cdf")))  # fmt: skip
    at = [float(q) for q in np.quantile(cases, _QUANTILES)]
    return Bid(
        coins=coins,
        ounces={m: own.claimed for m, own in fine.items()},
        ounces_mean={m: own.mean for m, own in fine.items()},
        ounces_at={m: _three(own) for m, own in fine.items()},
        melt=steps[0].left, melt_mean=steps[1].left, melt_at=(at[0], at[1], at[2]),
        melt_bad=steps[1].left_bad, steps=steps, bid=steps[-1].left, bid_bad=steps[-1].left_bad,
        departing=(departing[0], departing[1], departing[2]),
    )  # fmt: skip


def _three(own: FineMetal) -> tuple[float, float, float]:
    low, middle, high = (own.quantile(q) for q in _QUANTILES)
    return low, middle, high


def _cases(parts: Sequence[Floats]) -> Floats:
    """The sum case by case; metals are drawn apart from each other."""
    count = max((len(part) for part in parts), default=1)
    total = np.zeros(count)
    for part in parts:
        total += part[np.arange(count) % len(part)]
    return total


def _steps(
    melt: float, after_doubt: tuple[float, float], after_spread: tuple[float, float], terms: Terms
) -> tuple[Step, ...]:
    """Every amount in whole cents, and what is left from these, so that a printed column
    adds up."""
    steps = [Step("melt", 0.0, _cents(melt), 0.0, _cents(melt))]

    def take_off(key: str, off: float, off_bad: float) -> None:
        before, off, off_bad = steps[-1], _cents(off), _cents(off_bad)
        left, left_bad = _cents(before.left - off), _cents(before.left_bad - off_bad)
        steps.append(Step(key, off, left, off_bad, left_bad))

    take_off("doubt", melt - after_doubt[0], melt - after_doubt[1])
    take_off("spread", after_doubt[0] - after_spread[0], after_doubt[1] - after_spread[1])
    take_off("fixed", terms.fixed, terms.fixed)
    take_off("work", terms.work, terms.work)
    return (*steps, Step("bid", 0.0, steps[-1].left, 0.0, steps[-1].left_bad))


def _cents(value: float) -> float:
    return round(value, 2)
