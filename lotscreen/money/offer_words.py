"""An offer in words: the table of steps, what lies behind it, what it is not."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from lotscreen.money.economics import Stakes
from lotscreen.money.limits import PAY, REFUSE, TEST, Advice, Limits
from lotscreen.money.offer import Bid, Offer
from lotscreen.money.terms import OF_OFFER, Spot, Terms, told_terms
from lotscreen.words import phrase, say

_PERCENT = 100.0
_SURE = 0.9995
_KEEPS_ALL = 0.985


def amount(value: float) -> str:
    """Money with two decimals and thousands."""
    return f"{round(value, 2) + 0.0:,.2f}".replace("-", "−")


def counted(number: int, what: str = "coins") -> str:
    """A count in words: '1 coin', '2,000 coins'; ``what`` is a table of ``money.count``."""
    key = f"money.count.{what}"
    return phrase(f"{key}.one") if number == 1 else say(f"{key}.many", n=number)


def spot_in_words(spot: Spot) -> str:
    """The spot as typed in."""
    prices = ", ".join(
        say("money.offer.price", metal=metal, price=amount(price), currency=spot.currency)
        for metal, price in spot.prices.items()
    )
    return say("money.offer.spot", prices=prices, side=spot.side, at=when(spot.at))


def when(moment: dt.datetime) -> str:
    """A time to the minute, with its offset where it has one."""
    return moment.isoformat(sep=" ", timespec="minutes")


def terms_in_words(terms: Terms, names: Sequence[str] = OF_OFFER) -> tuple[str, ...]:
    """Each of the terms with unit and source."""
    return tuple(
        say("money.offer.term", says=says, value=value, unit=unit, source=source)
        for says, value, unit, source in told_terms(terms, names)
    )


def ways(offer: Offer) -> tuple[tuple[str, Bid], ...]:
    """The ways to buy, each with its name: all coins, without those set aside."""
    found = [(counted(offer.whole.coins, "all_coins"), offer.whole)]
    if offer.without is not None:
        found.append((phrase("money.offer.without"), offer.without))
    return tuple(found)


def step_rows(offer: Offer) -> tuple[tuple[str, ...], ...]:
    """One row a step: its name, then for each way the amount on the mean and in the bad
    case; what is taken off has a minus in front."""
    rows = []
    for place, step in enumerate(offer.whole.steps):
        cells = [phrase(f"money.step.{step.key}")]
        for _, bid in ways(offer):
            own = bid.steps[place]
            ends = step.key in ("melt", "bid")
            cells += [
                amount(own.left if ends else -own.off),
                amount(own.left_bad if ends else -own.off_bad),
            ]
        rows.append(tuple(cells))
    return tuple(rows)


def offer_sentences(offer: Offer) -> tuple[str, ...]:
    """What lies behind the bid, most important first."""
    bid, currency = offer.whole, offer.spot.currency
    said = [
        say("money.offer.until", until=when(offer.until)),
        *_fine(bid),
        say("money.offer.departing", mean=bid.departing[0], low=bid.departing[1],
            high=bid.departing[2], rate=_PERCENT * offer.rate),
        say("money.offer.bad", share=_PERCENT * offer.terms.bad_case,
            premium=amount(bid.bid - bid.bid_bad), currency=currency),
    ]  # fmt: skip
    if offer.without is not None:
        said.append(say("money.offer.set_aside", coins=offer.set_aside,
                        apart=amount(bid.bid - offer.without.bid), currency=currency))  # fmt: skip
    if offer.by_face is not None:
        face = offer.by_face
        coins = counted(face.coins, "us_silver")
        said.append(say("money.offer.by_face", coins=coins, face=face.face,
                        worn=amount(face.melt_worn), struck=amount(face.melt_struck),
                        weight=amount(face.melt_weight), currency=currency))  # fmt: skip
    if offer.not_valued:
        said.append(say("money.offer.not_valued", coins=offer.not_valued))
    return tuple(said)


def _fine(bid: Bid) -> list[str]:
    return [
        say("money.offer.fine", metal=metal, mean=bid.ounces_mean[metal],
            low=bid.ounces_at[metal][0], middle=bid.ounces_at[metal][1],
            high=bid.ounces_at[metal][2], claimed=bid.ounces[metal])
        for metal in bid.ounces
    ]  # fmt: skip


def stakes_sentences(
    found: Sequence[tuple[str, Stakes]], names: Mapping[str, str], kept: Mapping[str, float]
) -> tuple[str, ...]:
    """What one coin puts at stake by type, and what a coin keeps by what it is."""
    said = [
        say("money.offer.stakes", name=names[key], paid=amount(own.paid),
            margin=amount(own.margin), eats=own.eats, threshold=_PERCENT * own.threshold)
        for key, own in found
    ]  # fmt: skip
    cases = "; ".join(
        say("money.offer.keeps", name=phrase(f"findings.explanation.{key}"), kept=_PERCENT * share)
        for key, share in kept.items()
        if share < _KEEPS_ALL
    )
    return (*said, say("money.offer.kept", cases=cases)) if cases else tuple(said)


def moved_sentences(moved: Sequence[tuple[str, float]], currency: str) -> tuple[str, ...]:
    """The bid on the mean if one thing were otherwise."""
    if not moved:
        return ()
    cases = "; ".join(
        say("money.offer.case", case=phrase(f"money.offer.{key}"), bid=amount(bid))
        for key, bid in moved
    )
    return (say("money.offer.moved", cases=cases, currency=currency),)


def advised_counts(advices: Sequence[Advice]) -> dict[str, int]:
    """How many coins the user's money would pay, test or refuse."""
    counts = dict.fromkeys((PAY, TEST, REFUSE), 0)
    for own in advices:
        for kind in own.advised:
            counts[kind] += 1
    return counts


def advice_sentences(advices: Sequence[Advice]) -> tuple[str, ...]:
    """The same in words."""
    counts = advised_counts(advices)
    return (say("money.advice.counts", pay=counts[PAY], test=counts[TEST],
                refuse=counts[REFUSE]),)  # fmt: skip


def limits_sentences(
    found: Sequence[Limits], names: Mapping[str, str],
    otherwise: Mapping[str, Sequence[tuple[str, Limits]]],
) -> tuple[str, ...]:  # fmt: skip
    """The limits of each type, and how they move if a term were otherwise."""
    said = []
    for own in found:
        said.append(_limit(own, names[own.type_key]))
        moved = "; ".join(
            say(
                "money.limits.case" if o.pay < o.refuse else "money.limits.single",
                case=phrase(f"money.limits.{key}"),
                pay=_PERCENT * o.pay,
                refuse=_PERCENT * o.refuse,
            )
            for key, o in otherwise.get(own.type_key, ())
        )
        if moved:
            said.append(say("money.limits.sensitivity", cases=moved))
    return tuple(said)


def _limit(own: Limits, name: str) -> str:
    if own.pay >= _SURE:
        return say("money.limits.always", name=name, keeps=_PERCENT * own.keeps)
    if not own.test or own.pay == own.refuse:
        return say("money.limits.one", name=name, pay=_PERCENT * own.pay,
                   keeps=_PERCENT * own.keeps)  # fmt: skip
    return say("money.limits.two", name=name, pay=_PERCENT * own.pay,
               refuse=_PERCENT * own.refuse, test=phrase(f"second_tests.test.{own.test}"),
               cost=amount(own.cost), keeps=_PERCENT * own.keeps)  # fmt: skip
