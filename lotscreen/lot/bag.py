"""What the weight of a whole bag can say: count and mean wear together, what could hide."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from lotscreen.quantities import TROY_OUNCE_G
from lotscreen.records import Floats, Ints, SettingsError
from lotscreen.standards.coin_type import CoinType
from lotscreen.wear import grid
from lotscreen.words import say

OUNCES_WORN = 715.0
"""Troy ounces of fine silver reckoned for 1,000 dollars face of circulated United States
silver coins below the dollar (common practice, no source)."""

OUNCES_AS_STRUCK = 723.0
"""The same for coins as struck, rounded (common practice; 723.39 by the standard)."""

FACE_OF_RECKONING = 1000.0
_MOST_LOSS = 0.3
_MOST_COINS = 1_000_000
_OVERWEIGHT = 0.02
_INTERVAL = (0.025, 0.975)
_ONE_SIDED = 0.95


@dataclass(frozen=True, slots=True)
class BagWeighing:
    """A bag of coins of one type: net weight, one sd of the weighing, the count claimed
    (None: not counted), the error of scale that check weights show (share of the weight)
    and one sd of what is not known of it."""

    coin_type: CoinType
    net_g: float
    balance_sd_g: float
    scale_sd: float
    count: int | None
    scale_error: float = 0.0

    def __post_init__(self) -> None:
        most_g = _MOST_COINS * self.coin_type.weight_g
        fits = 0.0 < self.net_g <= most_g and 0.0 < self.balance_sd_g <= most_g
        if not fits or self.scale_sd < 0.0:
            raise SettingsError(say("bag.weighing_wrong", net=self.net_g, sd=self.balance_sd_g))
        if self.count is not None and self.count < 1:
            raise SettingsError(say("bag.count_wrong", count=self.count))

    @property
    def true_g(self) -> float:
        """The net weight without the error of scale."""
        return self.net_g / (1.0 + self.scale_error)


@dataclass(frozen=True, slots=True)
class WearBelief:
    """What is believed of the bag's mean wear before it is weighed: ``weights`` on the wear
    grid, which sum to one; ``stated`` says where they come from."""

    weights: Floats
    stated: str

    def quantile(self, share: float) -> float:
        """Mean loss (share of the weight) below which ``share`` of the belief lies."""
        return float(np.exp(np.interp(share, np.cumsum(self.weights), grid.LOG_WEAR)))

    @property
    def sd(self) -> float:
        """One standard deviation of the mean loss, a share of the weight."""
        mean = float(self.weights @ grid.WEAR)
        return float(np.sqrt(self.weights @ np.square(grid.WEAR - mean)))


def wear_of_type(coin_type: CoinType) -> WearBelief:
    """The type's wear allowance for coins of its middle date."""
    last = coin_type.last_year or coin_type.circulation_end
    years = max(coin_type.circulation_end - 0.5 * (coin_type.first_year + last), 1.0)
    middle = np.log(coin_type.wear_per_year * years)
    weights = np.exp(-0.5 * np.square((grid.LOG_WEAR - middle) / coin_type.wear_log_sd))
    return WearBelief(weights / weights.sum(), say("bag.wear_of_type", years=f"{years:.0f}"))


def wear_stated(loss: float, sd: float) -> WearBelief:
    """A mean loss known to one standard deviation ``sd``, both shares of the weight."""
    if not 0.0 < loss < _MOST_LOSS or not 0.0 < sd < _MOST_LOSS:
        raise SettingsError(say("bag.loss_wrong", loss=100 * loss, sd=100 * sd))
    density = np.exp(-0.5 * np.square((grid.WEAR - loss) / sd))
    weights = density * grid.WEAR  # steps of the grid grow with the wear
    return WearBelief(weights / weights.sum(), say("bag.wear_stated"))


@dataclass(frozen=True, slots=True)
class BagStatement:
    """What the weighing says. All losses are shares of the standard weight.

    ``counts`` (95 %) and ``losses`` (95 %) go together: a larger count means more wear;
    ``loss_per_coin`` is by how much one coin more raises the loss. Where a count is
    claimed ``expected_g`` is the interval (95 %) of its net reading, ``loss_if_count`` the
    mean loss that the weight means for it, with one sd, ``rate`` how rare a weight as far
    off is, two-sided, and ``hidden_share`` the share of coins that lack ``lighter`` of
    the weight and could hide (95 %); None otherwise.
    """

    weighing: BagWeighing
    belief: WearBelief
    lighter: float
    counts: tuple[int, int]
    likeliest: int
    losses: tuple[float, float]
    loss_per_coin: float
    expected_g: tuple[float, float] | None
    loss_if_count: tuple[float, float] | None
    rate: float | None
    hidden_share: float | None


def bag_statement(weighing: BagWeighing, belief: WearBelief, lighter: float) -> BagStatement:
    """Count and mean wear from the net weight; ``lighter`` is what an odd coin lacks, a share
    between 0 and 1 (SettingsError)."""
    if not 0.0 < lighter < 1.0:
        raise SettingsError(say("bag.lighter_wrong", lighter=100 * lighter))
    standard = weighing.coin_type.weight_g
    fewest = max(int(weighing.true_g / (standard * (1.0 + _OVERWEIGHT))), 1)
    most = int(np.ceil(weighing.true_g / (standard * (1.0 - _MOST_LOSS)))) + 1
    count: Ints = np.arange(fewest, most + 1, dtype=np.int64)
    chance = _likelihood(weighing, count, belief) / count
    chance = chance / chance.sum()
    rising = np.cumsum(chance)
    low, high = (int(count[np.searchsorted(rising, q)]) for q in _INTERVAL)
    likeliest = int(count[np.argmax(chance)])
    losses = tuple(_loss(weighing, n) for n in (low, high))
    if weighing.count is None:
        expected = loss = rate = hidden = None
    else:
        expected = _expected(weighing, weighing.count, belief)
        loss = (_loss(weighing, weighing.count), _loss_sd(weighing, weighing.count))
        rate = _rate(weighing, weighing.count, belief)
        hidden = hidden_share(max(loss[0] - belief.quantile(1 - _ONE_SIDED), 0.0)
                              + ndtri(_ONE_SIDED) * loss[1], lighter)  # fmt: skip
    return BagStatement(
        weighing, belief, lighter, (low, high), likeliest, (losses[0], losses[1]),
        (1.0 - max(_loss(weighing, likeliest), 0.0)) / likeliest, expected, loss, rate, hidden,
    )  # fmt: skip


def hidden_share(room: float, lighter: float) -> float:
    """Share of coins ``lighter`` (share of the weight) that fits into ``room`` (share of the
    bag's weight that wear may account for or may not)."""
    return min(room / lighter, 1.0)


def hidden_by_uncertainty(loss_sd: float, lighter: float) -> float:
    """Share of such coins that goes unseen (95 %) where the mean wear is known only to one
    standard deviation ``loss_sd``, whatever the scale."""
    return hidden_share(float(ndtri(_ONE_SIDED)) * loss_sd, lighter)


def _loss(weighing: BagWeighing, count: int) -> float:
    return 1.0 - weighing.true_g / (count * weighing.coin_type.weight_g)


def _loss_sd(weighing: BagWeighing, count: int) -> float:
    own = weighing.balance_sd_g / (count * weighing.coin_type.weight_g)
    return float(np.hypot(own, weighing.scale_sd))


def _likelihood(weighing: BagWeighing, count: Ints, belief: WearBelief) -> Floats:
    whole = count[:, None] * weighing.coin_type.weight_g
    mean = whole * (1.0 - grid.WEAR[None, :])
    sd = np.hypot(weighing.balance_sd_g, whole * weighing.scale_sd)
    # the grid has steps of 6 %: what is between two of its points is spread over them
    sd = np.hypot(sd, whole * grid.WEAR[None, :] * grid.STEP / np.sqrt(12.0))
    density = np.exp(-0.5 * np.square((weighing.true_g - mean) / sd)) / sd
    return np.asarray(density @ belief.weights)


def _expected(weighing: BagWeighing, count: int, belief: WearBelief) -> tuple[float, float]:
    low, high = expected_weight(weighing.coin_type, count, _loss_sd(weighing, count), belief)
    return low * (1.0 + weighing.scale_error), high * (1.0 + weighing.scale_error)


def expected_weight(
    coin_type: CoinType, count: int, sd: float, belief: WearBelief
) -> tuple[float, float]:
    """What ``count`` coins should weigh, g (95 %); ``sd`` is one standard deviation of the
    weighing, a share of their standard weight."""
    whole = count * coin_type.weight_g
    lightest, heaviest = belief.quantile(_INTERVAL[1]), belief.quantile(_INTERVAL[0])
    middle = belief.quantile(0.5)
    z = float(ndtri(_INTERVAL[1]))
    low = middle + float(np.hypot(lightest - middle, z * sd))
    high = middle - float(np.hypot(middle - heaviest, z * sd))
    return whole * (1.0 - low), whole * (1.0 - high)


def possible_weight(coin_type: CoinType, count: int) -> tuple[float, float]:
    """Beyond this, g, ``count`` coins of a type weigh in no state of wear."""
    whole = count * coin_type.weight_g
    return whole * (1.0 - _MOST_LOSS), whole * (1.0 + _OVERWEIGHT)


def _rate(weighing: BagWeighing, count: int, belief: WearBelief) -> float:
    sd = np.hypot(_loss_sd(weighing, count), grid.WEAR * grid.STEP / np.sqrt(12.0))
    below = float(belief.weights @ ndtr((grid.WEAR - _loss(weighing, count)) / sd))
    return min(2.0 * min(below, 1.0 - below), 1.0)


@dataclass(frozen=True, slots=True)
class Ounces:
    """Fine metal in the net weight, troy ounces, and by the face value claimed: as reckoned
    for worn coins, as struck, and what the weight comes to for 1,000 of face."""

    fine: float
    face: float | None
    by_worn: float | None
    by_struck: float | None
    per_thousand: float | None


def ounces(weighing: BagWeighing) -> Ounces | None:
    """None where no fineness is on file; by face for the United States coins that the two
    reckonings are for (723.39 ounces for 1,000 dollars as struck) where a count is known."""
    coin_type = weighing.coin_type
    if coin_type.fineness is None:
        return None
    fine = weighing.true_g * coin_type.fineness / TROY_OUNCE_G
    dollars = dollars_of(coin_type)
    if dollars is None or weighing.count is None:
        return Ounces(fine, None, None, None, None)
    face = dollars * weighing.count
    if not reckoned_by_face(coin_type, dollars):
        return Ounces(fine, face, None, None, None)
    thousands = face / FACE_OF_RECKONING
    return Ounces(
        fine, face, OUNCES_WORN * thousands, OUNCES_AS_STRUCK * thousands, fine / thousands
    )


def reckoned_by_face(coin_type: CoinType, dollars: float) -> bool:
    """Whether the two reckonings by face are for coins of a type, ``dollars`` each: as struck,
    they hold as many ounces for 1,000 dollars to within one."""
    if coin_type.fineness is None:
        return False
    struck = coin_type.weight_g * coin_type.fineness / TROY_OUNCE_G / dollars
    return abs(struck * FACE_OF_RECKONING - OUNCES_AS_STRUCK) <= 1.0


def dollars_of(coin_type: CoinType) -> float | None:
    """Face value in dollars of a United States coin; None for others."""
    if coin_type.state != "us":
        return None
    number, _, unit = coin_type.face.partition(" ")
    worth = {"cent": 0.01, "cents": 0.01, "dollar": 1.0, "dollars": 1.0}.get(unit)
    return float(number) * worth if worth is not None and number.isdecimal() else None
