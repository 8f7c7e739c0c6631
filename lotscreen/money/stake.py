"""What accepting or refusing each coin earns, by what it is: a buyer's melt, a house's price."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.money.terms import Spot, Terms
from lotscreen.money.worth import CoinsWorth
from lotscreen.records import Floats
from lotscreen.second_tests.explained import Explained
from lotscreen.second_tests.hypotheses import OTHER_TYPE
from lotscreen.standards import CoinType


@dataclass(frozen=True, slots=True)
class Stake:
    """The coins of one type: ``accepted`` and ``refused`` are the result in money of either
    (n x h) by what each coin is."""

    coins: Explained
    coin_type: CoinType
    accepted: Floats
    refused: Floats

    def loss_if_accepted(self, rate: float) -> Floats:
        """Mean loss (n,) of accepting each coin, gains not set against it."""
        short = np.maximum(-self.accepted, 0.0)
        return np.asarray((self.coins.at_rate(rate) * short).sum(axis=1))


def stake_at_melt(worth: CoinsWorth, spot: Spot, terms: Terms) -> Stake:
    """A buyer's: paid at melt as said to be less spread, worth what it is; refusing a good
    coin costs its margin and, besides, the custom lost."""
    price = spot.prices[worth.metal]
    paid = worth.claimed_oz * price * (1 - terms.spread(worth.metal))
    accepted = worth.true_oz * price - paid[:, None]
    return Stake(worth.coins, worth.coin_type, accepted, _refused(worth.coins, terms))


def stake_at_price(coins: Explained, coin_type: CoinType, price: float, terms: Terms) -> Stake:
    """A house's: a coin offered as described earns the commission on ``price``; one that
    departs costs a multiple of it; another type on file is described anew, for nothing."""
    departs = coins.departing
    other = np.array([h.mechanism == OTHER_TYPE for h in coins.hypotheses], dtype=np.bool_)
    earned = np.where(departs, -terms.loss_multiple * price, terms.commission * price)
    accepted = np.tile(np.where(other, 0.0, earned), (len(coins.rows), 1))
    return Stake(coins, coin_type, accepted, _refused(coins, terms))


def _refused(coins: Explained, terms: Terms) -> Floats:
    good = np.where(coins.departing, 0.0, -terms.lost_custom)
    return np.tile(good, (len(coins.rows), 1))
