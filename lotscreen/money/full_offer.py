"""An offer with all that stands beside it: dispositions advised, limits, what they hang on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from lotscreen.money.by_face import by_face
from lotscreen.money.limits import (
    Advice,
    Limits,
    advice,
    kinds_at_hand,
    limits,
    sensitivity,
)
from lotscreen.money.offer import Offer, offer_of_bag, offer_of_coins
from lotscreen.money.terms import Spot, Terms
from lotscreen.money.value import Rest
from lotscreen.money.worth import CoinsWorth, coins_worth
from lotscreen.records import Findings, ItemKind, ItemTable, SettingsError
from lotscreen.second_tests.explained import Explained
from lotscreen.second_tests.metals import load_metals, metal_of
from lotscreen.second_tests.results import KindOfTest, kind_of_test
from lotscreen.standards import CoinType
from lotscreen.wear import Fit
from lotscreen.words import say

_STRANGER = "brass"
_LEAST_COINS_FOR_LIMITS = 1
_MOST_TYPES = 6


@dataclass(frozen=True, slots=True)
class BagAsked:
    """A lot weighed whole: coins in all, net weight with one sd, and without a sheet how
    many were measured singly and how many of those depart."""

    coins: int
    net_g: float
    net_sd_g: float
    measured: int
    departing: int


@dataclass(frozen=True, slots=True)
class FullOffer:
    """The offer for ``what``; advice, limits and their sensitivity by type (none without a
    sheet), names of types, and the bag's own facts where there is one."""

    what: str
    offer: Offer
    advices: tuple[Advice, ...]
    limits: tuple[Limits, ...]
    otherwise: Mapping[str, tuple[tuple[str, Limits], ...]]
    names: Mapping[str, str]
    bag: BagAsked | None = None
    each_departing_g: float = 0.0


def kinds_named(names: Sequence[str]) -> tuple[KindOfTest, ...]:
    """The tests at hand; SettingsError for a name that is none."""
    for name in names:
        kind_of_test(name)
    return kinds_at_hand(names)


def full_offer_of_lot(
    what: str, coins: Mapping[str, Explained], table: ItemTable, findings: Findings, fit: Fit,
    spot: Spot, terms: Terms, have: Sequence[str], bag: BagAsked | None = None,
) -> FullOffer:  # fmt: skip
    """The offer for a screened lot; with ``bag`` its coins are part of a lot weighed whole.

    Raises SettingsError where nothing has a fine metal on file, or no price.
    """
    kinds = kinds_named(have)
    types = {key: own.coin_type for key, own in fit.types.items()}
    worths = coins_worth(coins, table, findings, types)
    if not worths:
        raise SettingsError(say("money.error.nothing"))
    rest = None if bag is None else _rest_of_bag(bag, worths, table)
    counts = {w.coin_type.key: len(w.claimed_oz) for w in worths}
    if rest is not None:
        counts[worths[0].coin_type.key] += rest.coins
    valued = sum(len(w.claimed_oz) for w in worths)
    every = int(np.count_nonzero(table.kind == ItemKind.COIN))
    offer = offer_of_coins(
        worths, spot, terms, fit.belief.sd, not_valued=every - valued, rest=rest,
        by_face=by_face(counts, types, spot),
    )  # fmt: skip
    shown = worths[:_MOST_TYPES]
    return FullOffer(
        what, offer,
        tuple(advice(w, offer.rate, spot, terms, kinds) for w in worths),
        tuple(limits(w, spot, terms, kinds) for w in shown),
        {w.coin_type.key: sensitivity(w, spot, terms, kinds) for w in shown[:1]},
        {w.coin_type.key: w.coin_type.name for w in worths},
        bag, 0.0 if rest is None else rest.departing_g,
    )  # fmt: skip


def _rest_of_bag(bag: BagAsked, worths: Sequence[CoinsWorth], table: ItemTable) -> Rest:
    """The coins not measured: as many and as heavy as the whole has more, all of the type
    that most measured coins are."""
    measured = sum(len(w.claimed_oz) for w in worths)
    own_g = float(sum(table.weight_g[w.coins.rows].sum() for w in worths))
    if bag.coins <= measured or bag.net_g <= own_g:
        raise SettingsError(say("money.error.rest_wrong", coins=bag.coins, net=bag.net_g,
                                measured=measured, own=own_g))  # fmt: skip
    return _rest(worths[0].coin_type, bag.coins - measured, bag.net_g - own_g, bag.net_sd_g)


def _rest(
    coin_type: CoinType, coins: int, net_g: float, net_sd_g: float, confirmed: int = 0
) -> Rest:
    """What departs is taken for base metal at the right size, worth nothing."""
    density = load_metals()[_STRANGER].density_g_cm3 / metal_of(coin_type).density_g_cm3
    return Rest(
        coins, net_g, net_sd_g, float(coin_type.fineness or 0.0), coin_type.weight_g * density,
        0.0, str(coin_type.fine_metal), confirmed,
    )  # fmt: skip


def full_offer_of_bag(coin_type: CoinType, bag: BagAsked, spot: Spot, terms: Terms) -> FullOffer:
    """The offer for a bag of one type without a sheet; SettingsError where no fineness is on
    file or the counts don't agree."""
    if coin_type.fineness is None or coin_type.fine_metal is None:
        raise SettingsError(say("money.error.no_fineness", type=coin_type.name))
    rest = _rest(coin_type, max(bag.coins - bag.measured, 0), bag.net_g, bag.net_sd_g,
                 bag.departing)  # fmt: skip
    types = {coin_type.key: coin_type}
    offer = offer_of_bag(
        rest, bag.measured, spot, terms, by_face=by_face({coin_type.key: bag.coins}, types, spot)
    )
    return FullOffer(coin_type.name, offer, (), (), {}, {coin_type.key: coin_type.name}, bag,
                     rest.departing_g)  # fmt: skip
