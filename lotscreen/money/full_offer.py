"""An offer with all that stands beside it: dispositions advised, limits, what they hang on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from lotscreen.money.by_face import by_face
from lotscreen.money.composition import composed
from lotscreen.money.economics import Stakes, stakes
from lotscreen.money.limits import (
    Advice,
    Limits,
    advice,
    kinds_at_hand,
    limits,
    sensitivity,
)
from lotscreen.money.offer import Offer, mean_bid, offer_of_bag, offer_of_coins
from lotscreen.money.rate import belief_of_coins, belief_of_counts
from lotscreen.money.stake import stake_at_melt
from lotscreen.money.terms import Spot, Terms
from lotscreen.money.value import Rest
from lotscreen.money.weight_fits import weight_warnings
from lotscreen.money.worth import CoinsWorth, coins_worth, kept_by_explanation
from lotscreen.quantities import TROY_OUNCE_G
from lotscreen.records import Bools, Findings, ItemKind, ItemTable, SettingsError
from lotscreen.second_tests.explained import Explained
from lotscreen.second_tests.metals import load_metals, metal_of
from lotscreen.second_tests.results import KindOfTest, kind_of_test
from lotscreen.settings import Settings
from lotscreen.standards import CoinType
from lotscreen.wear import Fit
from lotscreen.words import say

_STRANGER = "brass"
_MOST_TYPES = 3
_SPOT_DOWN = 0.98


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
    sheet), names of types, and the bag's own facts where there is one. ``moved`` are bids
    on the mean if one thing were otherwise, by the key of its words. ``stakes`` of one coin
    by type; ``kept`` the share of its melt that a coin of the first type keeps, by
    explanation. ``warnings`` are to be read before the bid."""

    what: str
    offer: Offer
    advices: tuple[Advice, ...]
    limits: tuple[Limits, ...]
    otherwise: Mapping[str, tuple[tuple[str, Limits], ...]]
    names: Mapping[str, str]
    bag: BagAsked | None = None
    each_departing_g: float = 0.0
    moved: tuple[tuple[str, float], ...] = ()
    stakes: tuple[tuple[str, Stakes], ...] = ()
    kept: Mapping[str, float] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()


def kinds_named(names: Sequence[str]) -> tuple[KindOfTest, ...]:
    """The tests at hand; SettingsError for a name that is none."""
    for name in names:
        kind_of_test(name)
    return kinds_at_hand(names)


def full_offer_of_lot(
    what: str, coins: Mapping[str, Explained], table: ItemTable, findings: Findings, fit: Fit,
    spot: Spot, terms: Terms, have: Sequence[str], bag: BagAsked | None = None,
    at_random: bool = False,
) -> FullOffer:  # fmt: skip
    """The offer for a screened lot; with ``bag`` its coins are part of a lot weighed whole.
    ``at_random``: what was measured fully was drawn at random, and speaks for the others.

    Raises SettingsError where nothing has a fine metal on file, or no price, or where the
    coins weighed together cannot weigh so.
    """
    kinds = kinds_named(have)
    types = {key: own.coin_type for key, own in fit.types.items()}
    fully = None if at_random else measured_fully(table)
    worths = coins_worth(composed(coins, terms, fully), table, findings, types)
    if not worths:
        raise SettingsError(say("money.error.nothing"))
    rest = None if bag is None else _rest_of_bag(bag, worths, table)
    counts = {w.coin_type.key: len(w.claimed_oz) for w in worths}
    warned: tuple[str, ...] = ()
    if rest is not None:
        counts[worths[0].coin_type.key] += rest.coins
        own_types = [w.coin_type for w in worths]
        warned = weight_warnings(rest, rest.coins, own_types, fit.belief.sd, whole=False)
    valued = sum(len(w.claimed_oz) for w in worths)
    every = int(np.count_nonzero(table.kind == ItemKind.COIN))
    offer = offer_of_coins(
        worths, spot, terms, fit.belief.sd, not_valued=every - valued, rest=rest,
        by_face=by_face(counts, types, spot, _by_weight(worths, rest)),
    )  # fmt: skip
    shown = worths[:_MOST_TYPES]
    return FullOffer(
        what, offer,
        tuple(advice(stake_at_melt(w, spot, terms), offer.rate, terms, kinds) for w in worths),
        tuple(limits(w, spot, terms, kinds) for w in shown),
        {w.coin_type.key: sensitivity(w, spot, terms, kinds) for w in shown[:1]},
        {w.coin_type.key: w.coin_type.name for w in worths},
        bag, 0.0 if rest is None else rest.departing_g,
        _moved(coins, table, findings, types, spot, terms, rest, fully),
        tuple((w.coin_type.key, _stakes(w.coin_type, spot, terms)) for w in shown),
        kept_by_explanation(worths[0]), warned,
    )  # fmt: skip


def _stakes(coin_type: CoinType, spot: Spot, terms: Terms) -> Stakes:
    metal = str(coin_type.fine_metal)
    return stakes(coin_type, spot.prices[metal], terms.spread(metal))


def _by_weight(worths: Sequence[CoinsWorth], rest: Rest | None) -> dict[str, float]:
    """Fine ounces as said to be, by type."""
    found = {w.coin_type.key: float(w.claimed_oz.sum()) for w in worths}
    if rest is not None:
        found[worths[0].coin_type.key] += rest.net_g * rest.fineness / TROY_OUNCE_G
    return found


def measured_fully(table: ItemTable) -> Bools:
    """Items whose thickness was read: if only some coins of a lot were measured so, they may
    have been picked."""
    return np.asarray(table.thickness_n > 0, dtype=np.bool_)


def _moved(
    coins: Mapping[str, Explained], table: ItemTable, findings: Findings,
    types: Mapping[str, CoinType], spot: Spot, terms: Terms, rest: Rest | None,
    fully: Bools | None,
) -> tuple[tuple[str, float], ...]:  # fmt: skip
    """The bid on the mean if the spot, or the opinion before the lot, were otherwise; and
    if the coins measured fully were drawn at random, where only some were."""

    def bid(own_spot: Spot, own_terms: Terms, apart: Bools | None) -> float:
        worths = coins_worth(composed(coins, own_terms, apart), table, findings, types)
        belief = belief_of_coins(own_terms, [w.coins for w in worths])
        return mean_bid(worths, belief, own_spot, own_terms, rest)

    moved = [(key, bid(s, t, fully)) for key, s, t in _otherwise(spot, terms)]
    rows = np.concatenate([own.rows for own in coins.values()])
    if fully is not None and 0 < np.count_nonzero(fully[rows]) < len(rows):
        moved.append(("at_random", bid(spot, terms, None)))
    return tuple(moved)


def _otherwise(spot: Spot, terms: Terms) -> tuple[tuple[str, Spot, Terms], ...]:
    """Spot 2 % lower, the opinion before the lot halved and doubled."""
    lower = replace(spot, prices={m: _SPOT_DOWN * p for m, p in spot.prices.items()})
    return (
        ("spot_down", lower, terms),
        ("half_prior", spot, replace(terms, prior_departing=terms.prior_departing / 2)),
        ("double_prior", spot, replace(terms, prior_departing=min(2 * terms.prior_departing, 0.5))),
    )


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
    file, the counts don't agree or no such coins can weigh so."""
    if coin_type.fineness is None or coin_type.fine_metal is None:
        raise SettingsError(say("money.error.no_fineness", type=coin_type.name))
    if bag.measured > bag.coins or not bag.net_g > 0:
        raise SettingsError(say("money.error.bag_wrong", coins=bag.coins, measured=bag.measured,
                                net=bag.net_g))  # fmt: skip
    rest = _rest(coin_type, max(bag.coins - bag.measured, 0), bag.net_g, bag.net_sd_g,
                 bag.departing)  # fmt: skip
    warned = weight_warnings(rest, bag.coins, [coin_type], Settings().scale_width, whole=True)
    types = {coin_type.key: coin_type}
    key, ounces = coin_type.key, bag.net_g * coin_type.fineness / TROY_OUNCE_G
    face = by_face({key: bag.coins}, types, spot, {key: ounces})
    offer = offer_of_bag(rest, bag.measured, spot, terms, by_face=face)
    moved = tuple(
        (case, mean_bid((), belief_of_counts(t, bag.measured, bag.departing), s, t, rest))
        for case, s, t in _otherwise(spot, terms)
    )
    at_stake = ((key, _stakes(coin_type, spot, terms)),)
    return FullOffer(coin_type.name, offer, (), (), {}, {key: coin_type.name}, bag,
                     rest.departing_g, moved, at_stake, warnings=warned)  # fmt: skip
