"""What to do next, for a terminal and as figures for programs."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from lotscreen.money.offer_words import amount, spot_in_words, terms_in_words
from lotscreen.money.terms import OF_LOTS, OF_NEXT, OF_SALE
from lotscreen.report.screen_lines import wrap
from lotscreen.words import phrase, say

if TYPE_CHECKING:
    from lotscreen.money.next_tests import NextTest, NextTests
    from lotscreen.money.terms import Spot, Terms
    from lotscreen.money.triage import LotToMeasure, Triage

SCHEMA = "1.0"
_PERCENT = 100.0


@dataclass(frozen=True, slots=True)
class Answer:
    """Tests on coins (None: none asked for), lots (None: none listed), how each item of the
    table is found again, spot and terms, the minutes at hand, how many of each to show,
    sentences about results not taken, and the price that each coin should sell for (None:
    it is bought at melt)."""

    coins: NextTests | None
    lots: Triage | None
    places: tuple[str, ...]
    spot: Spot | None
    terms: Terms
    minutes: float | None
    most: int
    not_taken: tuple[str, ...] = ()
    sells_for: float | None = None


def next_text(answer: Answer) -> str:
    """The answer in lines of at most 80 columns."""
    sentences: list[str] = list(answer.not_taken)
    currency = "" if answer.spot is None else f" {answer.spot.currency}"
    if answer.spot is not None:
        sentences.append(spot_in_words(answer.spot))
    if answer.coins is not None:
        sentences += _coin_sentences(answer, answer.coins, currency)
    if answer.lots is not None:
        sentences += _lot_sentences(answer, answer.lots)
    of_coins = OF_NEXT if answer.sells_for is None else OF_SALE
    names = (of_coins if answer.coins is not None else ()) + (
        OF_LOTS if answer.lots is not None else ()
    )
    sentences += ["", phrase("money.offer.assumed")]
    sentences += terms_in_words(answer.terms, names)
    if answer.coins is not None:
        sentences += ["", phrase("second_tests.says.assumed")]
    sentences += ["", phrase("money.next.close")]
    return "\n".join(line for said in sentences for line in (wrap(said) or [""])) + "\n"


def _coin_sentences(answer: Answer, coins: NextTests, currency: str) -> list[str]:
    said = [""]
    if not coins.tests:
        said.append(say("money.next.no_test", coins=coins.coins))
    else:
        said.append(say("money.next.tests", tests=len(coins.tests), coins=coins.coins))
        said += [
            _test_line(answer, test, currency)
            for test in coins.tests[: min(answer.most, max(coins.planned, 1))]
        ]
        hidden = coins.planned - answer.most
        if hidden > 0:
            said.append(say("money.next.more", n=hidden))
        if answer.minutes is not None:
            said.append(say("money.next.planned", planned=coins.planned, minutes=coins.minutes,
                            given=answer.minutes, gain=amount(coins.gain),
                            currency=currency))  # fmt: skip
    left = "left" if answer.sells_for is None else "left_sale"
    said.append(say(f"money.next.{left}", now=amount(coins.loss_now),
                    after=amount(coins.loss_after), currency=currency))  # fmt: skip
    return said


def _test_line(answer: Answer, test: NextTest, currency: str) -> str:
    at = "" if answer.sells_for is None else "_sale"
    return say(
        "money.next.test", place=answer.places[test.row],
        test=phrase(f"second_tests.test.{test.test}"), gain=amount(test.gain), currency=currency,
        cost=amount(test.cost), minutes=test.minutes, departing=_PERCENT * test.departing,
        otherwise=phrase(f"money.next.{test.otherwise}{at}"),
    )  # fmt: skip


def _lot_sentences(answer: Answer, lots: Triage) -> list[str]:
    worth = [lot for lot in lots.lots if lot.worth_it]
    said = ["", say("money.next.lots", lots=len(lots.lots), worth=len(worth))]
    if not worth:
        said.append(phrase("money.next.no_lot"))
    shown = worth[: min(answer.most, max(lots.planned, 1))]
    said += [_lot_line(rank, lot) for rank, lot in enumerate(shown, 1)]
    if lots.planned > answer.most:
        said.append(say("money.next.more", n=lots.planned - answer.most))
    if worth:
        said.append(say("money.next.lots_planned", planned=lots.planned, minutes=lots.minutes))
    said.append(say("money.next.lots_left", now=amount(lots.at_risk_now),
                    after=amount(lots.at_risk_after)))  # fmt: skip
    return said


def _lot_line(rank: int, lot: LotToMeasure) -> str:
    return say("money.next.lot", rank=rank, lot=lot.lot, estimate=amount(lot.estimate),
               doubt=_PERCENT * lot.doubt, minutes=lot.minutes,
               at_risk=amount(lot.at_risk))  # fmt: skip


def next_figures(answer: Answer) -> str:
    """The answer in JSON."""
    told: dict[str, Any] = {"schema": SCHEMA, "not_taken": list(answer.not_taken)}
    coins, lots = answer.coins, answer.lots
    if coins is not None:
        told["tests"] = [_test_figures(answer, test) for test in coins.tests]
        told["planned"] = coins.planned
        told["loss_left"] = [round(coins.loss_now, 2), round(coins.loss_after, 2)]
    if lots is not None:
        told["lots"] = _lots_figures(lots.lots)
        told["lots_planned"] = lots.planned
        told["at_risk"] = [round(lots.at_risk_now, 2), round(lots.at_risk_after, 2)]
    return json.dumps(told, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _test_figures(answer: Answer, test: NextTest) -> dict[str, Any]:
    return {
        "place": answer.places[test.row], "test": test.test,
        "departing": round(test.departing, 6), "otherwise": test.otherwise,
        "gain": round(test.gain, 4), "cost": round(test.cost, 4), "minutes": test.minutes,
    }  # fmt: skip


def _lots_figures(lots: Sequence[LotToMeasure]) -> list[dict[str, Any]]:
    return [
        {"lot": lot.lot, "estimate": round(lot.estimate, 2), "doubt": round(lot.doubt, 6),
         "minutes": lot.minutes, "at_risk": round(lot.at_risk, 2), "worth_it": lot.worth_it}
        for lot in lots
    ]  # fmt: skip
