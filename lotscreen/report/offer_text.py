"""An offer for a terminal, 80 columns wide, and as figures for programs."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from lotscreen.money.offer_words import (
    advice_sentences,
    advised_counts,
    counted,
    limits_sentences,
    moved_sentences,
    offer_sentences,
    spot_in_words,
    stakes_sentences,
    step_rows,
    terms_in_words,
    ways,
    when,
)
from lotscreen.money.terms import told_terms
from lotscreen.report.screen_lines import wrap
from lotscreen.words import phrase, say

if TYPE_CHECKING:
    from lotscreen.money.full_offer import FullOffer
    from lotscreen.money.offer import Bid

SCHEMA = "1.0"
_NAME, _CELL = 30, 11


def offer_text(found: FullOffer, not_taken: Sequence[str]) -> str:
    """The offer in lines of at most 80 columns."""
    offer = found.offer
    lines = [
        *wrap(say("money.offer.head", what=found.what, coins=counted(offer.whole.coins))),
        *wrap(spot_in_words(offer.spot)),
        *(line for warning in found.warnings for line in ["", *wrap(warning)]),
        "",
        *_steps(found),
        "",
    ]
    for sentence in [*behind(found), *not_taken]:
        lines += wrap(sentence)
    lines += ["", phrase("money.offer.assumed")]
    for term in terms_in_words(offer.terms):
        lines += wrap(term)
    return "\n".join([*lines, "", *wrap(phrase("money.offer.not_advice"))]) + "\n"


def behind(found: FullOffer) -> tuple[str, ...]:
    """Everything said of the offer, most important first."""
    said = list(offer_sentences(found.offer))
    bag = found.bag
    if bag is not None:
        said.append(say("money.offer.bag", measured=bag.measured or bag.coins - _loose(found),
                        coins=counted(bag.coins), confirmed=bag.departing,
                        each=found.each_departing_g))  # fmt: skip
    said += stakes_sentences(found.stakes, found.names, found.kept)
    said += moved_sentences(found.moved, found.offer.spot.currency)
    if found.advices:
        said += advice_sentences(found.advices)
    said += limits_sentences(found.limits, found.names, found.otherwise)
    return tuple(said)


def _loose(found: FullOffer) -> int:
    """Coins of the bag that were not measured singly."""
    measured = sum(len(own.advised) for own in found.advices)
    return found.offer.whole.coins - measured


def _steps(found: FullOffer) -> list[str]:
    names = [name for name, _ in ways(found.offer)]
    heads = (phrase("money.offer.mean"), phrase("money.offer.bad_case"))
    lines = [
        " " * _NAME + "".join(f"{name:>{2 * _CELL + 2}} " for name in names),
        " " * _NAME + "".join(f"{heads[0]:>{_CELL + 1}}{heads[1]:>{_CELL + 1}} " for _ in names),
    ]
    for name, *cells in step_rows(found.offer):
        pairs = zip(cells[::2], cells[1::2], strict=True)
        lines.append(
            f"{name:<{_NAME}}" + "".join(f"{a:>{_CELL + 1}}{b:>{_CELL + 1}} " for a, b in pairs)
        )
    return [line.rstrip() for line in lines]


def offer_figures(found: FullOffer) -> dict[str, Any]:
    """The offer in the types of JSON; money to the cent, other figures to six digits."""
    offer = found.offer
    return {
        "schema": SCHEMA,
        "what": found.what,
        "spot": {"prices": dict(offer.spot.prices), "currency": offer.spot.currency,
                 "at": when(offer.spot.at), "side": offer.spot.side},
        "until": when(offer.until),
        "bids": [{"way": name, **_bid(bid)} for name, bid in ways(offer)],
        "set_aside": offer.set_aside,
        "not_valued": offer.not_valued,
        "rate_departing": _round(offer.rate),
        "by_face": None if offer.by_face is None else {
            "coins": offer.by_face.coins, "face": _money(offer.by_face.face),
            "melt_worn": _money(offer.by_face.melt_worn),
            "melt_struck": _money(offer.by_face.melt_struck),
            "melt_by_weight": _money(offer.by_face.melt_weight)},
        "limits": [
            {"type": own.type_key, "pay_below": _round(own.pay), "refuse_above": _round(own.refuse),
             "test": own.test, "cost_of_test": _money(own.cost), "keeps": _round(own.keeps)}
            for own in found.limits
        ],
        "advised": advised_counts(found.advices),
        "stakes": [
            {"type": key, "paid": _money(own.paid), "margin": _money(own.margin),
             "eats": _round(own.eats), "threshold": _round(own.threshold)}
            for key, own in found.stakes
        ],
        "kept": {key: _round(share) for key, share in found.kept.items()},
        "bid_if": {key: _money(bid) for key, bid in found.moved},
        "terms": [list(term) for term in told_terms(offer.terms)],
        "said": [*behind(found), phrase("money.offer.not_advice")],
        "warnings": list(found.warnings),
    }  # fmt: skip


def _bid(bid: Bid) -> dict[str, Any]:
    return {
        "coins": bid.coins,
        "fine_oz_claimed": _rounded(bid.ounces),
        "fine_oz_mean": _rounded(bid.ounces_mean),
        "fine_oz_5_50_95": {m: [_round(v) for v in at] for m, at in bid.ounces_at.items()},
        "melt_claimed": _money(bid.melt),
        "melt_mean": _money(bid.melt_mean),
        "melt_5_50_95": [_money(v) for v in bid.melt_at],
        "melt_bad_case": _money(bid.melt_bad),
        "steps": [
            {"step": s.key, "off": _money(s.off), "left": _money(s.left),
             "off_bad_case": _money(s.off_bad), "left_bad_case": _money(s.left_bad)}
            for s in bid.steps
        ],
        "bid": _money(bid.bid),
        "bid_bad_case": _money(bid.bid_bad),
        "departing_mean_5_95": [_round(v) for v in bid.departing],
    }  # fmt: skip


def _rounded(values: Mapping[str, float]) -> dict[str, float | None]:
    return {key: _round(value) for key, value in values.items()}


def _round(value: float) -> float | None:
    return float(f"{value:.6g}") + 0.0 if math.isfinite(value) else None


def _money(value: float) -> float | None:
    return round(value, 2) + 0.0 if math.isfinite(value) else None
